// Wright's omega function on the real line: the root w > 0 of w + ln w = s. It is Lambert's W(exp(s)) without
// the overflow of exp(s). Source: P. W. Lawrence, R. M. Corless, D. J. Jeffrey, "Algorithm 917: complex
// double-precision evaluation of the Wright omega function", ACM Trans. Math. Software 38 (2012) art. 20: the
// starting values by region and the fourth-order correction after Fritsch, Shafer and Crowley.
#pragma once

#include <cmath>

namespace sunshaft::solar {

// To a few units in the last place of max(|s|, 1), relative. Any finite s; underflows to 0 below about -745.
inline double wright_omega(double s) {
    double w;
    if (s < -2) {
        // Lambert's series of W(exp(s)); below -8 its next term is under the last place.
        const double x = std::exp(s);
        w = x * (1 + x * (-1 + x * (3.0 / 2 + x * (-8.0 / 3 + x * (125.0 / 24)))));
        if (s < -8) return w;
    } else if (s < 4) {
        const double t = s - 1;
        w = 1 + t * (1.0 / 2 + t * (1.0 / 16 + t * (-1.0 / 192 + t * (-1.0 / 3072 + t * (13.0 / 61440)))));
    } else {
        const double l = std::log(s);
        w = s - l + l / s;
    }
    for (;;) {
        const double r = s - w - std::log(w);
        const double w1 = w + 1, q = 2 * w1 * (w1 + 2.0 / 3 * r);
        w *= 1 + r / w1 * (q - r) / (q - 2 * r);
        // The step's own error estimate (their eq. 15), against the last place.
        const double r2 = r * r, w3 = w1 * w1 * w1;
        if (!(std::abs(2 * w * w - 8 * w - 1) * r2 * r2 > 72 * 1e-16 * w3 * w3)) return w;
    }
}

}  // namespace sunshaft::solar
