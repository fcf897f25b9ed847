// The single-diode five-parameter model of a cell, sub-string, module or array.
//
//   i = IL - I0 (exp((v + i Rs) / a) - 1) - (v + i Rs) / Rsh          a = n Ns k T / q
//
// Source: W. De Soto, S. A. Klein, W. A. Beckman, "Improvement and validation of a model for photovoltaic array
// performance", Solar Energy 80 (2006) 78-88, eq. 1. Current out of the positive terminal is positive; v and i
// may have either sign. Left out: reverse breakdown, capacitance.
//
// How it is solved: both directions of the law have the form x + k exp(x) = z with the root z - omega(z + ln
// k), where omega is Wright's function, so no iteration needs a starting guess, damping or a limit on v.
#pragma once

namespace sunshaft::solar {

struct SingleDiode {
    double IL;   // A    light current, >= 0
    double I0;   // A    saturation current, > 0
    double Rs;   // ohm  series resistance, >= 0
    double Rsh;  // ohm  shunt resistance, > 0; may be infinite
    double a;    // V    modified ideality factor, > 0
    bool operator==(const SingleDiode&) const = default;
};

// Terminal current at a terminal voltage, to 1e-12 of the larger of |i| and IL; never fails for finite v.
// Only where Rs = 0 is the exponential continued by its tangent, above v = 300 a (1e120 A), to stay finite.
double current(const SingleDiode& cell, double v);

// Current and its slope di/dv (< 0) in one go: what a Newton iteration needs.
struct CurrentAndSlope {
    double i;      // A
    double di_dv;  // S
};
CurrentAndSlope current_and_slope(const SingleDiode& cell, double v);

// Terminal voltage at a terminal current (any sign), to 1e-12 of the larger of |v| and a.
// With an infinite shunt no voltage carries more than IL + I0: the answer is then minus infinity.
double voltage(const SingleDiode& cell, double i);

// Short circuit, open circuit and maximum power. All zero in the dark.
struct KeyPoints {
    double Isc, Voc, Vmp, Imp, Pmp;  // A, V, V, A, W
};
KeyPoints key_points(const SingleDiode& cell);

// n equal cells (or groups) in series, or m in parallel, as one; fractions make a part out of a whole.
SingleDiode series(const SingleDiode& cell, double n);
SingleDiode parallel(const SingleDiode& cell, double m);

}  // namespace sunshaft::solar
