// A cell driven backwards: reverse breakdown, and the spot it heats.
//
//   i = IL - I0 (exp(w / a) - 1) - w / Rsh - (b w / Rsh) (1 - w / Vbr)^-n          w = v + i Rs,  Vbr < 0
//
// Source: J. W. Bishop, "Computer simulation of the effects of electrical mismatches in photovoltaic cell
// interconnection circuits", Solar Cells 25 (1988) 73-89 (equation and example values b = 2e-3, n = 3,
// Vbr = -15 V as in the pvlib-python library). The single-diode law with an avalanche term on the shunt's current, for
// silicon cells of which one is darker than those in series with it. A cell's shunt is its even share of the module's.
// Left out: that breakdown begins in spots of their own in each cell, and moves with their temperature.
//
// Only what can be driven backwards that far pays for it: single shaded cells, and whole sub-strings whose bypass diode
// is open (SubString in module.hpp). A sound bypass diode holds all others within a few hundredths of a volt of zero.
#pragma once

#include <limits>

#include "solar/single_diode.hpp"

namespace sunshaft::solar {

struct Breakdown {
    static constexpr double never = std::numeric_limits<double>::infinity();

    double volt = 15.0;     // V, > 0: -Vbr of one cell; or never
    double share = 2e-3;    // b
    double exponent = 3.0;  // n
};

// Cells (one, or several equal ones in series as one: `breakdown.volt` is then theirs together), as single_diode.hpp.
// Strictly falling; to 1e-10 of the larger of |i| and IL, |v| and a. At an infinite shunt there is no breakdown.
CurrentAndSlope current_and_slope(const SingleDiode& cells, const Breakdown& breakdown, double v);
double voltage(const SingleDiode& cells, const Breakdown& breakdown, double i);

// Both of them in series at v together.
CurrentAndSlope current_in_series(const SingleDiode& dark, const Breakdown& of_dark, const SingleDiode& lit,
                                  const Breakdown& of_lit, double v);

// The mean temperature over its own area, degC, of a cell that turns `watt` into heat beside the sun it takes in: given
// off from both faces as of any module (faiman_temperature() in module.hpp, no wind). A spot within the cell gets
// hotter. Area: a 156 mm square (common practice, no source).
double hot_cell_degC(double watt, double module_degC);

}  // namespace sunshaft::solar
