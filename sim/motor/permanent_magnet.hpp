// Permanent-magnet synchronous machine, star-connected, neutral isolated, in stator coordinates (alpha, beta).
//
//   L(theta) di/dt = v - R i - e,    e = p w (dL/dtheta i + dpsi_m/dtheta)
//   torque = 3/2 p (1/2 i' dL/dtheta i + i' dpsi_m/dtheta)
//   L(theta) = mean I + half-difference [[cos 2th, sin 2th], [sin 2th, -cos 2th]],  mean = (Ld+Lq)/2, diff = (Ld-Lq)/2
//
// theta: electrical rotor angle, the d-axis against phase u, so that a sinusoidal magnet flux in phase u is
// flux cos(theta) and its EMF -p w flux sin(theta). Trapezoidal: the EMF shape has a 120 degree flat top of height
// p w flux and a zero-sequence part (its 3rd, 9th ... harmonics), which shows at the star point and on a floating
// terminal but drives no current. Source: P. C. Krause et al., "Analysis of Electric Machinery", 2nd ed. 2002, ch. 5;
// trapezoid: any text on brushless DC motors. Stator resistance belongs to the phase's path. Left out: saturation,
// cogging, iron loss.
#pragma once

#include <cmath>
#include <numbers>

#include "motor/clarke.hpp"

namespace sunshaft::motor {

struct PermanentMagnet {
    int pole_pairs = 1;
    double flux = 0.05;            // Wb, peak of one phase
    double Ld = 2e-3, Lq = 2e-3;   // H
    bool trapezoidal = false;

    static constexpr bool position_dependent = true;

    // Shape of dpsi_m/dtheta / flux in one phase at angle x from its magnet axis: -sin x, or its trapezoid.
    static double trapezoid(double x) {
        // -sin has its positive top at x = 3 pi / 2; measure from the rising zero at x = pi.
        double y = x / std::numbers::pi - 1.0;       // in half turns from the rising zero
        y -= 2.0 * std::floor(y * 0.5 + 0.25);       // -> [-0.5, 1.5)
        const double t = y < 0.5 ? y : 1.0 - y;      // triangle, +-0.5
        const double flat = 6.0 * t;                 // slope: full height over 30 degrees
        return flat > 1.0 ? 1.0 : (flat < -1.0 ? -1.0 : flat);
    }
    Vec3 shape(double theta) const {
        constexpr double third = 2 * std::numbers::pi / 3;
        return {trapezoid(theta), trapezoid(theta - third), trapezoid(theta + third)};
    }
    Vec2 magnet_rate(double theta) const {  // dpsi_m/dtheta, alpha and beta
        if (!trapezoidal) return {-flux * std::sin(theta), flux * std::cos(theta)};
        const Vec2 q = clarke(shape(theta));
        return {flux * q[0], flux * q[1]};
    }
    Sym2 inductance(double theta) const {
        const double mean = 0.5 * (Ld + Lq), diff = 0.5 * (Ld - Lq);
        if (diff == 0.0) return {mean, 0.0, mean};
        const double c = std::cos(2 * theta), s = std::sin(2 * theta);
        return {mean + diff * c, diff * s, mean - diff * c};
    }
    Sym2 inductance_rate(double theta) const {
        const double diff = 0.5 * (Ld - Lq);
        if (diff == 0.0) return {0.0, 0.0, 0.0};
        const double c = std::cos(2 * theta), s = std::sin(2 * theta);
        return {-2 * diff * s, 2 * diff * c, 2 * diff * s};
    }
    Vec2 flux_rate(const Vec2&, const Vec2&, double, double) const { return {0.0, 0.0}; }
    Vec2 emf(const Vec2& i, const Vec2& /*psi*/, double w, double theta) const {
        const Vec2 m = magnet_rate(theta), r = inductance_rate(theta) * i;
        return {pole_pairs * w * (m[0] + r[0]), pole_pairs * w * (m[1] + r[1])};
    }
    double zero_emf(double w, double theta) const {
        if (!trapezoidal) return 0.0;
        const Vec3 s = shape(theta);
        return pole_pairs * w * flux * (s[0] + s[1] + s[2]) / 3;
    }
    double torque(const Vec2& i, const Vec2& /*psi*/, double theta) const {
        return 1.5 * pole_pairs * (0.5 * dot(i, inductance_rate(theta) * i) + dot(i, magnet_rate(theta)));
    }
    double emf_slope() const { return 0.0; }
    double rotor_loss(const Vec2&, const Vec2&, double) const { return 0.0; }
    double stored(const Vec2& i, const Vec2&, double theta) const { return 0.75 * dot(i, inductance(theta) * i); }
};

}  // namespace sunshaft::motor
