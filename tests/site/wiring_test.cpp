// The still bench: the whole wiring solved with the drive at rest, as a meter would find it.
#include <cmath>

#include "catch_shim.hpp"
#include "circuit/circuit.hpp"
#include "site/load.hpp"
#include "site/points.hpp"
#include "site/site.hpp"
#include "site/wiring.hpp"
#include "written.hpp"

using namespace sunshaft;
using namespace sunshaft::site;
using test::approx;

namespace {

// What a meter of a given input resistance reads between two points.
double dcv(const Works& works, const std::string& red, const std::string& black, double ohm = 10e6,
           bool bridge = true) {
    circuit::Circuit c;
    wire_dc(works, c);
    if (bridge) wire_bridge(works, c);
    wire_ac(works, c);
    REQUIRE(c.find(red));
    REQUIRE(c.find(black));
    c.resistor(c.node(red), c.node(black), ohm);
    return circuit::solve(c).voltage(c.node(red), c.node(black));
}

double ohms(const Works& works, const std::string& red, const std::string& black) {
    circuit::Circuit c;
    wire_ac(works, c);
    const auto source = c.voltage_source(c.node(red), c.node(black), 3.0, 1e3);
    const auto at = circuit::solve(c);
    return at.connected(c.node(red), c.node(black))
               ? at.voltage(c.node(red), c.node(black)) / std::abs(at.current(source))
               : 0.0;
}

Works two_modules() {
    Works w = set_up(Scenario{});
    w.array.leak_plus_ohm = w.array.leak_minus_ohm = open_circuit;
    w.array.arrester.fitted = false;
    return w;
}

}  // namespace

TEST_CASE("every probe point stands in the wiring") {
    for (const char* name : {"stone-fold", "river-meadow", "hill-orchard", "terrace-pwm", "bench-rig"}) {
        const auto site = compile_site(load_scenario(find_scenario(name)));
        for (const PointInfo& p : points(site->works)) {
            INFO(name << " " << p.name);
            if (!p.clamp) CHECK(site->wiring.find(p.name).has_value());
            CHECK_FALSE(p.where.empty());
        }
    }
}

TEST_CASE("a 10 Mohm joint: half on a 10 Mohm meter, almost nothing in low-impedance mode") {
    Works w = two_modules();
    w.array.plus.contact.open = w.array.minus.contact.open = true;  // controller off
    const double healthy = dcv(w, "iso.in+", "iso.in-");
    const solar::SingleDiode one =
        solar::translate(w.array.strings[0].modules[0].data, w.array.irradiance, w.array.module_degC);
    CHECK(healthy == approx(2 * solar::voltage(one, 0.0)).epsilon(1e-4));
    w.array.strings[0].joints[1] = {0.001, 1e7, true};
    CHECK(dcv(w, "iso.in+", "iso.in-") == approx(healthy / 2).epsilon(1e-4));
    CHECK(dcv(w, "iso.in+", "iso.in-", 3e3) == approx(healthy * 3e3 / (3e3 + 1e7)).epsilon(1e-3));
    // Each module alone is well.
    CHECK(dcv(w, "s1.m1+", "s1.m1-") == approx(healthy / 2).epsilon(1e-3));
    CHECK(dcv(w, "s1.m2+", "s1.m2-") == approx(healthy / 2).epsilon(1e-3));
    // Across the break the meter completes the loop only with the bleed connected.
    CHECK(std::abs(dcv(w, "s1.m1-", "s1.m2+")) < 0.02);
    w.array.plus.contact.open = w.array.minus.contact.open = false;
    CHECK(std::abs(dcv(w, "s1.m1-", "s1.m2+")) > 0.98 * healthy);
    CHECK(dcv(w, "dc+", "dc-") < 0.02 * healthy);
}

TEST_CASE("reversed module and reversed string") {
    Works w = two_modules();
    w.array.plus.contact.open = w.array.minus.contact.open = true;
    const double one = dcv(w, "s1.m1+", "s1.m1-");
    w.array.strings[0].modules[0].reversed = true;
    CHECK(dcv(w, "array+", "array-") == approx(0.0).margin(1e-3));
    CHECK(dcv(w, "s1.m1+", "s1.m1-") == approx(one).epsilon(1e-3));
    w.array.strings[0].modules[0].reversed = false;
    w.array.strings[0].reversed = true;
    CHECK(dcv(w, "array+", "array-") == approx(-2 * one).epsilon(1e-3));
    CHECK(dcv(w, "s1.m1+", "s1.m1-") == approx(one).epsilon(1e-3));
}

TEST_CASE("short-circuit current through a clamp") {
    Works w = two_modules();
    circuit::Circuit c;
    wire_dc(w, c);
    c.resistor(c.node("iso.in+"), c.node("iso.in-"), 0.01);
    const auto s = circuit::solve(c);
    const solar::SubString part = sub_string(w.array, w.array.strings[0].modules[0], 0);
    CHECK(s.current(*c.find_branch("s1")) == approx(solar::current_and_slope(part, 0.0).i).epsilon(2e-3));
    CHECK(s.current(*c.find_branch("s1.m1.1")) == approx(s.current(*c.find_branch("s1"))).epsilon(1e-9));
    CHECK(s.current(*c.find_branch("dc+")) == approx(0.0).margin(1e-9));
}

TEST_CASE("winding ohms from the top of the drop cable") {
    // Motor 3.2 ohm line to line at 20 degC behind 100 m of 2.5 mm2 class 5, all at 15 degC: 4.701759 ohm.
    Works w =
        set_up(test::written({"motor.stator_resistance_ohm=1.6", "motor.winding_temperature_degC=15",
                              "drop_cable.length_m=100", "drop_cable.conductor_mm2=2.5",
                              "drop_cable.temperature_degC=15", "splice.u_ohm=0", "splice.v_ohm=0", "splice.w_ohm=0"}));
    for (Phase& phase : w.phases) phase.terminal.open = true;
    CHECK(ohms(w, "lead.u", "lead.v") == approx(4.701759).epsilon(1e-6));
    CHECK(std::abs(ohms(w, "lead.v", "lead.w") - ohms(w, "lead.w", "lead.u")) < 1e-6);
    w.phases[1].splice.ohm = 3;
    CHECK(ohms(w, "lead.u", "lead.v") == approx(4.701759 + 3).epsilon(1e-6));
    CHECK(ohms(w, "lead.w", "lead.u") == approx(4.701759).epsilon(1e-6));
    w.phases[1].splice.open = true;
    CHECK(ohms(w, "lead.u", "lead.v") > 1e8);  // insulation only
}

TEST_CASE("a floating array reads to earth what the meter makes of it") {
    Works w = two_modules();
    w.array.plus.contact.open = w.array.minus.contact.open = true;
    const double open = dcv(w, "array+", "array-");
    CHECK(dcv(w, "array+", "earth") == approx(0.0).margin(1e-9));  // nothing drives it
    w.array.leak_minus_ohm = 1e6;
    // Meter and leak divide: 10 of 11.
    CHECK(dcv(w, "array+", "earth") == approx(open * 10 / 11).epsilon(1e-3));
    CHECK(dcv(w, "array-", "earth") == approx(0.0).margin(1e-3));
}
