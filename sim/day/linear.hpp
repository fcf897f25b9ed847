// Small linear algebra of the motor side: how a linear system runs on for a while, and weights between nodes.
#pragma once

#include <algorithm>
#include <array>
#include <cmath>

namespace sunshaft::day {

// E = exp(A h) and F, the integral of exp(A s) from 0 to h, by doubling.
template <class Matrix>
void exponential(const Matrix& A, double h, Matrix& E, Matrix& F) {
    const double norm = A.cwiseAbs().rowwise().sum().maxCoeff() * h;
    int doublings = 0;
    while (std::ldexp(norm, -doublings) > 0.25 && doublings < 40) ++doublings;
    const double step = std::ldexp(h, -doublings);
    const Matrix Ah = A * step;
    Matrix term = Matrix::Identity(), f = Matrix::Identity();
    E = Matrix::Identity();
    for (int n = 1; n <= 8; ++n) {
        term = (term * Ah / n).eval();
        E += term;
        f += term / (n + 1);
    }
    F = f * step;
    for (; doublings > 0; --doublings) {
        F = (F + E * F).eval();
        E = (E * E).eval();
    }
}

// Lagrange's weights through four nodes, of which x lies between the second and the third.
inline std::array<double, 4> four(double x) {
    return {-x * (x - 1) * (x - 2) / 6, (x + 1) * (x - 1) * (x - 2) / 2, -(x + 1) * x * (x - 2) / 2,
            (x + 1) * x * (x - 1) / 6};
}
// Through three, at `below`, 0 and `above`; beyond them as at the last.
inline std::array<double, 3> three(double x, double below, double above) {
    x = std::clamp(x, below, above);
    return {x * (x - above) / (below * (below - above)), (x - below) * (x - above) / (below * above),
            x * (x - below) / (above * (above - below))};
}

}  // namespace sunshaft::day
