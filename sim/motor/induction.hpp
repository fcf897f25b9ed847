// Squirrel-cage induction machine, star-connected, neutral isolated, in stator coordinates (alpha, beta).
//
//   L_sigma di/dt = v - R i - e,      e = k_r dpsi/dt,   k_r = Lm / Lr
//   dpsi/dt = (Rr/Lr) (Lm i - psi) + p w J psi           J = [[0, -1], [1, 0]]
//   torque = 3/2 p k_r (psi_alpha i_beta - psi_beta i_alpha)
//
// i: stator current into the machine, psi: rotor flux linkage referred to the stator, w: shaft speed in rad/s, p: pole
// pairs. Source: P. C. Krause, O. Wasynczuk, S. D. Sudhoff, "Analysis of Electric Machinery and Drive Systems", 2nd ed.
// 2002, sec. 4.5-4.6, rewritten with the rotor flux as state. Stator resistance is not in here: it belongs to the
// phase's path (site/phase_paths.hpp), which may differ from phase to phase.
// Left out: saturation, skin effect, iron loss, slot harmonics. A broken cage shows as two unequal rotor resistances
// on axes fixed to the rotor.
#pragma once

#include <cmath>

#include "motor/clarke.hpp"

namespace sunshaft::motor {

struct Induction {
    int pole_pairs = 1;
    double Lls = 3e-3, Llr = 3e-3, Lm = 0.1;  // H
    double Rr = 0.8;                          // ohm, referred, at its present temperature
    // Broken bars: rotor resistance on the axis through the break and across it (Rr (1 +- asymmetry)); 0 = healthy.
    double cage_asymmetry = 0.0;

    double Lr() const { return Lm + Llr; }
    double k_r() const { return Lm / Lr(); }
    double L_sigma() const { return Lls + Lm - Lm * Lm / Lr(); }

    static constexpr bool position_dependent = false;
    Sym2 inductance(double /*theta*/) const { return {L_sigma(), 0.0, L_sigma()}; }

    // Rotor flux derivative. theta: electrical rotor angle, used only with a broken cage.
    Vec2 flux_rate(const Vec2& i, const Vec2& psi, double w, double theta) const {
        const double pw = pole_pairs * w;
        const Vec2 x = {Lm * i[0] - psi[0], Lm * i[1] - psi[1]};
        const double g = Rr / Lr();
        Vec2 r = {g * x[0] - pw * psi[1], g * x[1] + pw * psi[0]};
        if (cage_asymmetry != 0.0) {
            const double c = std::cos(2 * theta), s = std::sin(2 * theta), a = g * cage_asymmetry;
            r[0] += a * (c * x[0] + s * x[1]);
            r[1] += a * (s * x[0] - c * x[1]);
        }
        return r;
    }
    // Voltage behind L_sigma (the "e" above).
    Vec2 emf(const Vec2& i, const Vec2& psi, double w, double theta) const {
        const Vec2 r = flux_rate(i, psi, w, theta);
        return {k_r() * r[0], k_r() * r[1]};
    }
    // Part of the EMF common to the three phases (none in this machine).
    double zero_emf(double /*w*/, double /*theta*/) const { return 0.0; }
    double torque(const Vec2& i, const Vec2& psi, double /*theta*/) const {
        return 1.5 * pole_pairs * k_r() * (psi[0] * i[1] - psi[1] * i[0]);
    }
    // d(emf)/d(i): the implicit stepper wants it.
    double emf_slope() const { return k_r() * Rr * Lm / Lr(); }
    // Cage loss, W.
    double rotor_loss(const Vec2& i, const Vec2& psi, double theta) const {
        const Vec2 ir = {(psi[0] - Lm * i[0]) / Lr(), (psi[1] - Lm * i[1]) / Lr()};
        double loss = 1.5 * Rr * dot(ir, ir);
        if (cage_asymmetry != 0.0) {
            const double c = std::cos(2 * theta), s = std::sin(2 * theta);
            loss += 1.5 * Rr * cage_asymmetry * (c * (ir[0] * ir[0] - ir[1] * ir[1]) + 2 * s * ir[0] * ir[1]);
        }
        return loss;
    }
    // Magnetic energy, J.
    double stored(const Vec2& i, const Vec2& psi, double /*theta*/) const {
        return 0.75 * (L_sigma() * dot(i, i) + dot(psi, psi) / Lr());
    }
};

}  // namespace sunshaft::motor
