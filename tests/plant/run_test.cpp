// Runs as such: energy, repeatability, what happens when numbers go bad.
#include <cstring>
#include <filesystem>

#include "site/load.hpp"
#include "site/shipped.hpp"
#include "support.hpp"

using namespace sunshaft;
using namespace sunshaft::test;

namespace {

std::vector<std::string> shipped() { return site::shipped_sites(); }

// FNV-1a over every bit of the state; what lies between its members counts as zero.
std::uint64_t hash(State s) {
    static_assert(std::is_trivially_copyable_v<State>);
    __builtin_clear_padding(&s);
    __builtin_clear_padding(&s.command);  // GCC 12 passes by the bytes behind its first member
    std::uint64_t h = 1469598103934665603u;
    unsigned char bytes[sizeof s];
    std::memcpy(bytes, &s, sizeof s);
    for (const unsigned char b : bytes) h = (h ^ b) * 1099511628211u;
    return h;
}

}  // namespace

TEST_CASE("what came in is stored, lost or lifted, on every shipped site, healthy and faulty") {
    const auto files = shipped();
    REQUIRE(files.size() >= 5);
    for (const std::string& file : files) {
        const Scenario s = site::load_scenario(file);
        const std::vector<std::vector<site::Fault>> all = {{},
                                                           {{"lost-phase", "cable.w", 1, 0}},
                                                           {{"lost-phase", "drive.u", 1, 0}},
                                                           {{"high-resistance-splice", "v", 5, 0}},
                                                           {{"high-resistance-splice", "u", 3000, 0}},
                                                           {{"winding-partly-shorted", "v", 0.2, 0}}};
        for (const auto& faults : all) {
            Plant plant(site::compile_site(s, faults));
            State state = plant.start();
            plant.open_account(state);
            for (const double until : {0.02, 0.5, 3.0}) {
                plant.advance(state, until);
                INFO(file << (faults.empty() ? "" : faults[0].kind + " " + faults[0].place) << " at " << until << " s");
                double turned_over = std::abs(state.energy[from_supply]) + 0.05 * plant.stored(state);
                double out = plant.stored(state) - state.stored_at_start;
                for (std::size_t n = 0; n < energy_size; ++n)
                    if (n != from_supply && n != in_splice) out += state.energy[n];
                CHECK(std::abs(state.energy[from_supply] - out) < 1e-3 * turned_over);
                for (const std::size_t n :
                     {in_dc_run, in_link, in_bridge, in_cable, in_winding, in_cage, in_iron, in_pump, in_pipe})
                    CHECK(state.energy[n] > -1e-6 * turned_over);
            }
        }
    }
}

TEST_CASE("the bits of a state are all of it") {
    const auto site = site::compile_site(small_pump());
    const State a = fresh(*site);
    State b = a;
    CHECK(hash(a) == hash(b));
    const auto differs = [&](auto&& change) {
        State c = a;
        change(c);
        CHECK(hash(c) != hash(a));
    };
    differs([](State& s) { s.slow.dry_V += 1e-9; });
    differs([](State& s) { s.legs[2] = drive::Leg::upper; });
    differs([](State& s) { s.window.edges[63].gate = drive::Gate::lower; });
    differs([](State& s) { s.control.logged += 1; });
    differs([](State& s) { s.turning = -1; });
    differs([](State& s) { s.water_level += 1e-9; });
}

TEST_CASE("the same run twice gives the same bits, and in chunks between control windows too") {
    for (const std::string& file : shipped()) {
        const auto site = site::compile_site(site::load_scenario(file));
        std::visit(
            [&](const auto& machine) {
                using Plant = Driver<std::decay_t<decltype(machine)>>;
                NoSink none;
                State a = fresh(*site), b = a, c = a;
                Plant(*site, machine).advance(a, 0.8, none);
                Plant(*site, machine).advance(b, 0.8, none);
                INFO(file);
                CHECK(hash(a) == hash(b));
                // Cut at the ends of windows, each part run by one that knows nothing of the others.
                while (c.t < 0.8) {
                    Plant part(*site, machine);
                    part.open_window(c);
                    part.advance(c, std::min(c.window.end, 0.8), none);
                }
                CHECK(hash(a) == hash(c));
            },
            site->works.motor);
    }
}

