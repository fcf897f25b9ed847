// The single-diode five-parameter model of a cell, sub-string, module or array.
//
//   i = IL - I0 (exp((v + i Rs) / a) - 1) - (v + i Rs) / Rsh          a = n Ns k T / q
//
// Source: W. De Soto, S. A. Klein, W. A. Beckman, "Improvement and validation of a model for photovoltaic array
// performance", Solar Energy 80 (2006) 78-88, eq. 1. Current out of the positive terminal is positive; v and i may
// have either sign. No reverse breakdown.
#pragma once

namespace sunshaft::solar {

struct SingleDiode {
    double IL;   // A    light current, >= 0
    double I0;   // A    saturation current, > 0
    double Rs;   // ohm  series resistance, >= 0
    double Rsh;  // ohm  shunt resistance, > 0
    double a;    // V    modified ideality factor, > 0
};

// Terminal current at a terminal voltage, to 1e-12 relative; never fails for finite v.
double current(const SingleDiode& cell, double v);
// Current and its slope di/dv (< 0) in one go: what a Newton iteration needs.
struct CurrentAndSlope { double i, di_dv; };
CurrentAndSlope current_and_slope(const SingleDiode& cell, double v);
// Terminal voltage at a terminal current (any sign).
double voltage(const SingleDiode& cell, double i);

struct KeyPoints { double Isc, Voc, Vmp, Imp, Pmp; };
KeyPoints key_points(const SingleDiode& cell);

// n equal cells groups in series, m in parallel.
SingleDiode series(const SingleDiode& cell, double n);

}  // namespace sunshaft::solar
