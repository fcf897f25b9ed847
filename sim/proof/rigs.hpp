// Rigs the proof rows share: published machines on ideal supplies, made in code.
#pragma once

#include <numbers>

#include "bench/observe.hpp"

namespace sunshaft::proof {

// P. C. Krause, O. Wasynczuk, S. D. Sudhoff, "Analysis of Electric Machinery and Drive Systems", 2nd ed. 2002,
// table 4.10-1: 4 poles, 60 Hz, reactances at 60 Hz, star.
struct Machine {
    double volts, rs, xls, xm, xlr, rr, inertia;
};
inline constexpr Machine krause_3hp{220, 0.435, 0.754, 26.13, 0.754, 0.816, 0.089};
inline constexpr Machine krause_50hp{460, 0.087, 0.302, 13.08, 0.302, 0.228, 1.662};

// The 54-cell module of M. G. Villalva, J. R. Gazoli, E. R. Filho, "Comprehensive approach to modeling and simulation
// of photovoltaic arrays", IEEE Trans. Power Electronics 24(5), 2009: its data sheet's temperature coefficients and the
// five parameters published for it.
inline void published_module(Scenario& s) {
    s.array.module_cells = 54;
    s.array.module_photocurrent_A = 8.214, s.array.module_saturation_A = 9.825198473e-8, s.array.module_ideality = 1.3;
    s.array.module_series_ohm = 0.221, s.array.module_shunt_ohm = 415.405;
    s.array.module_alpha_A_per_K = 0.0032, s.array.module_beta_V_per_K = -0.123;
}

// The machine on an ideal sine (kind "mains") or ideal six-step bridge ("bench"), no cable, no splice, no friction.
// slip NaN: free shaft, no load.
inline Scenario rig(const Machine& m, double slip, const char* supply = "mains", double volts = 0.0) {
    constexpr double w = 2 * std::numbers::pi * 60;
    Scenario s;
    s.supply.kind = supply;
    s.supply.voltage_V = volts > 0.0 ? volts : m.volts;
    s.supply.frequency_Hz = 60;
    s.drive.modulation = "six-step-180";
    s.drive.control = "fixed";
    s.drive.frequency_Hz = 60;
    s.drive.on_resistance_ohm = s.drive.diode_drop_V = 0;
    s.dc_run.length_m = 0;
    s.dc_run.isolator_contact_ohm = s.dc_run.fuse_ohm = 0;
    s.link.esr_ohm = 0;
    s.drop_cable.length_m = 0;
    s.drop_cable.leakage_ohm = std::numeric_limits<double>::infinity();
    s.splice.u_ohm = s.splice.v_ohm = s.splice.w_ohm = 0;
    s.motor.kind = "induction";
    s.motor.pole_pairs = 2;
    s.motor.stator_resistance_ohm = m.rs;
    s.motor.rotor_resistance_ohm = m.rr;
    s.motor.stator_leakage_H = m.xls / w;
    s.motor.rotor_leakage_H = m.xlr / w;
    s.motor.magnetizing_H = m.xm / w;
    s.motor.inertia_kg_m2 = m.inertia;
    s.motor.viscous_friction_N_m_s = s.motor.dry_friction_N_m = s.motor.breakaway_N_m = 0;
    s.pump.kind = "none";
    if (slip == slip) s.motor.locked_speed_rpm = 1800 * (1 - slip);
    return s;
}

// A cold array without resistance, an ideal six-step bridge, a star of resistance and inductance: a whole chain whose
// working point is a power balance over all harmonics.
inline Scenario star_on_array(int modules, double sun, double hertz, double ohm, double henry) {
    Scenario s = rig(krause_3hp, 1.0, "array");
    published_module(s);
    s.array.modules_in_series = modules;
    s.array.connector_ohm = 0;
    s.array.leakage_plus_ohm = s.array.leakage_minus_ohm = std::numeric_limits<double>::infinity();
    s.sun.irradiance_W_m2 = sun;
    s.sun.module_temperature_degC = 25;
    s.link.bleed_ohm = std::numeric_limits<double>::infinity();
    s.link.capacitance_F = 0.05;
    s.drive.electronics_W = 0;
    s.drive.frequency_Hz = hertz;
    // The star as a machine without a rotor: next to no magnetizing inductance.
    s.motor.stator_resistance_ohm = ohm;
    s.motor.stator_leakage_H = henry - 1e-6;
    s.motor.magnetizing_H = 1e-6;
    s.motor.rotor_leakage_H = 1e-3;
    s.motor.rotor_resistance_ohm = 1e-3;
    s.motor.heat_capacity_J_per_K = 1e12;  // stays cold
    return s;
}

inline plant::Means settled(const Scenario& s) {
    bench::Bench bench(s);
    bench.settle();
    return bench.plant().average_turns(bench.state(), 0.1);
}

// A settled signal over whole turns.
inline trace::Trace settled_trace(const Scenario& s, const std::string& signal, double seconds = 0.1) {
    bench::Bench bench(s);
    bench.settle();
    plant::Recorder recorder({plant::signal(*bench.site(), signal)});
    bench.plant().advance_turns(bench.state(), seconds, recorder);
    return recorder.recording.signal(0);
}

}  // namespace sunshaft::proof
