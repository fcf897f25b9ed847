// Two-axis quantities. Amplitude-invariant Clarke transform (E. Clarke, Circuit Analysis of A-C Power Systems, 1943):
//   alpha = (2 u - v - w) / 3,   beta = (v - w) / sqrt 3,   zero = (u + v + w) / 3
// so that alpha is the quantity of phase u when the three sum to zero. Power = 3/2 (v_alpha i_alpha + v_beta i_beta).
#pragma once

#include <array>

namespace sunshaft::motor {

using Vec2 = std::array<double, 2>;
using Vec3 = std::array<double, 3>;

inline constexpr double sqrt3 = 1.7320508075688772935;

// Unit vector of each phase axis: phase quantity k = axis[k] . (alpha, beta) + zero.
inline constexpr std::array<Vec2, 3> axis = {{{1.0, 0.0}, {-0.5, sqrt3 / 2}, {-0.5, -sqrt3 / 2}}};

inline Vec2 clarke(const Vec3& p) { return {(2 * p[0] - p[1] - p[2]) / 3, (p[1] - p[2]) / sqrt3}; }
inline Vec3 phases(const Vec2& q) { return {q[0], -0.5 * q[0] + sqrt3 / 2 * q[1], -0.5 * q[0] - sqrt3 / 2 * q[1]}; }
inline double dot(const Vec2& a, const Vec2& b) { return a[0] * b[0] + a[1] * b[1]; }

// What a machine does at an instant: rate of its rotor flux (Wb/s), EMF behind its inductance (V), torque (N m).
struct Moment {
    Vec2 flux_rate, emf;
    double torque;
};

// Mean losses over a straight piece, W: in the cage, in the iron.
struct Losses {
    double cage = 0.0, iron = 0.0;
};

// Symmetric 2x2 matrix.
struct Sym2 {
    double aa, ab, bb;
    Vec2 operator*(const Vec2& x) const { return {aa * x[0] + ab * x[1], ab * x[0] + bb * x[1]}; }
};

}  // namespace sunshaft::motor
