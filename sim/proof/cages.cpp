// Two cages in one rotor, and the link a rectifier feeds.
#include <fmt/format.h>

#include <cmath>

#include "proof/proof.hpp"
#include "proof/rigs.hpp"

namespace sunshaft::proof {
namespace {

// The motor of C. P. Steinmetz, "Theory and Calculation of Electrical Apparatus", 1917, p. 32: 110 V a phase, in ohm
// stator 0.1 + 0.3j, outer cage 0.5 + 0.2j, inner cage 0.08 + 0.4j, exciting branch 10j; the conductance he gives that
// branch is left out. shared: 0.2 ohm of the cages' reactance is common to both.
Scenario steinmetz(double slip, bool shared) {
    constexpr double w = 2 * std::numbers::pi * 60;
    const double common = shared ? 0.2 : 0.0;
    Scenario s = rig({110 * std::numbers::sqrt3, 0.1, 0.3, 10, 0.4 - common, 0.08, 0.1}, slip);
    s.motor.kind = "double-cage";
    s.motor.second_cage_ohm = 0.5;
    s.motor.second_cage_leakage_H = (shared ? 1e-6 : 0.2) / w;
    s.motor.cages_leakage_H = common / w;
    s.solver.tolerance = 1e-6;
    return s;
}
double cage_W(double slip, bool shared) {
    bench::Bench bench(steinmetz(slip, shared));
    bench.settle();
    const double before = bench.state().energy[plant::in_cage], from = bench.time();
    bench.plant().average_turns(bench.state(), 0.1);
    return (bench.state().energy[plant::in_cage] - before) / (bench.time() - from);
}

// The link of a site in the dark on a second supply of 230 V, its drive stopped and its electronics without a draw.
double rectified_V() {
    Scenario s = rig(krause_3hp, 1.0, "array");
    published_module(s);
    s.array.modules_in_series = 10;  // an arrester to match
    s.sun.irradiance_W_m2 = 0;
    s.supply.second = "mains";
    s.supply.second_resistance_ohm = 1e-3;
    s.link.precharge_ohm = 0, s.link.bleed_ohm = std::numeric_limits<double>::infinity();
    s.drive.electronics_W = 0;
    s.drive.enabled = false;
    bench::Bench bench(s, {.acts = {{"changeover", "second", 0.0}}});
    bench.settle();
    return bench.plant().look(bench.state()).nodes.link;
}

}  // namespace

std::vector<Row> cage_rows() {
    std::vector<Row> r;
    auto add = [&](const char* field, std::string what, const char* source, double expected, double tolerance,
                   std::function<double()> f) {
        r.push_back({field, std::move(what), source, expected, tolerance, std::move(f)});
    };
    const char* circuit =
        "constants of C. P. Steinmetz, Theory and Calculation of Electrical Apparatus, 1917, p. 32; two rotor branches "
        "in parallel, closed form";
    struct Point {
        double slip;
        bool shared;
        double ampere, torque, lost;
    };
    for (const Point& p : {Point{0.05, false, 69.530362, 98.856593, 931.701438},
                           {0.2, false, 146.100025, 121.050395, 4563.492364},
                           {1.0, false, 193.575337, 87.313944, 16458.290664},
                           {0.05, true, 69.285816, 96.858743, 912.872145},
                           {0.2, true, 141.388524, 105.364717, 3972.156243},
                           {1.0, true, 167.444040, 47.962397, 9040.698919}}) {
        const std::string name =
            fmt::format("double cage{}, slip {:g}", p.shared ? " with leakage in common" : "", p.slip);
        // Of the outer cage's own leakage a millionth of a henry is left there: next to none.
        const double within = p.shared ? 1e-4 : 1e-5;
        add("double cage", name + ": current in A", circuit, p.ampere, within,
            [p] { return settled(steinmetz(p.slip, p.shared)).current_rms[0]; });
        add("double cage", name + ": torque in N m", circuit, p.torque, within,
            [p] { return settled(steinmetz(p.slip, p.shared)).torque; });
        add("double cage", name + ": loss in the cages in W", circuit, p.lost, within,
            [p] { return cage_W(p.slip, p.shared); });
    }
    add("inverter", "link on a rectified second supply of 230 V, V",
        "definition: 3 sqrt(2)/pi of line to line (N. Mohan, T. Undeland, W. Robbins, Power Electronics, 3rd ed. 2003, "
        "ch. 5), less two diodes",
        3 * std::numbers::sqrt2 / std::numbers::pi * 230, 5e-3, rectified_V);
    return r;
}

}  // namespace sunshaft::proof
