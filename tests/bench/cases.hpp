// The sites the solver is timed on, made in code.
#pragma once

#include <string>
#include <vector>

#include "site/site.hpp"

namespace sunshaft::bench {

struct Case {
    std::string name;
    std::shared_ptr<const site::Site> site;
    double source_ohm = 0.5;
    double target = 0, vs_cvode = 0, vs_dopri5 = 0;  // at least: x real time, ratios
};

inline Scenario induction_site(double source_ohm) {
    Scenario s;
    s.supply.kind = "bench";
    s.supply.voltage_V = 310;
    s.supply.resistance_ohm = source_ohm;
    s.link.capacitance_F = 1e-3;
    s.drive.control = "fixed";
    s.drive.electronics_W = 6;
    s.drop_cable.length_m = 55;
    auto& m = s.motor;
    m.stator_resistance_ohm = 1.35, m.stator_leakage_H = 3.6e-3, m.rotor_leakage_H = 4.4e-3;
    m.magnetizing_H = 0.105, m.rotor_resistance_ohm = 0.95, m.inertia_kg_m2 = 1.8e-3, m.viscous_friction_N_m_s = 1e-3;
    s.pump.shutoff_head_m = 64, s.pump.best_flow_m3_h = 10, s.pump.best_head_m = 48, s.pump.best_efficiency = 0.6;
    s.rising_main.diameter_mm = 50;
    s.well.static_level_m = 26, s.well.pump_depth_m = 43;
    s.tank.height_m = 9;
    return s;
}

inline Scenario permanent_magnet_site(double source_ohm) {
    Scenario s = induction_site(source_ohm);
    s.supply.voltage_V = 70;
    s.drive.modulation = "six-step-120";
    s.drop_cable.length_m = 30, s.drop_cable.conductor_mm2 = 4;
    auto& m = s.motor;
    m.kind = "permanent-magnet", m.pole_pairs = 2, m.back_emf = "trapezoidal";
    m.stator_resistance_ohm = 1.0, m.flux_linkage_Wb = 0.0535, m.d_inductance_H = m.q_inductance_H = 1.5e-3;
    m.inertia_kg_m2 = 2e-4, m.viscous_friction_N_m_s = 1e-4;
    s.pump.rated_speed_rpm = 3000, s.pump.shutoff_head_m = 30, s.pump.best_flow_m3_h = 1.3, s.pump.best_head_m = 20;
    s.pump.best_efficiency = 0.5;
    s.rising_main.diameter_mm = 32;
    s.well.static_level_m = 12, s.well.pump_depth_m = 20;
    s.tank.height_m = 5;
    return s;
}

inline std::vector<Case> cases() {
    std::vector<Case> all;
    for (const double ohm : {0.5, 0.02}) {
        const auto add = [&](const char* name, const Scenario& s, double target, double cvode, double dopri5,
                             const std::vector<site::Fault>& faults = {}) {
            all.push_back({name, site::compile_site(s, faults), ohm, target, cvode, dopri5});
        };
        const Scenario six = induction_site(ohm);
        add("six-step 50 Hz, healthy", six, 400, 20, 0.8);
        add("six-step, one phase lost", six, 400, 20, 0.8, {{"lost-phase", "cable.w", 1, 0}});
        Scenario splice = six;
        splice.splice.v_ohm = 3000;
        add("six-step, splice 3 kohm", splice, 350, 20, 5);
        add("120 degree, permanent magnet", permanent_magnet_site(ohm), 400, 20, 0.8);
        Scenario pwm = six;
        pwm.drive.modulation = "sine-triangle", pwm.drive.carrier_Hz = 8000, pwm.drive.modulation_index = 0.9;
        add("PWM 8 kHz", pwm, 75, 60, 1.2);
        pwm.drive.dead_time_s = 1e-6;
        add("PWM 8 kHz, dead time 1 us", pwm, 40, 40, 1.2);
    }
    return all;
}

}  // namespace sunshaft::bench
