// What a drive sees of its line currents by the shunts it has, and of a rotor by its volts.
#include <memory>

#include "support.hpp"

using namespace sunshaft;
using namespace sunshaft::test;

namespace {

// A small machine on a bench supply, running.
Scenario pwm() {
    Scenario s = small_pump();
    s.drive.modulation = "space-vector";
    s.drive.carrier_Hz = 8000;
    s.drive.modulation_index = 0.9;
    return s;
}
struct Ran {
    std::shared_ptr<const site::Site> site;
    State state;
    Means means;
};
Ran run(const Scenario& s, double seconds, const std::vector<site::Fault>& faults = {}) {
    Ran out;
    out.site = site::compile_site(s, faults);
    Plant plant(out.site);
    out.state = plant.start();
    plant.advance(out.state, seconds);
    State from = out.state;
    out.means = plant.average(from, 0.2);
    return out;
}
site::Fault fault(const char* kind, const char* place, double severity) { return {kind, place, severity, 0.0}; }

}  // namespace

TEST_CASE("the plant does not feel how its currents are measured") {
    const Ran ideal = run(pwm(), 0.5);
    for (const char* kind : {"three-sensors", "two-shunts", "link-shunt"}) {
        Scenario s = pwm();
        s.drive.current_sensing = kind;
        const Ran seen = run(s, 0.5);
        INFO(kind);
        CHECK(seen.state.x == ideal.state.x);  // to the bit
        CHECK(seen.state.pieces == ideal.state.pieces);
    }
}

TEST_CASE("on PWM all three ways read a sound motor's line currents") {
    const Ran ideal = run(pwm(), 1.5);
    for (const auto& [kind, within] : {std::pair{"three-sensors", 1e-6}, {"two-shunts", 0.03}, {"link-shunt", 0.05}}) {
        Scenario s = pwm();
        s.drive.current_sensing = kind;
        const Ran seen = run(s, 1.5);
        for (std::size_t k = 0; k < 3; ++k) {
            INFO(kind << " line " << k);
            CHECK(seen.state.control.line_A[k] == approx(ideal.state.control.line_A[k]).epsilon(within));
        }
    }
}

TEST_CASE("a link shunt sees a sixth of the turn of each line in six steps, two shunts the lower half") {
    Scenario s = small_pump();
    s.drive.modulation = "six-step-180";
    s.drive.current_sensing = "two-shunts";
    const Ran two = run(s, 1.5);
    s.drive.current_sensing = "ideal";
    const Ran ideal = run(s, 1.5);
    for (std::size_t k = 0; k < 2; ++k)
        CHECK(two.state.control.line_A[k] == approx(ideal.state.control.line_A[k]).epsilon(0.02));
    s.drive.current_sensing = "link-shunt";
    const Ran one = run(s, 1.5);
    CHECK(one.state.control.line_A[0] > 0.0);
    CHECK(std::abs(one.state.control.line_A[0] / ideal.state.control.line_A[0] - 1.0) > 0.02);
}

// The minus pole lies on earth: what leaks from a line to earth leaves behind the sensors.
static Scenario minus_on_earth(const char* sensing) {
    Scenario s = pwm();
    s.supply.kind = "array";
    s.array.modules_in_series = 9;
    s.array.leakage_minus_ohm = 1.0;
    s.sun.irradiance_W_m2 = 900;
    s.drive.current_sensing = sensing;
    return s;
}

TEST_CASE("a leg to earth on the line without a shunt is not seen") {
    const auto seen = [](const char* kind, const char* line) {
        return run(minus_on_earth(kind), 1.0, {fault("cable-earth-leakage", line, 60.0)});
    };
    const auto spread = [](const Ran& r) {
        const auto& a = r.state.control.line_A;
        return std::max({a[0], a[1], a[2]}) - std::min({a[0], a[1], a[2]});
    };
    const Ran w3 = seen("three-sensors", "w"), w2 = seen("two-shunts", "w"), u2 = seen("two-shunts", "u");
    CHECK(spread(w3) > 0.3);
    CHECK(spread(w2) < 0.4 * spread(w3));
    // On u the shunt is passed by the line's current while the lower device is on, and w is made of it.
    CHECK(std::sqrt(w3.state.control.sum_A2) >= 0.0);
    CHECK(u2.state.control.line_A[0] > 0.0);
}

