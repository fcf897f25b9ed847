#include <fmt/format.h>

#include <algorithm>
#include <cmath>
#include <stdexcept>

#include "text/language.hpp"

#include "solar/module.hpp"

namespace sunshaft::solar {
namespace {

constexpr double zero_degC = 273.15;             // K
constexpr double reference_K = 25 + zero_degC;   // standard test conditions
constexpr double boltzmann_eV = 8.617333262e-5;  // eV/K (CODATA 2018)
constexpr double gap_slope = 0.0002677;          // 1/K; De Soto eq. 10

SingleDiode translated(const ModuleData& m, double alpha_sc, double irradiance, double cell_degC) {
    if (!(irradiance >= 0) || !std::isfinite(irradiance))
        throw std::invalid_argument(text::say("irradiance {} W/m2: expected 0 or more", irradiance));
    if (!(cell_degC >= -100 && cell_degC <= 200))
        throw std::invalid_argument(text::say("cell temperature {} degC: expected -100 to 200", cell_degC));
    const double T = cell_degC + zero_degC, dT = T - reference_K, sun = irradiance / 1000;
    const double gap = m.gap_eV * (1 - gap_slope * dT);
    const double ratio = T / reference_K;
    SingleDiode d = m.stc;
    d.IL = std::max(0.0, sun * (m.stc.IL + alpha_sc * dT));
    d.I0 *= ratio * ratio * ratio * std::exp((m.gap_eV / reference_K - gap / T) / boltzmann_eV);
    d.Rsh /= 1 + m.shunt_light * (std::max(sun, 1e-3) - 1);
    d.a *= ratio;
    return d;
}

}  // namespace

SingleDiode translate(const ModuleData& module, double irradiance, double cell_degC) {
    return translated(module, module.alpha_sc, irradiance, cell_degC);
}

SingleDiode translate_cec(const ModuleData& module, double irradiance, double cell_degC) {
    return translated(module, module.alpha_sc * (1 - module.adjust_pct / 100), irradiance, cell_degC);
}

double voc_temperature_coefficient(const ModuleData& module) {
    const auto voc = [&](double degC) { return voltage(translate(module, 1000, degC), 0); };
    return (voc(26) - voc(24)) / 2;
}

double thermal_voltage(double cell_degC) { return boltzmann_eV * (cell_degC + zero_degC); }

double low_light_efficiency(const ModuleData& module) {
    const auto power = [&](double irradiance) { return key_points(translate(module, irradiance, 25)).Pmp; };
    return 5 * power(200) / power(1000);
}

double low_light_voltage(const ModuleData& module) {
    return voltage(translate(module, 200, 25), 0) / voltage(module.stc, 0);
}

double noct_temperature(double air_degC, double irradiance, double noct_degC) {
    return air_degC + (noct_degC - 20) * irradiance / 800;
}

double faiman_temperature(double air_degC, double irradiance, double wind_m_s) {
    return air_degC + irradiance / (25 + 6.84 * wind_m_s);
}

MeasuredPoint translate_iec60891(const MeasuredPoint& from, const Iec60891First& c, double irradiance,
                                 double cell_degC) {
    const double dT = cell_degC - from.cell_degC;
    const double i = from.i + c.Isc * (irradiance / from.irradiance - 1) + c.alpha * dT;
    const double v = from.v + c.beta * dT - c.Rs * (i - from.i) - c.kappa * i * dT;
    return {v, i, irradiance, cell_degC};
}

MeasuredPoint translate_iec60891(const MeasuredPoint& from, const Iec60891Second& c, double irradiance,
                                 double cell_degC) {
    const double dT = cell_degC - from.cell_degC, sun = irradiance / from.irradiance;
    const double i = from.i * (1 + c.alpha_relative * dT) * sun;
    const double v =
        from.v + c.Voc * (c.beta_relative * dT + c.a * std::log(sun)) - c.Rs * (i - from.i) - c.kappa * i * dT;
    return {v, i, irradiance, cell_degC};
}

}  // namespace sunshaft::solar