TEST_CASE("cut anywhere, a run agrees within the tolerances") {
    const auto site = site::compile_site(small_pump());
    Plant plant(site);
    State a = plant.start(), b = plant.start();
    plant.advance(a, 1.0);
    while (b.t < 1.0) plant.advance(b, std::min(1.0, b.t + 0.00137));
    CHECK(b.x[speed] == approx(a.x[speed]).epsilon(1e-3));
    CHECK(b.x[v_cap] == approx(a.x[v_cap]).epsilon(1e-3));
}

TEST_CASE("a state gone bad is reported with time and component") {
    const auto site = site::compile_site(small_pump());
    for (std::size_t n = 0; n < state_size; ++n) {
        for (const double bad : {std::numeric_limits<double>::quiet_NaN(), std::numeric_limits<double>::infinity()}) {
            Plant plant(site);
            State s = plant.start();
            plant.advance(s, 0.1);
            s.x[n] = bad;
            INFO(state_name[n] << " " << bad);
            try {
                plant.advance(s, 0.2);
                FAIL("went on");
            } catch (const SolverError& e) {
                CHECK(std::string(e.what()).find("the solver lost the ") == 0);
                CHECK(std::string(e.what()).find(state_name[n]) != std::string::npos);
                CHECK(std::string(e.what()).find(" at t = 0.1 s") != std::string::npos);
            }
        }
    }
}

TEST_CASE("an array, an ideal bridge and a star of resistance and inductance: the closed form of the whole") {
    // 16 modules of 54 cells in series at 1000 W/m2 and 25 degC on an ideal six-step bridge at 50 Hz with 30 ohm and 60
    // mH a phase; power balance over all harmonics, with the parameters published for that module (M. G. Villalva, J.
    // R. Gazoli, E. R. Filho, IEEE Trans. Power Electronics 24 (2009)): 453.894 V, 5.78708 A, 3014.13 W.
    Scenario s = bare();
    s.supply.kind = "array";
    s.sun.irradiance_W_m2 = 1000, s.sun.module_temperature_degC = 25;
    s.array.modules_in_series = 16, s.array.strings = 1;
    s.array.module_cells = 54;
    s.array.module_photocurrent_A = 8.214, s.array.module_saturation_A = 9.825198473e-8, s.array.module_ideality = 1.3;
    s.array.module_series_ohm = 0.221, s.array.module_shunt_ohm = 415.405;
    s.array.module_alpha_A_per_K = 0.0032, s.array.module_beta_V_per_K = -0.123;
    s.array.connector_ohm = 0, s.dc_run.length_m = 0, s.dc_run.isolator_contact_ohm = 0, s.dc_run.fuse_ohm = 0;
    s.array.leakage_plus_ohm = s.array.leakage_minus_ohm = 1e12;
    s.link.capacitance_F = 0.02;
    s.drive.frequency_Hz = 50;
    // The star as a machine without a rotor: next to no magnetizing inductance.
    s.motor.stator_resistance_ohm = 30, s.motor.stator_leakage_H = 0.06, s.motor.magnetizing_H = 1e-7,
    s.motor.rotor_leakage_H = 1e-3;
    s.motor.locked_speed_rpm = 0;
    Plant plant(site::compile_site(s));
    State state = plant.start();
    plant.advance(state, 3.0);
    plant.open_account(state);
    const Means m = plant.average(state, 0.2);
    CHECK(m.link == approx(453.893945).epsilon(1e-3));
    CHECK(m.current_rms[0] == approx(5.787081).epsilon(1e-3));
    CHECK(m.line_rms[0] == approx(370.602854).epsilon(1e-3));
    CHECK(m.line_rectified[0] * pi / (2 * std::sqrt(2.0)) == approx(336.099615).epsilon(1e-3));
    CHECK(state.energy[in_winding] / 0.2 == approx(3014.12716).epsilon(2e-3));
}
