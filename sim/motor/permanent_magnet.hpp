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
// trapezoid: any text on brushless DC motors. Stator resistance belongs to the phase's path. Warm magnets have less
// flux, and get it back when they cool: flux (1 + flux_per_K (T - 20)). Left out: saturation, cogging, iron loss, the
// temperature at which a magnet under the motor's current does not come back (the fault weak-magnets).
#pragma once

#include <algorithm>
#include <cmath>
#include <limits>
#include <numbers>

#include "motor/machine.hpp"

namespace sunshaft::motor {

struct PermanentMagnet {
    static constexpr const char* kind = "permanent-magnet";
    static constexpr bool self_commutated = true, has_cage = false, has_magnets = true;

    int pole_pairs = 1;
    double flux = 0.05;           // Wb, peak of one phase, at its present temperature
    double flux_20 = 0.05;        // Wb, at 20 degC
    double flux_per_K = 0.0;      // share of it, negative
    double Ld = 2e-3, Lq = 2e-3;  // H
    bool trapezoidal = false;

    // It runs at a fraction of what its impedance would let in.
    Scale scale(double volt, double /*Hz*/, double winding_ohm) const {
        const double nominal = volt / (2 * std::max(flux, 1e-6));  // electrical rad/s
        return {nominal / pole_pairs, 0.1 * volt / (2 * (nominal * Lq + winding_ohm)), flux};
    }
    double spin_V(double speed) const { return std::sqrt(3.0) * flux * pole_pairs * std::abs(speed); }
    void warm(double /*ratio*/, double kelvin) { flux = std::max(0.0, flux + flux_20 * flux_per_K * kelvin); }
    bool operator==(const PermanentMagnet&) const = default;

    class Equations;
};

class PermanentMagnet::Equations {
  public:
    explicit Equations(const PermanentMagnet& m)
        : flux_(m.flux),
          p_(m.pole_pairs),
          mean_(0.5 * (m.Ld + m.Lq)),
          diff_(0.5 * (m.Ld - m.Lq)),
          trapezoidal_(m.trapezoidal) {}

    using Flux = Vec2;
    static constexpr bool has_rotor_flux = false;
    bool constant_inductance() const { return diff_ == 0.0; }

    // Shape of dpsi_m/dtheta / flux in one phase: -sin, or its trapezoid. x: angle from the magnet's axis in half
    // turns, -1 .. 3.
    static double trapezoid(double x) {
        double y = x - 1.0;  // from the rising zero, half a turn on
        if (y >= 1.5) y -= 2.0;
        if (y < -0.5) y += 2.0;                  // -> [-0.5, 1.5)
        const double t = y < 0.5 ? y : 1.0 - y;  // triangle, +-0.5
        return std::clamp(6.0 * t, -1.0, 1.0);   // full height over 30 degrees
    }
    Vec3 shape(double theta) const {
        double x = theta * (1.0 / std::numbers::pi);
        if (x < 0.0 || x >= 2.0) x -= 2.0 * std::floor(0.5 * x);
        return {trapezoid(x), trapezoid(x - 2.0 / 3), trapezoid(x + 2.0 / 3)};
    }
    Vec2 magnet_rate(double theta) const {  // dpsi_m/dtheta, alpha and beta
        if (!trapezoidal_) return {-flux_ * std::sin(theta), flux_ * std::cos(theta)};
        const Vec2 q = clarke(shape(theta));
        return {flux_ * q[0], flux_ * q[1]};
    }
    Sym2 inductance(double theta) const {
        if (diff_ == 0.0) return {mean_, 0.0, mean_};
        const double c = std::cos(2 * theta), s = std::sin(2 * theta);
        return {mean_ + diff_ * c, diff_ * s, mean_ - diff_ * c};
    }
    Sym2 inductance_rate(double theta) const {
        if (diff_ == 0.0) return {0.0, 0.0, 0.0};
        const double c = std::cos(2 * theta), s = std::sin(2 * theta);
        return {-2 * diff_ * s, 2 * diff_ * c, 2 * diff_ * s};
    }
    [[gnu::always_inline]] inline Moment at(const Vec2& i, const Vec2& /*psi*/, double w, double theta) const {
        const Vec2 m = magnet_rate(theta), r = inductance_rate(theta) * i;
        const double pw = p_ * w;
        return {{0.0, 0.0}, {pw * (m[0] + r[0]), pw * (m[1] + r[1])}, 1.5 * p_ * (0.5 * dot(i, r) + dot(i, m))};
    }
    double zero_emf(double w, double theta) const {
        if (!trapezoidal_) return 0.0;
        const Vec3 s = shape(theta);
        return p_ * w * flux_ * (s[0] + s[1] + s[2]) / 3;
    }
    double leakage() const { return leakage_share * (mean_ - std::abs(diff_)); }
    double torque(const Vec2& i, const Vec2& psi, double, double theta) const { return at(i, psi, 0.0, theta).torque; }
    double emf_slope() const { return 0.0; }
    Losses losses(const Vec2&, const Vec2&, const Vec2&, const Vec2&, double, double) const { return {}; }
    double stored(const Vec2& i, const Vec2&, double theta) const { return 0.75 * dot(i, inductance(theta) * i); }
    Vec2 field(const Vec2&, double theta) const { return {flux_ * std::cos(theta), flux_ * std::sin(theta)}; }
    Vec2 linkage(const Vec2& i, const Vec2& psi, double theta) const {
        constexpr double none = std::numeric_limits<double>::quiet_NaN();
        if (trapezoidal_) return {none, none};
        const Vec2 own = inductance(theta) * i, magnet = field(psi, theta);
        return {own[0] + magnet[0], own[1] + magnet[1]};
    }

  private:
    double flux_, p_, mean_, diff_;
    bool trapezoidal_;
};

static_assert(Machine<PermanentMagnet>);

}  // namespace sunshaft::motor
