// A module: single-diode parameters at standard test conditions, how they move with light and temperature, and
// its sub-strings with their bypass diodes.
#pragma once

#include <string>
#include <vector>

#include "solar/breakdown.hpp"
#include "solar/single_diode.hpp"

namespace sunshaft::solar {

struct ModuleData {
    std::string name;
    int cells = 60;  // in series; information
    int substrings = 3;
    SingleDiode stc{};        // 1000 W/m2, 25 degC
    double alpha_sc = 0.0;    // A/K
    double beta_oc = 0.0;     // V/K (information; the model's own follows from De Soto)
    double adjust_pct = 0.0;  // the public table's correction of alpha_sc, used by translate_cec only
    double noct_degC = 47;
    double Isc = 0, Voc = 0, Imp = 0, Vmp = 0;  // A, V: data sheet at STC
    double bypass_drop_V = 0.5;                 // at about the rated current
    double gap_eV = 1.121;     // of the translation: silicon's; where a data sheet asks for another one, the fit's
    double shunt_light = 1.0;  // share of 1/Rsh that follows the light (De Soto: all); the rest is a plain resistance
    bool operator==(const ModuleData&) const = default;
};

// What stands on a data sheet, at STC.
struct DataSheet {
    double Isc, Voc, Imp, Vmp;  // A, V
    double alpha_sc, beta_oc;   // A/K, V/K
    int cells;                  // in series
    bool operator==(const DataSheet&) const = default;
};

// Fits the five parameters to a data sheet: De Soto's five conditions, which are the currents at Vmp and at both
// ends, dP/dV = 0 at Vmp, and Voc moving by beta_oc per kelvin under translate(). All are met to rounding. Where
// the fifth would ask for Rs < 0 or for a shunt above 1e4 Voc/Isc, the parameters stop at that limit and gap_eV,
// kept within 0.5 to 4 eV, is what meets it instead. The shoulder that beta asks for is sharper than a real one:
// in weak sun such a fit promises too much.
// Throws std::invalid_argument in words when the values cannot belong to a module.
ModuleData from_datasheet(const DataSheet& sheet);

// Share of the STC efficiency that is left at 200 W/m2 and 25 degC.
double low_light_efficiency(const ModuleData& module);
// Of crystalline modules: the mean of four measured ones, 0.877 to 1.018 (IEC 61853-1 matrices: an independent
// laboratory's, and B. Marion et al., "Data for validating models for PV module performance", NREL 2014).
inline constexpr double typical_low_light = 0.94;

// The same with low_light_efficiency() in the place of the fifth condition; gap_eV meets beta_oc. A low_light beyond
// what can go with the other figures gives the nearest that can: ask low_light_efficiency() of the result.
ModuleData from_datasheet(const DataSheet& sheet, double low_light);

// Share of Voc that is left at 200 W/m2 and 25 degC.
double low_light_voltage(const ModuleData& module);

// With that known as well (IEC 61853-1 asks for both) the two losses of weak light come apart: how Voc falls with the
// light tells the ideality, and what efficiency is lost beyond that tells how much of the shunt follows the light
// (shunt_light). A fit that lets all of it follow, as above, puts a plain shunt's loss down to the ideality. Where the
// pair asks for less than no share or more than all of it, none or all.
ModuleData from_datasheet(const DataSheet& sheet, double low_light, double low_light_voltage);

// A module of which the five parameters at STC are known; gap_eV meets beta_oc. The shunt is a plain resistance,
// unless a low_light asks for one that follows the light (as above: the nearest that can be; NaN: asks for nothing).
ModuleData from_parameters(const SingleDiode& stc, double alpha_sc, double beta_oc, int cells, double low_light);

// Rows of a public module table in CSV (assets/modules.csv; columns of the California Energy Commission table).
// '#' starts a comment line; the first other line names the columns, whose order is free.
// Throws std::invalid_argument with "file:line: column: what is wrong".
std::vector<ModuleData> load_table(const std::string& csv_file);

// De Soto translation (De Soto, Klein and Beckman 2006, eqs. 2 and 7 to 12): irradiance G in W/m2, >= 0, cell
// temperature in degC, -100 to 200. G = 0 gives the dark diode. What of the shunt follows 1/G (shunt_light) does
// so down to 1 W/m2 and stays there, so that a dark cell still leaks. Throws std::invalid_argument outside the ranges.
SingleDiode translate(const ModuleData& module, double irradiance, double cell_degC);

// The same with alpha_sc corrected by the table's Adjust column, as the table's parameters were fitted.
// Source: A. P. Dobos, "An improved coefficient calculator for the California Energy Commission 6 parameter
// photovoltaic module model", J. Solar Energy Eng. 134 (2012) 021011.
SingleDiode translate_cec(const ModuleData& module, double irradiance, double cell_degC);

// The model's own change of Voc with temperature at STC, V/K (central difference over +-1 K).
double voc_temperature_coefficient(const ModuleData& module);

// k T / q in V.
double thermal_voltage(double cell_degC);

// Cell temperature in degC from air, sun and nominal operating cell temperature (IEC 61215: 800 W/m2, 20 degC
// air, 1 m/s): T = air + (noct - 20) G / 800.
double noct_temperature(double air_degC, double irradiance, double noct_degC);

// Module temperature in degC with wind in m/s: T = air + G / (U0 + U1 wind), U0 = 25 W/(m2 K), U1 = 6.84 W
// s/(m3 K). Source: D. Faiman, "Assessing the outdoor operating temperature of photovoltaic modules", Prog.
// Photovolt. 16 (2008) 307-315: the mean of the seven modules measured there.
double faiman_temperature(double air_degC, double irradiance, double wind_m_s);

// One measured point of a module moved to other conditions. Source: IEC 60891 ed. 2 (2009), procedures 1 and 2.
struct MeasuredPoint {
    double v, i;                   // V, A
    double irradiance, cell_degC;  // W/m2, degC
};
// Procedure 1. Isc is that of the measured curve; alpha A/K, beta V/K, Rs ohm, kappa ohm/K, all of the module.
struct Iec60891First {
    double Isc, alpha, beta, Rs, kappa;
};
MeasuredPoint translate_iec60891(const MeasuredPoint& from, const Iec60891First& c, double irradiance,
                                 double cell_degC);
// Procedure 2. Voc is that of the measured curve; alpha and beta relative, 1/K; a is Voc's irradiance factor.
struct Iec60891Second {
    double Voc, alpha_relative, beta_relative, a, Rs, kappa;
};
MeasuredPoint translate_iec60891(const MeasuredPoint& from, const Iec60891Second& c, double irradiance,
                                 double cell_degC);

enum class Bypass { good, open, shorted };

// Single cells of a sub-string that have less light than the rest.
struct DarkCells {
    int cells = 0;
    double light = 1.0;  // share of what the others have
    friend bool operator==(const DarkCells&, const DarkCells&) = default;
};

// One sub-string (cells/substrings of the module) with its bypass diode across it, current out of + positive.
// The bypass diode is I = Is (exp(-v/vt) - 1) in series with a few milliohm, scaled to drop bypass_drop_V at
// rated_A. The law is smooth, strictly falling, and finite for any v. A shorted diode is bypass_ohm alone.
// Silicon Schottky: about 0.5 V at the rated current, vt about n k T / q (common practice, no source).
//
// With dark cells among them `cells` are the lit ones alone; the dark ones follow breakdown.hpp, and so do all where
// the bypass diode is open: nothing else holds them.
struct SubString {
    SingleDiode cells{};
    Bypass bypass = Bypass::good;
    double bypass_drop_V = 0.5;  // V, > rated_A * bypass_ohm
    double rated_A = 8.0;        // A, > 0
    double bypass_vt = 0.03;     // V, > 0; towards 0 the diode becomes a clamp at bypass_drop_V
    double bypass_ohm = 0.005;   // ohm, > 0
    SingleDiode dark{};          // those with less light, in series with the others; counts with dark_cells
    int dark_cells = 0;          // 0: none
    Breakdown breakdown{};       // of one cell
    double lit_cells = 1.0;      // number in `cells`
};
CurrentAndSlope current_and_slope(const SubString& s, double v);

// Voltage of a sub-string that carries i (any sign): how series strings are summed. To 1e-12 of the larger of
// |v| and 1 V.
double voltage(const SubString& s, double i);

// The cell that turns most into heat while the sub-string stands at v: its own voltage and W (0 while it delivers).
struct HotCell {
    double volt = 0.0, watt = 0.0;
};
HotCell hottest(const SubString& s, double v);

// One of the module's equal sub-strings at its own irradiance and temperature, bypass diode good. A drop below
// 1 mV counts as 1 mV.
SubString substring(const ModuleData& module, double irradiance, double cell_degC);

}  // namespace sunshaft::solar