TEST_CASE("a trip by the sum of the lines asks for three sensors") {
    for (const auto& [kind, trips] : {std::pair{"three-sensors", true}, {"two-shunts", false}, {"ideal", false}}) {
        Scenario s = minus_on_earth(kind);
        s.drive.earth_trip_A = 0.5;
        const Ran r = run(s, 2.0, {fault("cable-earth-leakage", "w", 60.0)});
        bool seen = false;
        for (const drive::LogEntry& e : drive::log_since(r.state.control))
            seen = seen || e.cause == drive::Cause::earth_fault;
        INFO(kind);
        CHECK(seen == trips);
    }
}

namespace {
// A magnet motor whose drive has to find its rotor.
Scenario sensorless(const char* modulation) {
    Scenario s;
    s.supply.kind = "bench";
    s.supply.voltage_V = 150;
    s.drive.modulation = modulation;
    s.drive.control = "fixed";
    s.drive.frequency_Hz = 100;
    s.drive.minimum_frequency_Hz = 6;
    s.drive.duty = 0.25;
    s.drive.modulation_index = 0.2;
    s.drive.rotor_sensing = "back-emf";
    s.drive.electronics_W = 0;
    s.motor.kind = "permanent-magnet";
    s.motor.pole_pairs = 2;
    s.motor.flux_linkage_Wb = 0.1;
    s.motor.d_inductance_H = s.motor.q_inductance_H = 4e-3;
    s.motor.stator_resistance_ohm = 1.5;
    s.motor.inertia_kg_m2 = 1.5e-3;
    s.motor.viscous_friction_N_m_s = 8e-3;
    s.motor.breakaway_N_m = 0.15;
    s.pump.kind = "none";
    return s;
}
int count(const State& s, drive::Cause cause) {
    int n = 0;
    for (const drive::LogEntry& e : drive::log_since(s.control)) n += e.cause == cause;
    return n;
}
}  // namespace

TEST_CASE("a magnet motor is found by its volts and runs on; with a line lost it rocks and misses") {
    for (const char* modulation : {"six-step-120", "space-vector"}) {
        INFO(modulation);
        const Ran sound = run(sensorless(modulation), 4.0);
        CHECK(count(sound.state, drive::Cause::rotor_found) == 1);
        CHECK(count(sound.state, drive::Cause::start_missed) == 0);
        CHECK(std::abs(sound.means.speed) > 20.0);
        const Ran lost = run(sensorless(modulation), 8.0, {fault("lost-phase", "splice.v", 1.0)});
        CHECK(count(lost.state, drive::Cause::start_missed) >= 2);
        CHECK(std::abs(lost.means.speed) < 20.0);
    }
}

TEST_CASE("a 120-degree drive with a dead leg twitches and does not sit in one sixth for ever") {
    Scenario s = sensorless("six-step-120");
    const auto site = site::compile_site(s, {fault("leg-dead", "w", 1.0)});
    Plant plant(site);
    State state = plant.start();
    double least = 1e9, most = -1e9, turned = 0.0;
    int carrying = 0;
    for (int n = 0; n < 160; ++n) {
        const double before = state.x[theta];
        plant.advance(state, 0.05 * (n + 1));
        turned += std::abs(std::remainder(state.x[theta] - before, 2 * pi));
        least = std::min(least, state.x[speed]), most = std::max(most, state.x[speed]);
        carrying += std::hypot(state.x[i_alpha], state.x[i_beta]) > 0.5;
    }
    CHECK(count(state, drive::Cause::start_missed) >= 2);
    CHECK(count(state, drive::Cause::rotor_found) == 0);
    CHECK(turned > 2.0);    // rad electrical: it moves
    CHECK(most > 0.5);      // one way
    CHECK(least < -0.5);    // and the other
    CHECK(carrying > 10);   // amperes come
    CHECK(carrying < 150);  // and go
}

TEST_CASE("sand takes a tenth of a pump's head in the hours it is said to") {
    Scenario s = small_pump();
    s.pump.kind = "centrifugal";
    s.well.sand_mg_L = 50;
    const auto site = site::compile_site(s, {});
    State state;
    start_slow(*site, state);
    const double best = site->works.water.best_flow;
    state.x[flow] = state.slow.flow = best;
    for (int hour = 1; hour <= 5000; ++hour) {
        state.t = 3600.0 * hour;
        state.x[flow] = best;
        look_slow(*site, state);
    }
    CHECK(state.slow.damage == approx(0.1).epsilon(1e-6));
}
