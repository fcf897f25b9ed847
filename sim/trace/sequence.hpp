// Symmetrical components and unbalance of three-phase quantities.
#pragma once

#include <array>

#include "trace/harmonics.hpp"

namespace sunshaft::trace {

// C. L. Fortescue, "Method of symmetrical co-ordinates applied to the solution of polyphase networks",
// Trans. AIEE 37 (1918): with a = exp(i 120 deg)
//   zero = (A + B + C)/3,  positive = (A + a B + a^2 C)/3,  negative = (A + a^2 B + a C)/3.
struct Sequence {
    Phasor zero, positive, negative;
    // |negative| / |positive|; 0 when there is no positive sequence.
    double ratio() const;
};
Sequence sequence(Phasor a, Phasor b, Phasor c);
std::array<Phasor, 3> phases(const Sequence& s);

// NEMA MG 1: largest deviation from the mean of the three magnitudes, over that mean, as a fraction. Mean 0: 0.
double unbalance(double a, double b, double c);
// Negative over positive sequence from the three line-line magnitudes alone, as a fraction (IEC 61000-4-30):
//   beta = sum V^4 / (sum V^2)^2,  q = sqrt(3 - 6 beta),  sqrt((1 - q) / (1 + q)).
// The three must be able to form a triangle, else std::invalid_argument. All zero: 0.
double unbalance_factor(double ab, double bc, double ca);

}  // namespace sunshaft::trace
