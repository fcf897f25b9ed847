// Synchronous reluctance machine, star-connected, neutral isolated, in stator coordinates (alpha, beta): a rotor of
// iron alone, which the field pulls round because it lets more flux through along one axis than across it.
//
//   L(theta) di/dt = v - R i - e,    e = p w dL/dtheta i
//   torque = 3/4 p i' dL/dtheta i = 3/2 p (Ld - Lq) i_d i_q
//   L(theta) = mean I + half-difference [[cos 2th, sin 2th], [sin 2th, -cos 2th]],  mean = (Ld+Lq)/2, diff = (Ld-Lq)/2
//
// theta: electrical rotor angle, the d-axis (the easy way) against phase u. It runs at the field's own speed on a drive
// that ramps its frequency, and falls out of step beyond its pull-out torque. Source: P. C. Krause, O. Wasynczuk, S. D.
// Sudhoff, "Analysis of Electric Machinery and Drive Systems", 2nd ed. 2002, ch. 5, without field and dampers.
// Stator resistance belongs to the phase's path. Left out: saturation, iron loss, a starting cage.
#pragma once

#include <cmath>
#include <numbers>

#include "motor/machine.hpp"

namespace sunshaft::motor {

struct SynchronousReluctance {
    static constexpr const char* kind = "synchronous-reluctance";
    static constexpr bool self_commutated = false, has_cage = false, has_magnets = false;

    int pole_pairs = 2;
    double Ld = 0.15, Lq = 0.03;  // H, Ld above Lq

    Scale scale(double volt, double Hz, double /*winding_ohm*/) const {
        const double w = 2 * std::numbers::pi * Hz;
        return {w / pole_pairs, 0.5 * volt / (w * Ld), volt / w};
    }
    double spin_V(double /*speed*/) const { return 0.0; }
    void warm(double /*ratio*/, double /*kelvin*/) {}
    bool operator==(const SynchronousReluctance&) const = default;

    class Equations;
};

class SynchronousReluctance::Equations {
  public:
    explicit Equations(const SynchronousReluctance& m)
        : p_(m.pole_pairs), mean_(0.5 * (m.Ld + m.Lq)), diff_(0.5 * (m.Ld - m.Lq)) {}

    using Flux = Vec2;
    static constexpr bool has_rotor_flux = false;
    bool constant_inductance() const { return false; }
    Sym2 inductance(double theta) const {
        const double c = diff_ * std::cos(2 * theta), s = diff_ * std::sin(2 * theta);
        return {mean_ + c, s, mean_ - c};
    }
    Moment at(const Vec2& i, const Vec2& /*psi*/, double w, double theta) const {
        const double c = diff_ * std::cos(2 * theta), s = diff_ * std::sin(2 * theta);
        const Vec2 r = Sym2{-2 * s, 2 * c, 2 * s} * i;  // dL/dtheta i
        return {{0.0, 0.0}, {p_ * w * r[0], p_ * w * r[1]}, 0.75 * p_ * dot(i, r)};
    }
    double zero_emf(double /*w*/, double /*theta*/) const { return 0.0; }
    double leakage() const { return leakage_share * (mean_ - diff_); }
    double torque(const Vec2& i, const Vec2& psi, double, double theta) const { return at(i, psi, 0.0, theta).torque; }
    double emf_slope() const { return 0.0; }
    Losses losses(const Vec2&, const Vec2&, const Vec2&, const Vec2&, double, double) const { return {}; }
    double stored(const Vec2& i, const Vec2&, double theta) const { return 0.75 * dot(i, inductance(theta) * i); }
    Vec2 field(const Vec2&, double theta) const { return {std::cos(theta), std::sin(theta)}; }  // its easy way
    Vec2 linkage(const Vec2& i, const Vec2&, double theta) const { return inductance(theta) * i; }

  private:
    double p_, mean_, diff_;
};

static_assert(Machine<SynchronousReluctance>);

}  // namespace sunshaft::motor
