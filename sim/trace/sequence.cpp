#include "trace/sequence.hpp"

#include <algorithm>
#include <cmath>
#include <numbers>
#include <stdexcept>

namespace sunshaft::trace {

namespace {
const Phasor turn{-0.5, 0.5 * std::numbers::sqrt3};  // one third of a turn forward
}

double Sequence::ratio() const {
    const double p = std::abs(positive);
    return p > 0.0 ? std::abs(negative) / p : 0.0;
}

Sequence sequence(Phasor a, Phasor b, Phasor c) {
    const Phasor back = std::conj(turn);
    return {(a + b + c) / 3.0, (a + turn * b + back * c) / 3.0, (a + back * b + turn * c) / 3.0};
}

std::array<Phasor, 3> phases(const Sequence& s) {
    const Phasor back = std::conj(turn);
    return {s.zero + s.positive + s.negative, s.zero + back * s.positive + turn * s.negative,
            s.zero + turn * s.positive + back * s.negative};
}

double unbalance(double a, double b, double c) {
    const double mean = (a + b + c) / 3.0;
    if (!(mean > 0.0)) return 0.0;
    return std::max({std::fabs(a - mean), std::fabs(b - mean), std::fabs(c - mean)}) / mean;
}

double unbalance_factor(double ab, double bc, double ca) {
    if (!(ab >= 0.0 && bc >= 0.0 && ca >= 0.0)) throw std::invalid_argument("unbalance: a magnitude is negative");
    const double s2 = ab * ab + bc * bc + ca * ca;
    if (s2 == 0.0) return 0.0;
    if (2.0 * std::max({ab, bc, ca}) > (ab + bc + ca) * (1.0 + 1e-12))
        throw std::invalid_argument("unbalance: three line voltages that cannot form a triangle");
    const double beta = (ab * ab * ab * ab + bc * bc * bc * bc + ca * ca * ca * ca) / (s2 * s2);
    const double q = std::sqrt(std::max(0.0, 3.0 - 6.0 * beta));
    return std::sqrt(std::max(0.0, (1.0 - q) / (1.0 + q)));
}

}  // namespace sunshaft::trace
