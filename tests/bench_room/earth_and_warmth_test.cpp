// What goes by earth, joints that part when warm, a motor without cooling, the array shorted for a clamp.
#include "plant/earth_loop.hpp"
#include "site/wiring.hpp"
#include "support.hpp"
#include "trace/harmonics.hpp"
#include "trace/statistics.hpp"

using namespace sunshaft;
using namespace sunshaft::test;

namespace {

Scenario named(const char* name, const std::vector<std::string>& set = {}) {
    Scenario s = site::load_scenario(site::find_scenario(name));
    site::set_keys(s, set);
    return s;
}
}  // namespace

TEST_CASE("the cable's charging under PWM: each edge of each leg gives a pulse of C dV that dies away in R C") {
    // The earth held by an array of large capacitance: every core then charges alone, and of its pulse  i = dV/R
    // exp(-t/RC)
    //   the integral of i^2 is  dV^2 C / (2 R)  (closed form), two edges a carrier period, three legs.
    bench::Bench b(named("terrace-pwm", {"array.capacitance_to_earth_F=1e-3"}));
    b.settle();
    const auto& w = b.site()->works;
    const auto wave = recorded(b, {"around.uvw", "around.pe", "around.dc", "link_V"}, 0.2);
    const double link = trace::statistics(wave[3]).mean, C = w.cable_capacitance, R = plant::EarthLoop::core_ohm;
    REQUIRE(C > 1e-9);
    const auto s = trace::statistics(wave[0]);
    CHECK(s.rms == approx(std::sqrt(6 * w.drive.carrier * link * link * C / (2 * R))).epsilon(0.02));
    CHECK(std::abs(s.mean) < 1e-3 * s.rms);
    // What leaves the cores comes in by both poles and back by the frame's earth conductor (Kirchhoff).
    CHECK(trace::statistics(trace::sum(wave[0], wave[2], -1.0)).rms < 1e-9);
    CHECK(trace::statistics(trace::sum(wave[0], wave[1], 1.0)).rms < 1e-9);
}

TEST_CASE("healthy PWM shows tens of milliamperes on all three cores in one clamp; a leak is a change from that") {
    // 12 nF in all at 8 kHz.
    const auto set = [](const bench::Bench& b) { return b.site()->works.cable_capacitance; };
    bench::Bench probe(named("terrace-pwm"));
    const double factor = 4e-9 / set(probe);
    const double per_km = probe.scenario().drop_cable.core_capacitance_F_per_km * factor;
    const Scenario s =
        named("terrace-pwm", {"drop_cable.core_capacitance_F_per_km=" + std::to_string(per_km * 1e9) + "e-9"});
    const auto reading = [&](const bench::Edits& e) {
        bench::Bench b(s, e);
        b.settle();
        return *test::read(b, meter::find_spec("clamp-ac"), meter::Mode::aca, {"", "", "uvw"}).truth.rms;
    };
    bench::Bench b(s);
    b.settle();
    CHECK(b.site()->works.cable_capacitance == approx(4e-9).epsilon(1e-3));
    const auto wave = recorded(b, {"around.uvw"}, 0.2);
    // The line at the carrier: a clamp that follows 8 kHz and no more sees it.
    double carrier = 0.0;
    for (int k = -3; k <= 3; ++k) carrier += std::norm(trace::phasor(wave[0], 8000.0 + 50.0 * k));
    CHECK(std::sqrt(carrier) > 0.010);
    CHECK(std::sqrt(carrier) < 0.100);
    CHECK(reading({.faults = {{"motor-earth-fault", "u", 300, 0}, {"earth-leakage-minus", "array", 300, 0}}}) >
          1.1 * reading({}));
}

TEST_CASE("a leak of the array and one of the motor make a loop: its mean current from the two resistances") {
    // Plus pole 1 kohm to earth, winding u 10 kohm to earth; u stands at half the link on average.
    bench::Bench b(named("hill-orchard"),
                   {.faults = {{"earth-leakage-plus", "array", 1000, 0}, {"motor-earth-fault", "u", 1e4, 0}}});
    b.settle();
    const auto wave = recorded(b, {"around.pe", "around.uvw", "link_V"}, 0.4);
    const double expected = 0.5 * trace::statistics(wave[2]).mean / 11e3;
    CHECK(trace::statistics(wave[0]).mean == approx(expected).epsilon(0.03));
    CHECK(trace::statistics(wave[1]).mean == approx(-expected).epsilon(0.03));
    // One leak alone is no loop.
    bench::Bench one(named("hill-orchard"), {.faults = {{"motor-earth-fault", "u", 1e4, 0}}});
    one.settle();
    CHECK(std::abs(trace::statistics(recorded(one, {"around.pe"}, 0.4)[0]).mean) < 0.02 * expected);
}

TEST_CASE(
    "nothing ties a floating array to earth but its capacitance: a bench source on a bare link drives next to nothing "
    "through 1 nF") {
    bench::Bench b(named("bench-rig"));
    b.settle();
    const auto s = trace::statistics(recorded(b, {"around.uvw"}, 0.2)[0]);
    CHECK(std::isfinite(s.rms));
    CHECK(s.rms < 0.02);
}

