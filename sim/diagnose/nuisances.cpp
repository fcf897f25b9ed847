// What is uncertain about every site, whatever is at fault.
#include <fmt/format.h>

#include "diagnose/posterior.hpp"
#include "site/keys.hpp"
#include "text/figure.hpp"

namespace sunshaft::diagnose {

std::vector<Nuisance> nuisances(const Scenario& s) {
    const site::Works works = site::set_up(s);
    std::vector<Nuisance> list;
    const auto set = [](std::string_view key, double value) { return fmt::format("{}={}", key, text::plain(value)); };
    const auto add = [&](const char* name, std::vector<std::string> sets, bool sky = false, bool level = false) {
        try {
            Scenario trial = s;
            site::set_keys(trial, sets);
            (void)site::set_up(trial);
            list.push_back({name, std::move(sets), sky, level});
        } catch (const site::BadInput&) {
        }
    };
    // Standard deviations: common practice, no source, but for the tolerance of modules (3 % of a data sheet's power).
    if (works.supply.kind == site::Supply::Kind::array) {
        add("sun",
            {set("sun.irradiance_W_m2", (1.0 - sun_step) * s.sun.irradiance_W_m2),
             set("sun.module_temperature_degC", works.array.module_degC)},
            true);
        add("modules' warmth", {set("sun.module_temperature_degC", works.array.module_degC + 8)}, true);
        if (s.array.module.empty() && !(s.array.module_photocurrent_A > 0)) {
            add("modules' volts", {set("array.module_voc_V", 1.015 * s.array.module_voc_V),
                                   set("array.module_vmp_V", 1.015 * s.array.module_vmp_V)});
            add("modules' current", {set("array.module_isc_A", 1.03 * s.array.module_isc_A),
                                     set("array.module_imp_A", 1.03 * s.array.module_imp_A)});
        }
        add("leakage of plus", {set("array.leakage_plus_ohm", 2 * s.array.leakage_plus_ohm)});
        add("leakage of minus", {set("array.leakage_minus_ohm", 2 * s.array.leakage_minus_ohm)});
        add("length of the run", {set("dc_run.length_m", 1.15 * s.dc_run.length_m)});
    }
    if (works.supply.kind != site::Supply::Kind::mains) {
        add("bleed", {set("link.bleed_ohm", 1.1 * s.link.bleed_ohm)});
        add("link", {set("link.capacitance_F", 0.9 * s.link.capacitance_F)});
    }
    add("length of the cable", {set("drop_cable.length_m", 1.06 * s.drop_cable.length_m)});
    add("capacitance of the cores",
        {set("drop_cable.core_capacitance_F_per_km", 1.2 * s.drop_cable.core_capacitance_F_per_km)});
    add("leakage of the cores", {set("drop_cable.leakage_ohm", 0.25 * s.drop_cable.leakage_ohm)});
    add("winding", {set("motor.stator_resistance_ohm", 1.05 * s.motor.stator_resistance_ohm)});
    add("warmth of the winding", {set("motor.winding_temperature_degC", s.motor.winding_temperature_degC + 8)});
    if (site::has_cage(works.motor)) {
        add("magnetizing", {set("motor.magnetizing_H", 1.06 * s.motor.magnetizing_H)});
        add("leakage inductance", {set("motor.stator_leakage_H", 1.08 * s.motor.stator_leakage_H),
                                   set("motor.rotor_leakage_H", 1.08 * s.motor.rotor_leakage_H)});
        add("cage", {set("motor.rotor_resistance_ohm", 1.08 * s.motor.rotor_resistance_ohm)});
    }
    if (site::has_magnets(works.motor)) add("magnets", {set("motor.flux_linkage_Wb", 1.03 * s.motor.flux_linkage_Wb)});
    if (works.water.pump.index() == 1) {
        add("head of the pump", {set("pump.shutoff_head_m", 1.05 * s.pump.shutoff_head_m),
                                 set("pump.best_head_m", 1.05 * s.pump.best_head_m)});
        add("flow of the pump", {set("pump.best_flow_m3_h", 1.05 * s.pump.best_flow_m3_h)});
        add("efficiency of the pump", {set("pump.best_efficiency", 0.95 * s.pump.best_efficiency)});
    } else if (works.water.pump.index() == 2) {
        add("displacement", {set("pump.displacement_L_per_rev", 1.04 * s.pump.displacement_L_per_rev)});
        add("friction of the pump", {set("pump.running_friction_N_m", 1.2 * s.pump.running_friction_N_m)});
    }
    if (works.water.pump.index() != 0) {
        add("level of the water", {set("well.static_level_m", s.well.static_level_m + 1.5)}, false, true);
        // Readings are computed with the bore drawn down; who comes soon after a start finds it on its way.
        const double drop = works.water.drawdown * works.water.best_flow;
        add("pumped down", {set("well.static_level_m", s.well.static_level_m + 0.25 * drop)}, true, true);
        add("draw-down", {set("well.drawdown_m_per_m3_h", 1.4 * s.well.drawdown_m_per_m3_h)});
        add("rising main", {set("rising_main.minor_loss", 1.5 * s.rising_main.minor_loss),
                            set("rising_main.roughness_mm", 4 * s.rising_main.roughness_mm)});
    }
    return list;
}

}  // namespace sunshaft::diagnose
