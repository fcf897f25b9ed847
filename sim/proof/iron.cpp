// Iron and warmth of a motor: saturation, loss, magnets.
#include <fmt/format.h>

#include <cmath>

#include "proof/proof.hpp"
#include "proof/rigs.hpp"
#include "trace/statistics.hpp"

namespace sunshaft::proof {
namespace {

// The 2.2 kW machine of Qu and others: 3.7 and 2.5 ohm, 23 mH of leakage on the rotor's side, stator inductance
// 0.34 / (1 + (0.84 psi)^7) H. Here: 0.2432 H and a factor of 1.42 at 400 V, 50 Hz, fitted to the no-load currents that
// gives between 100 and 460 V at 50 Hz.
plant::Means saturated(double volt, double hertz, double slip) {
    constexpr double at_50_Hz = 100 * std::numbers::pi;
    const Machine m{volt, 3.7, 1e-6 * at_50_Hz, 0.99 * 0.2456357 * at_50_Hz, 0.023 * at_50_Hz, 2.5, 0.02};
    Scenario s = rig(m, slip);
    s.motor.stator_leakage_H = 1e-6, s.motor.rotor_leakage_H = 0.023, s.motor.magnetizing_H = 0.99 * 0.2456357;
    s.supply.frequency_Hz = hertz;
    s.motor.locked_speed_rpm = 30 * hertz * (1 - slip);
    s.motor.saturation_factor = 1.42;
    s.motor.rated_voltage_V = 400, s.motor.rated_frequency_Hz = 50;
    return settled(s);
}

// The 3 hp machine with an iron loss of 100 W.
bench::Bench iron(double volt, double slip) {
    Scenario s = rig(krause_3hp, slip, "mains", volt);
    s.solver.tolerance = 1e-5;
    s.motor.iron_loss_W = 100;
    s.motor.rated_voltage_V = 220, s.motor.rated_frequency_Hz = 60;
    return bench::Bench(s);
}
plant::Means means(bench::Bench bench) {
    bench.settle();
    return bench.plant().average_turns(bench.state(), 0.1);
}
double iron_W(double volt, double slip) {
    bench::Bench bench = iron(volt, slip);
    bench.settle();
    const double before = bench.state().energy[plant::in_iron], from = bench.time();
    bench.plant().average_turns(bench.state(), 0.1);
    return (bench.state().energy[plant::in_iron] - before) / (bench.time() - from);
}

// Between two lines of a magnet motor turned without current.
double turned_V(double flux_per_K, double degC) {
    Scenario s = rig(krause_3hp, 0.0, "bench", 300);
    s.motor.kind = "permanent-magnet";
    s.motor.magnet_flux_per_K = flux_per_K;
    s.motor.winding_temperature_degC = degC;
    s.drive.enabled = false;
    return trace::statistics(settled_trace(s, "motor.u:motor.v")).rms;
}

}  // namespace

std::vector<Row> iron_rows() {
    std::vector<Row> r;
    auto add = [&](std::string what, const char* source, double expected, double tolerance, std::function<double()> f) {
        r.push_back({"iron", std::move(what), source, expected, tolerance, std::move(f)});
    };
    const char* curve =
        "magnetizing curve fitted to a measured machine: Z. Qu, M. Ranta, M. Hinkkanen, J. Luomi, IEEE Trans. Ind. "
        "Appl. 48, 2012 (constants from an open drive library), its circuit solved by bisection";
    struct Point {
        double volt, hertz, slip, amps, torque;
    };
    // Below rated voltage the place of the curve shows: there on the stator flux, here behind the leakage.
    for (const Point p : {Point{320, 50, 0.04, 3.426925, 9.172613},
                          {400, 50, 0.02, 3.371537, 7.646719},
                          {400, 50, 0.04, 4.542414, 14.323766},
                          {440, 50, 0.04, 5.367236, 17.317561}}) {
        const double within = p.volt < 400 ? 0.05 : 0.02;
        add(fmt::format("2.2 kW, {:g} V, slip {:g}: current in A", p.volt, p.slip), curve, p.amps, within,
            [p] { return saturated(p.volt, p.hertz, p.slip).current_rms[0]; });
        add(fmt::format("2.2 kW, {:g} V, slip {:g}: torque in N m", p.volt, p.slip), curve, p.torque, within,
            [p] { return saturated(p.volt, p.hertz, p.slip).torque; });
    }
    for (const Point p : {Point{200, 25, 0, 2.959897, 0}, {400, 60, 0, 1.994741, 0}})
        add(fmt::format("2.2 kW, no load, {:g} V at {:g} Hz: current in A", p.volt, p.hertz), curve, p.amps, 0.03,
            [p] { return saturated(p.volt, p.hertz, p.slip).current_rms[0]; });
    const char* parallel =
        "equivalent circuit with the loss resistance across the magnetizing branch, all leakage before it, closed "
        "form; "
        "machine as in Krause table 4.10-1";
    add("3 hp with 100 W of iron loss at 220 V, no load: loss in W", parallel, 99.793347, 1e-5,
        [] { return iron_W(220, 0); });
    add("3 hp with 100 W of iron loss at 220 V, no load at 264 V: loss in W", parallel, 143.702419, 1e-5,
        [] { return iron_W(264, 0); });
    add("3 hp with 100 W of iron loss at 220 V, slip 0.05: loss in W", parallel, 94.154390, 1e-5,
        [] { return iron_W(220, 0.05); });
    add("3 hp with 100 W of iron loss at 220 V, slip 0.05: current in A", parallel, 9.066094, 1e-5,
        [] { return means(iron(220, 0.05)).current_rms[0]; });
    add("3 hp with 100 W of iron loss at 220 V, slip 0.05: torque in N m", parallel, 13.994446, 1e-5,
        [] { return means(iron(220, 0.05)).torque; });
    const char* bars =
        "rectangular bar in a slot as wide: the one-layer factor of a public motor-design library; real formula, "
        "complex "
        "one and a ladder of 4000 layers agree";
    struct Bar {
        double xi, ratio;
    };
    for (const Bar b : {Bar{0.5, 1.0055424}, {1, 1.0856357}, {2, 1.8978064}, {4, 4.0022635}})
        add(fmt::format("deep bar, depth {:g} of the skin's: AC over DC ohms", b.xi), bars, b.ratio, 1e-6,
            [b] { return motor::bar_resistance(b.xi); });
    add("aluminium bar of 20 mm at 50 Hz: depth over the skin's", bars, 1.709211, 1e-6,
        [] { return motor::bar_depth_ratio(0.02, 50); });
    const char* deep =
        "equivalent circuit with the bar's ohms at slip frequency, closed form; machine as in Krause table 4.10-1";
    const auto barred = [](double slip) {
        Scenario s = rig(krause_3hp, slip);
        s.motor.bar_depth_mm = 25;
        s.solver.tolerance = 1e-6;
        return settled(s);
    };
    struct Start {
        double slip, amps, torque;
    };
    for (const Start p : {Start{1, 46.653560, 60.997381}, {0.2, 25.103346, 41.442691}, {0.05, 8.804037, 13.940125}}) {
        add(fmt::format("3 hp with aluminium bars of 25 mm, slip {:g}: current in A", p.slip), deep, p.amps, 1e-4,
            [=] { return barred(p.slip).current_rms[0]; });
        add(fmt::format("3 hp with aluminium bars of 25 mm, slip {:g}: torque in N m", p.slip), deep, p.torque, 1e-4,
            [=] { return barred(p.slip).torque; });
    }
    const char* magnets =
        "definition: reversible coefficients of the hard-magnetic records of the Modelica Standard Library (sintered "
        "NdFeB -0.001, ferrite -0.002 /K): remanence at 100 and at 20 degC";
    add("rare-earth magnets: volts of the turned motor at 100 over 20 degC", magnets, 1.104 / 1.2, 1e-6,
        [] { return turned_V(-0.001, 100) / turned_V(-0.001, 20); });
    add("ferrite magnets: volts of the turned motor at 100 over 20 degC", magnets, 0.3192 / 0.38, 1e-6,
        [] { return turned_V(-0.002, 100) / turned_V(-0.002, 20); });
    return r;
}

}  // namespace sunshaft::proof
