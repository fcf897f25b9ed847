// A module: single-diode parameters at standard test conditions, how they move with light and temperature, and its
// sub-strings with their bypass diodes.
#pragma once

#include <array>
#include <string>
#include <string_view>
#include <vector>

#include "solar/single_diode.hpp"

namespace sunshaft::solar {

struct ModuleData {
    std::string name;
    int cells = 60;
    int substrings = 3;
    SingleDiode stc{};      // 1000 W/m2, 25 degC
    double alpha_sc = 0.0;  // A/K
    double beta_oc = 0.0;   // V/K (information; the model's own follows from De Soto)
    double noct_degC = 47;
    double Isc = 0, Voc = 0, Imp = 0, Vmp = 0;  // data sheet at STC
    double bypass_drop_V = 0.5;                 // at about the rated current
};

// Fits the five parameters to data-sheet values (I_sc, V_oc, I_mp, V_mp, alpha, beta): De Soto's five conditions.
// Throws std::invalid_argument in words when the values cannot belong to a module.
ModuleData from_datasheet(double Isc, double Voc, double Imp, double Vmp, double alpha_sc, double beta_oc, int cells);

// Rows of a public module table in CSV (assets/modules.csv, same columns as the California Energy Commission table).
std::vector<ModuleData> load_table(const std::string& csv_file);

// De Soto translation (equations in references of single_diode.hpp): irradiance G in W/m2, cell temperature in degC.
// G = 0 gives the dark diode.
SingleDiode translate(const ModuleData& module, double irradiance, double cell_degC);

// Module temperature from air, sun and nominal operating cell temperature (IEC 61215: 800 W/m2, 20 degC air, 1 m/s).
double noct_temperature(double air_degC, double irradiance, double noct_degC);

enum class Bypass { good, open, shorted };

// One sub-string (cells/substrings of the module) with its bypass diode across it, current out of + positive.
// The bypass diode is I = Is (exp(-v/vt) - 1) in series with a few milliohm, scaled to drop bypass_drop_V at I_sc.
// The law is smooth, strictly falling, and finite for any v.
struct SubString {
    SingleDiode cells{};
    Bypass bypass = Bypass::good;
    double bypass_drop_V = 0.5;
    double rated_A = 8.0;
};
CurrentAndSlope current_and_slope(const SubString& s, double v);

}  // namespace sunshaft::solar
