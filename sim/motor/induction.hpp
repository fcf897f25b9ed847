// Squirrel-cage induction machine, star-connected, neutral isolated, in stator coordinates (alpha, beta).
//
//   L_sigma di/dt = v - R i - e,      e = k_r dpsi/dt,   k_r = Lm / Lr
//   dpsi/dt = (Rr/Lr) (Lm i - psi) + p w J psi           J = [[0, -1], [1, 0]]
//   torque = 3/2 p k_r (psi_alpha i_beta - psi_beta i_alpha)
//
// i: stator current into the machine, psi: rotor flux linkage referred to the stator, w: shaft speed in rad/s, p: pole
// pairs. Source: P. C. Krause, O. Wasynczuk, S. D. Sudhoff, "Analysis of Electric Machinery and Drive Systems", 2nd ed.
// 2002, sec. 4.5-4.6, rewritten with the rotor flux as state. Stator resistance is not in here: it belongs to the
// phase's path (site/phase_network.hpp), which may differ from phase to phase.
// Left out: saturation, skin effect, iron loss, slot harmonics. A broken cage shows as two unequal rotor resistances
// on axes fixed to the rotor.
#pragma once

#include <cmath>
#include <numbers>

#include "motor/machine.hpp"

namespace sunshaft::motor {

struct Induction {
    static constexpr const char* kind = "induction";
    static constexpr bool self_commutated = false, has_cage = true, has_magnets = false;

    int pole_pairs = 1;
    double Lls = 3e-3, Llr = 3e-3, Lm = 0.1;  // H
    double Rr = 0.8;                          // ohm, referred, at its present temperature
    // Broken bars: rotor resistance on the axis through the break and across it (Rr (1 +- asymmetry)); 0 = healthy.
    double cage_asymmetry = 0.0;

    double Lr() const { return Lm + Llr; }
    double k_r() const { return Lm / Lr(); }
    double L_sigma() const { return Lls + Lm - Lm * Lm / Lr(); }

    Scale scale(double volt, double Hz, double /*winding_ohm*/) const {
        const double w = 2 * std::numbers::pi * Hz;
        return {w / pole_pairs, 0.5 * volt / (w * (Lls + Lm)), volt / w};
    }
    double spin_V(double /*speed*/) const { return 0.0; }  // once the drive is off its flux is gone
    void warm(double ratio) { Rr *= ratio; }

    class Equations;
};

// The machine ready to run: constants worked out once, because the solver comes by a million times a second.
class Induction::Equations {
  public:
    explicit Equations(const Induction& m)
        : L_(m.L_sigma()),
          Lm_(m.Lm),
          g_(m.Rr / m.Lr()),
          k_r_(m.k_r()),
          p_(m.pole_pairs),
          inv_Lr_(1.0 / m.Lr()),
          torque_(1.5 * m.pole_pairs * m.k_r()),
          cage_(1.5 * m.Rr),
          asymmetry_(m.cage_asymmetry) {}

    static constexpr bool has_rotor_flux = true;
    bool constant_inductance() const { return true; }
    Sym2 inductance(double /*theta*/) const { return {L_, 0.0, L_}; }

    // Rotor flux derivative, EMF behind the inductance (the "e" above) and torque. theta: electrical rotor angle, used
    // only with a broken cage.
    Moment at(const Vec2& i, const Vec2& psi, double w, double theta) const {
        const double pw = p_ * w;
        const Vec2 x = {Lm_ * i[0] - psi[0], Lm_ * i[1] - psi[1]};
        Vec2 r = {g_ * x[0] - pw * psi[1], g_ * x[1] + pw * psi[0]};
        if (asymmetry_ != 0.0) {
            const double c = std::cos(2 * theta), s = std::sin(2 * theta), a = g_ * asymmetry_;
            r[0] += a * (c * x[0] + s * x[1]);
            r[1] += a * (s * x[0] - c * x[1]);
        }
        return {r, {k_r_ * r[0], k_r_ * r[1]}, torque(i, psi, theta)};
    }
    // Part of the EMF common to the three phases (none in this machine).
    double zero_emf(double /*w*/, double /*theta*/) const { return 0.0; }
    double torque(const Vec2& i, const Vec2& psi, double /*theta*/) const {
        return torque_ * (psi[0] * i[1] - psi[1] * i[0]);
    }
    // d(emf)/d(i): the implicit stepper wants it.
    double emf_slope() const { return k_r_ * g_ * Lm_; }
    // Cage loss, W. A quadratic form in (i, psi).
    double rotor_loss(const Vec2& i, const Vec2& psi, double theta) const {
        const Vec2 ir = {(psi[0] - Lm_ * i[0]) * inv_Lr_, (psi[1] - Lm_ * i[1]) * inv_Lr_};
        double loss = cage_ * dot(ir, ir);
        if (asymmetry_ != 0.0) {
            const double c = std::cos(2 * theta), s = std::sin(2 * theta);
            loss += cage_ * asymmetry_ * (c * (ir[0] * ir[0] - ir[1] * ir[1]) + 2 * s * ir[0] * ir[1]);
        }
        return loss;
    }
    // Magnetic energy, J.
    double stored(const Vec2& i, const Vec2& psi, double /*theta*/) const {
        return 0.75 * (L_ * dot(i, i) + inv_Lr_ * dot(psi, psi));
    }
    Vec2 field(const Vec2& psi, double /*theta*/) const { return psi; }
    Vec2 linkage(const Vec2& i, const Vec2& psi, double /*theta*/) const {
        return {L_ * i[0] + k_r_ * psi[0], L_ * i[1] + k_r_ * psi[1]};
    }

  private:
    double L_, Lm_, g_, k_r_, p_, inv_Lr_, torque_, cage_, asymmetry_;
};

static_assert(Machine<Induction>);

}  // namespace sunshaft::motor
