#include "diagnose/new_site.hpp"

#include <fmt/format.h>

#include <algorithm>
#include <charconv>
#include <cmath>
#include <vector>

#include "site/keys.hpp"
#include "site/load.hpp"
#include "text/language.hpp"

namespace sunshaft::diagnose {
namespace {

// The figures of an answer, with comma or point, whatever stands between them.
std::vector<double> figures(const char* question, const std::string& answer, std::size_t least, std::size_t most) {
    std::vector<double> list;
    std::string text = answer;
    for (std::size_t n = 1; n + 1 < text.size(); ++n)
        if (text[n] == ',' && text[n - 1] != ' ' && text[n + 1] != ' ') text[n] = '.';
    for (std::size_t at = 0; at < text.size();) {
        double x = 0.0;
        const auto [end, error] = std::from_chars(text.data() + at, text.data() + text.size(), x);
        if (error == std::errc{} && x > 0.0) {
            list.push_back(x);
            at = static_cast<std::size_t>(end - text.data());
        } else ++at;
    }
    if (list.size() < least || list.size() > most)
        throw site::BadInput(least == most ? text::say("{}: {}: expected so many positive figures: {}", question,
                                                       site::on_one_line(answer), least)
                                           : text::say("{}: {}: expected so many positive figures: {} or {}", question,
                                                       site::on_one_line(answer), least, most));
    return list;
}

// Its modules, by how many there are and by their label, or by their cells alone.
void tell_array(const Answers& a, int like_cells, Scenario& s) {
    const auto modules = figures("modules", a.modules, 1, 2);
    s.array.modules_in_series = static_cast<int>(std::lround(modules[0]));
    s.array.strings = modules.size() > 1 ? static_cast<int>(std::lround(modules[1])) : 1;
    const auto label = figures("module", a.label, 1, 4);
    if (label.size() == 4) {
        s.array.module_isc_A = label[0];
        s.array.module_voc_V = label[1];
        s.array.module_imp_A = label[2];
        s.array.module_vmp_V = label[3];
        // Some 0.63 V a silicon cell at open circuit.
        s.array.module_cells = std::max(1, static_cast<int>(std::lround(label[1] / 0.63 / 6) * 6));
    } else if (label.size() == 1) {
        const double cells = label[0] / like_cells;
        s.array.module_cells = static_cast<int>(std::lround(label[0]));
        s.array.module_voc_V *= cells;
        s.array.module_vmp_V *= cells;
        s.array.module_beta_V_per_K *= cells;
    } else {
        throw site::BadInput(
            text::say("module: {}: expected its cells, or the four figures of its label", site::on_one_line(a.label)));
    }
}

// Motor and drive for k times the volts at m times the power: a winding for that has k k / m times the ohms and
// henries.
void scale_motor_and_drive(double k, double m, Scenario& s) {
    for (double* x :
         {&s.motor.stator_resistance_ohm, &s.motor.stator_leakage_H, &s.motor.rotor_leakage_H, &s.motor.magnetizing_H,
          &s.motor.rotor_resistance_ohm, &s.motor.d_inductance_H, &s.motor.q_inductance_H})
        *x *= k * k / m;
    s.motor.flux_linkage_Wb *= k;
    for (double* x : {&s.motor.inertia_kg_m2, &s.motor.viscous_friction_N_m_s, &s.pump.running_friction_N_m}) *x *= m;
    if (s.pump.breakaway_N_m > 0) s.pump.breakaway_N_m *= m;
    for (double* x : {&s.drive.nominal_voltage_V, &s.drive.boost_V, &s.drive.start_voltage_V, &s.link.overvoltage_V,
                      &s.drive.electronics_dropout_V})
        *x *= k;
    s.drive.current_limit_A *= m / k;
    s.drive.motor_current_A *= m / k;
    s.link.capacitance_F *= m / (k * k);
    s.link.bleed_ohm *= k * k / m;
}

// Well and pump of another depth, for m times the power.
void scale_water(double depth, double m, bool screw, Scenario& s) {
    const double deep = depth / s.well.pump_depth_m;
    s.well.pump_depth_m = depth;
    s.well.static_level_m *= deep;
    s.well.bore_depth_m *= deep;
    s.well.drawdown_m_per_m3_h *= deep * deep / m;
    if (s.well.dry_probe_depth_m > 0) s.well.dry_probe_depth_m *= deep;
    s.rising_main.length_m *= deep;
    s.tank.height_m *= deep;
    s.rising_main.diameter_mm *= std::sqrt(m / deep);
    if (screw) {
        s.pump.displacement_L_per_rev *= m / deep;
        s.pump.rated_head_m *= deep;
    } else {
        s.pump.shutoff_head_m *= deep;
        s.pump.best_head_m *= deep;
        s.pump.best_flow_m3_h *= m / deep;
    }
    s.tank.use_m3_h *= m / deep;
}

}  // namespace

Scenario new_site(const Answers& a) {
    const bool screw = a.pump.starts_with("screw") || a.pump.starts_with("prog");
    if (!screw && !a.pump.starts_with("cen"))
        throw site::BadInput(text::say("pump: {}: expected centrifugal or screw", site::on_one_line(a.pump)));
    const Scenario like = site::load_scenario(site::find_scenario(screw ? "stone-fold" : "hill-orchard"));
    Scenario s = like;
    s.site.name = text::tr("Told on the telephone");
    s.site.description = text::tr("From five answers; what was not asked is guessed.");
    tell_array(a, like.array.module_cells, s);
    const auto cable = figures("cable", a.cable, 2, 2);
    const double depth = figures("depth", a.depth, 1, 1)[0];
    s.drop_cable.length_m = cable[0];
    s.drop_cable.conductor_mm2 = cable[1];
    // Volts and power against the site it is like.
    const double volts = s.array.modules_in_series * s.array.module_vmp_V,
                 like_volts = like.array.modules_in_series * like.array.module_vmp_V;
    const double k = volts / like_volts,
                 m = k * s.array.strings * s.array.module_imp_A / (like.array.strings * like.array.module_imp_A);
    scale_motor_and_drive(k, m, s);
    scale_water(depth, m, screw, s);
    s.file.clear();
    return site::parse_scenario(site::to_toml(s), "new site");
}

}  // namespace sunshaft::diagnose
