// Field tests on a dead or resting site, against closed forms of the network.
#include <limits>

#include "circuit/circuit.hpp"
#include "proof/proof.hpp"
#include "proof/rigs.hpp"
#include "site/wiring.hpp"

namespace sunshaft::proof {
namespace {

constexpr double meter_ohm = 10e6, low_ohm = 3e3;  // inputs of a multimeter, ordinary and low-impedance mode

// A string of equal modules on its own; nothing else leaks.
site::Works string_of(int modules, const std::vector<site::Fault>& faults, bool isolator) {
    Scenario s;
    s.array.modules_in_series = modules;
    s.array.leakage_plus_ohm = s.array.leakage_minus_ohm = std::numeric_limits<double>::infinity();
    s.pump.kind = "none";
    site::Works w = site::set_up(s);
    w.array.arrester.fitted = false;
    for (const site::Fault& f : faults) site::apply(w, f);
    if (!isolator) site::apply(w, site::Act{"open", "isolator", 0.0});
    return w;
}

double volts(const site::Works& w, const char* red, const char* black, double ohm = meter_ohm) {
    circuit::Circuit c;
    site::wire_dc(w, c);
    site::wire_bridge(w, c);
    c.resistor(c.node(red), c.node(black), ohm);
    return circuit::solve(c).voltage(c.node(red), c.node(black));
}

double ohms(const std::vector<site::Fault>& faults, const char* red, const char* black) {
    site::Works w = site::set_up(Scenario{});
    for (const site::Fault& f : faults) site::apply(w, f);
    site::apply(w, site::Act{"pull", "pump", 0.0});
    circuit::Circuit c;
    site::wire_ac(w, c);
    return circuit::Solver(c).resistance_between(c.node(red), c.node(black));
}

// Between the corners of a delta of three resistances: over the first, the second, the third.
double delta(double ab, double bc, double ca, int pair) {
    circuit::Circuit c;
    const auto a = c.node("a"), b = c.node("b"), d = c.node("c");
    c.resistor(a, b, ab), c.resistor(b, d, bc), c.resistor(d, a, ca);
    return circuit::Solver(c).resistance_between(pair == 2 ? d : pair == 1 ? b : a, pair == 2 ? a : pair == 1 ? d : b);
}

}  // namespace

std::vector<Row> field_rows() {
    std::vector<Row> r;
    auto add = [&](const char* what, const char* source, double expected, double tolerance, std::function<double()> f) {
        r.push_back({"field tests", what, source, expected, tolerance, std::move(f)});
    };
    const char* divider = "voltage divider of joint and meter, closed form";
    const std::vector<site::Fault> broken = {{"leaky-connector", "s1.m2-", 1e7, 0.0}};
    const auto share = [broken](bool isolator, const char* red, const char* black, double ohm) {
        return volts(string_of(4, broken, isolator), red, black, ohm) /
               volts(string_of(4, {}, false), "array+", "array-");
    };
    add("10 Mohm break in a string, isolator off, ends of the string: share of the voltage", divider, 0.5, 1e-3,
        [=] { return share(false, "array+", "array-", meter_ohm); });
    add("the same in low-impedance mode of 3 kohm, times 10000/2.999", divider, 1.0, 2e-3,
        [=] { return share(false, "array+", "array-", low_ohm) * (1e7 + low_ohm) / low_ohm; });
    add("the same walked, isolator off, across the break: 1 + share (nothing)", divider, 1.0, 1e-3,
        [=] { return 1 + share(false, "s1.m2-", "s1.m3+", meter_ohm); });
    // On, the drive's bleed closes the loop: 10 Mohm of the break beside the meter's own against some ten kilohm.
    add("the same walked, isolator on, across the break: minus the share (all of it)", divider, 1.0, 0.02,
        [=] { return -share(true, "s1.m2-", "s1.m3+", meter_ohm); });
    add("the same, isolator on, at the drive's input: 1 + share (nothing)", divider, 1.0, 0.02,
        [=] { return 1 + share(true, "dc+", "dc-", meter_ohm); });
    const char* ratio =
        "ten equal modules: the fault divides the string's voltage as it divides the modules, closed form";
    add("earth fault behind module 3 of 10: place from plus and minus to earth", ratio, 3.0, 1e-3, [] {
        const site::Works w = string_of(10, {{"string-earth-fault", "s1.m3-", 100.0, 0.0}}, false);
        const double plus = volts(w, "array+", "earth"), minus = volts(w, "array-", "earth");
        return 10 * plus / (plus - minus);
    });
    add("earth fault of 1 Mohm there: sum of both readings over the string's voltage, 10/11",
        "divider of fault and meter, closed form", 10.0 / 11, 1e-3, [] {
            const site::Works w = string_of(10, {{"string-earth-fault", "s1.m3-", 1e6, 0.0}}, false);
            return (volts(w, "array+", "earth") - volts(w, "array-", "earth")) /
                   volts(string_of(10, {}, false), "array+", "array-");
        });
    const char* star = "star of equal windings R, share f of the turns of one bridged: 2 R - f R, closed form";
    const auto winding = [] { return site::set_up(Scenario{}).phases[0].winding.ohm; };
    add("a fifth of winding u bridged: u-v below the healthy pair, over R", star, 0.2, 1e-3, [=] {
        return (ohms({}, "lead.u", "lead.v") - ohms({{"winding-partly-shorted", "u", 0.2, 0.0}}, "lead.u", "lead.v")) /
               winding();
    });
    add("a fifth of winding u bridged: v-w over the healthy pair", star, 1.0, 1e-6, [] {
        return ohms({{"winding-partly-shorted", "u", 0.2, 0.0}}, "lead.v", "lead.w") / ohms({}, "lead.v", "lead.w");
    });
    const char* kennelly = "A. E. Kennelly, Electrical World and Engineer 34 (1899): delta and star, closed form";
    add("delta of three windings of 6 ohm: one pair, ohm", kennelly, 4.0, 1e-9, [] { return delta(6, 6, 6, 0); });
    add("the same with a fifth of the first bridged, over it: 4.8 beside 12, ohm", kennelly, 4.8 * 12 / 16.8, 1e-9,
        [] { return delta(4.8, 6, 6, 0); });
    add("the same over a sound one: 6 beside 10.8, ohm", kennelly, 6 * 10.8 / 16.8, 1e-9,
        [] { return delta(4.8, 6, 6, 1); });
    add("delta of 10, 20, 30 ohm over the 20 ohm: the star's 10/3 + 10, ohm", kennelly, 10.0 * 20 / 60 + 20.0 * 30 / 60,
        1e-9, [] { return delta(10, 20, 30, 1); });
    return r;
}

}  // namespace sunshaft::proof