TEST_CASE("a joint that opens when warm: good when cold, gone after minutes, back after a rest") {
    const bench::Edits faulty{.faults = {{"splice-opens-when-warm", "v", 0.6, 0}}};
    // Cold, wires off: six tenths of an ohm more in two pairs, within the ohm that passes for healthy.
    const auto ohm = [](const bench::Edits& e, const char* a, const char* c) {
        bench::Edits dead = e;
        dead.acts = {{"open", "isolator", 0}, {"pull", "pump", 0}};
        bench::Bench b(named("hill-orchard"), dead);
        b.settle();
        return *test::read(b, meter::find_spec("true-rms"), meter::Mode::ohm, {a, c, ""}).value;
    };
    CHECK(ohm(faulty, "lead.u", "lead.v") - ohm({}, "lead.u", "lead.v") == approx(0.6).margin(0.11));
    CHECK(ohm(faulty, "lead.w", "lead.u") == approx(ohm({}, "lead.w", "lead.u")).margin(0.11));

    bench::Bench b(named("hill-orchard"), faulty);
    b.advance(12.0);
    const double start = b.time(), T0 = b.state().slow.splice_degC[1];
    const double rms = b.plant().average(b.state(), 0.2).current_rms[1];
    b.advance(15.0);
    const site::Thermal heat = b.site()->works.splice_heat;
    // First order, closed form: T -> T_round + I^2 R K.
    const double tau = heat.K_per_W * heat.J_per_K,
                 end = heat.round_degC + rms * rms * b.site()->works.phases[1].splice.ohm * heat.K_per_W;
    CHECK(b.state().slow.splice_degC[1] == approx(end + (T0 - end) * std::exp(-(b.time() - start) / tau)).margin(1.0));
    CHECK(b.state().slow.splice_degC[0] == approx(heat.round_degC).margin(3.0));
    CHECK_FALSE(b.state().slow.splice_open[1]);
    double opened = 0.0, closed = 0.0;
    while (closed == 0.0 && b.time() < 900.0) {
        b.advance(1.0);
        if (opened == 0.0 && b.state().slow.splice_open[1]) {
            opened = b.time();
            CHECK(b.site()->works.phases[1].splice.open);
        }
        if (opened > 0.0 && !b.state().slow.splice_open[1]) closed = b.time();
    }
    CHECK(opened > 30.0);
    REQUIRE(closed > opened);
    // Cooling from 60 to 35 degC towards the water, closed form.
    CHECK(closed - opened == approx(tau * std::log((60 - heat.round_degC) / (35 - heat.round_degC))).margin(3.0));
    CHECK_FALSE(b.site()->works.phases[1].splice.open);
}

TEST_CASE("a motor without cooling warms as much more as its cooling is worse, and its copper follows") {
    const auto after = [](double times, double seconds) {
        bench::Bench b(named("hill-orchard"), times > 1
                                                  ? bench::Edits{.faults = {{"motor-cooling-lost", "motor", times, 0}}}
                                                  : bench::Edits{});
        b.advance(seconds);
        const site::Thermal heat = b.site()->works.motor_heat;
        return std::pair(b.state().slow.winding_degC - heat.round_degC, b.site()->works.phases[0].winding.ohm);
    };
    const auto [healthy, ohm] = after(1, 1500);
    const auto [hot, hot_ohm] = after(4, 1500);
    CHECK(hot > 1.5 * healthy);
    // Copper: 234.5 degC (IEC 60034-1).
    CHECK(hot_ohm / ohm == approx((234.5 + 15 + hot) / (234.5 + 15 + healthy)).epsilon(0.03));
}

TEST_CASE("the array shorted at the open isolator: the clamp reads each string's short-circuit current") {
    bench::Bench b(named("hill-orchard"), {.acts = {{"open", "isolator", 0}, {"short", "array", 0}}});
    b.settle();
    const auto& w = b.site()->works;
    const auto& module = w.array.strings[0].modules[0];
    const double expected = solar::current(site::sub_string(w.array, module, 0).cells, 0.0);
    for (const char* string : {"s1", "s2"})
        CHECK(*test::read(b, meter::find_spec("clamp-hall"), meter::Mode::dca, {"", "", string}).truth.mean ==
              approx(expected).epsilon(0.01));
    CHECK(std::abs(*test::read(b, meter::find_spec("clamp-hall"), meter::Mode::dca, {"", "", "dc+"}).truth.mean) <
          1e-3);
    CHECK(b.still_voltage("iso.in+", "iso.in-", 1e7) < 0.2);
    // Off again the full voltage is back.
    b.edit({.acts = {{"open", "isolator", 0}, {"short", "array", 0}, {"unshort", "array", 0}}});
    CHECK(b.still_voltage("iso.in+", "iso.in-", 1e7) > 300);
}
