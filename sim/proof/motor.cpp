#include <cmath>

#include "proof/proof.hpp"
#include "proof/rigs.hpp"
#include "trace/statistics.hpp"

namespace sunshaft::proof {
namespace {

constexpr const char* circuit =
    "equivalent circuit of the machines in P. C. Krause et al., Analysis of Electric Machinery, 2nd ed. 2002, table "
    "4.10-1";
constexpr const char* harmonic_circuits =
    "sum of harmonic equivalent circuits to n = 10000, machine as in Krause table 4.10-1";
constexpr const char* free_run = "stationary-frame flux states, DOP853 at 1e-11, machine as in Krause table 4.10-1";

// As near as the solver goes: what is left is the model.
Scenario tight(Scenario s) {
    s.solver.tolerance = 1e-6;
    return s;
}
double current(const Machine& m, double slip) { return settled(tight(rig(m, slip))).current_rms[0]; }
double torque(const Machine& m, double slip) { return settled(tight(rig(m, slip))).torque; }

// Start from rest without load: time at which a share of 1800 rpm is passed, by linear search in the recording.
double time_to(const Machine& m, double share) {
    bench::Bench bench(tight(rig(m, not_given)));
    plant::Recorder recorder({plant::signal(*bench.site(), "speed_rpm")});
    bench.advance(1.0, &recorder);
    for (const trace::Segment& s : recorder.recording.signal(0))
        if (s.y1 >= 1800 * share) return s.t0 + (s.t1 - s.t0) * (1800 * share - s.y0) / (s.y1 - s.y0);
    return not_given;
}

double peak_torque(const Machine& m) {
    bench::Bench bench(tight(rig(m, not_given)));
    plant::Recorder recorder({plant::signal(*bench.site(), "torque_N_m")});
    bench.advance(0.05, &recorder);
    return trace::statistics(recorder.recording.signal(0)).max;
}

// Held at the field's speed: the rotor's easy way stays along the voltage, with which it began.
plant::Means reluctance() {
    Scenario s = rig(krause_3hp, 0.0);
    s.motor.kind = "synchronous-reluctance";
    s.motor.stator_resistance_ohm = 1.5;
    s.motor.d_inductance_H = 0.08, s.motor.q_inductance_H = 0.02;
    return settled(tight(s));
}

Scenario sixteen() { return star_on_array(16, 1000, 50, 30, 0.06); }
Scenario twelve() { return star_on_array(12, 600, 60, 22, 0.05); }
// The link charges with some three seconds: ten times that, then the mean over whole turns.
plant::Means charged(const Scenario& s) {
    bench::Bench bench(s);
    bench.advance(30.0);
    return bench.plant().average_turns(bench.state(), 0.1);
}
double dc_current(const Scenario& s) { return bench::Bench(s).site()->source.source_current(charged(s).link); }

}  // namespace

std::vector<Row> motor_rows() {
    std::vector<Row> r;
    auto add = [&](std::string what, const char* source, double expected, double tolerance, std::function<double()> f) {
        r.push_back({"motor", std::move(what), source, expected, tolerance, std::move(f)});
    };
    struct Point {
        double slip, amps, torque;
    };
    for (const Point p : {Point{0.02, 5.597274, 5.818204}, Point{0.05, 8.844811, 14.026832},
                          Point{0.20, 27.142128, 44.174321}, Point{1.0, 65.738705, 52.971674}}) {
        add("3 hp, slip " + std::to_string(p.slip).substr(0, 4) + ", current in A", circuit, p.amps, 1e-5,
            [p] { return current(krause_3hp, p.slip); });
        add("3 hp, slip " + std::to_string(p.slip).substr(0, 4) + ", torque in N m", circuit, p.torque, 1e-5,
            [p] { return torque(krause_3hp, p.slip); });
    }
    add("50 hp, slip 0.05, current in A", circuit, 59.932717, 1e-5, [] { return current(krause_50hp, 0.05); });
    add("50 hp, slip 0.05, torque in N m", circuit, 223.140023, 1e-5, [] { return torque(krause_50hp, 0.05); });
    add("3 hp, free acceleration, time to 50 % in s", free_run, 0.156779, 1e-5,
        [] { return time_to(krause_3hp, 0.5); });
    add("3 hp, free acceleration, time to 95 % in s", free_run, 0.333954, 1e-5,
        [] { return time_to(krause_3hp, 0.95); });
    add("3 hp, free acceleration, peak torque in N m", free_run, 132.06004, 2e-5,
        [] { return peak_torque(krause_3hp); });
    add("3 hp on six-step, slip 0.05, current in A", harmonic_circuits, 9.675818, 1e-5,
        [] { return settled(tight(rig(krause_3hp, 0.05, "bench", 282.160963))).current_rms[0]; });
    add("3 hp on six-step, slip 0.05, torque in N m", harmonic_circuits, 14.009060, 1e-5,
        [] { return settled(tight(rig(krause_3hp, 0.05, "bench", 282.160963))).torque; });
    const char* two_axes =
        "two-axis equations as in the Modelica Standard Library's reluctance machine, damper cage left out: "
        "v_d = R i_d - w Lq i_q, v_q = R i_q + w Ld i_d, T = 3/2 p (Ld - Lq) i_d i_q";
    add("synchronous reluctance on 220 V 60 Hz, current in A", two_axes, 16.701726, 1e-5,
        [] { return reluctance().current_rms[0]; });
    add("synchronous reluctance on 220 V 60 Hz, torque in N m", two_axes, -4.982214, 1e-5,
        [] { return reluctance().torque; });
    const char* balance =
        "power balance over all harmonics to n = 6000; parameters of the module: Villalva, Gazoli, Filho, IEEE Trans. "
        "Power Electronics 24(5), 2009";
    add("16 modules, six-step, 30 ohm + 60 mH: link in V", balance, 453.893945, 1e-4,
        [] { return charged(sixteen()).link; });
    add("16 modules, six-step, 30 ohm + 60 mH: current in A", balance, 5.787081, 1e-4,
        [] { return charged(sixteen()).current_rms[0]; });
    add("16 modules, six-step, 30 ohm + 60 mH: u-v on an average-responding meter in V", balance, 336.099615, 1e-4,
        [] { return 1.1107207345395915 * charged(sixteen()).line_rectified[0]; });
    add("12 modules at 600 W/m2, six-step 60 Hz, 22 ohm + 50 mH: link in V", balance, 294.89, 1e-4,
        [] { return charged(twelve()).link; });
    add("12 modules at 600 W/m2, six-step 60 Hz, 22 ohm + 50 mH: DC current in A", balance, 4.7219, 1e-4,
        [] { return dc_current(twelve()); });
    add("12 modules at 600 W/m2, six-step 60 Hz, 22 ohm + 50 mH: power in W", balance, 1392.44, 2e-4,
        [] { return charged(twelve()).link * dc_current(twelve()); });
    return r;
}

std::vector<Row> fault_rows() {
    std::vector<Row> r;
    auto add = [&](std::string what, const char* source, double expected, double tolerance, std::function<double()> f) {
        r.push_back({"faults", std::move(what), source, expected, tolerance, std::move(f)});
    };
    const char* sequence =
        "sequence circuits (C. L. Fortescue, Trans. AIEE 37, 1918), machine as in Krause table 4.10-1";
    auto lost = [](double slip) {
        Scenario s = tight(rig(krause_3hp, slip));
        s.splice.u_ohm = std::numeric_limits<double>::infinity();
        return s;
    };
    auto volts = [lost](double slip, const char* signal) {
        return trace::statistics(settled_trace(lost(slip), signal)).rms_ac;
    };
    add("3 hp, line u open, slip 0.05: current in v, A", sequence, 13.819394, 1e-5,
        [=] { return settled(lost(0.05)).current_rms[1]; });
    add("3 hp, line u open, slip 0.05: torque in N m", sequence, 11.013613, 1e-5,
        [=] { return settled(lost(0.05)).torque; });
    add("3 hp, line u open, slip 0.05: u-v at the motor, V", sequence, 179.50103, 1e-5,
        [=] { return volts(0.05, "motor.u:motor.v"); });
    add("3 hp, line u open, slip 0.05: w-u at the motor, V", sequence, 198.00195, 1e-5,
        [=] { return volts(0.05, "motor.w:motor.u"); });
    add("3 hp, line u open, at rest: u-v at the motor, half of the line, V", sequence, 110.0, 1e-5,
        [=] { return volts(1.0, "motor.u:motor.v"); });
    add("3 hp, line u open, at rest: 1 + torque in N m (there is none)", sequence, 1.0, 1e-5,
        [=] { return 1 + settled(lost(1.0)).torque; });
    auto bad = [](double ohm) {
        Scenario s = tight(rig(krause_3hp, 0.05));
        s.splice.u_ohm = ohm;
        return settled(s).current_rms;
    };
    add("3 hp, 2 ohm in line u, slip 0.05: current in u, A", sequence, 6.902179, 1e-5, [=] { return bad(2.0)[0]; });
    add("3 hp, 2 ohm in line u, slip 0.05: current in v, A", sequence, 11.164884, 1e-5, [=] { return bad(2.0)[1]; });
    add("3 hp, 2 ohm in line u, slip 0.05: current in w, A", sequence, 8.268549, 1e-5, [=] { return bad(2.0)[2]; });
    return r;
}

}  // namespace sunshaft::proof
