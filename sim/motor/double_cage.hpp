// Induction machine with two cages in one rotor, star-connected, neutral isolated, in stator coordinates: an outer cage
// of high resistance near the air gap, an inner one of low resistance deep in the iron. The outer one starts it, the
// inner one runs it; what harmonics lose, they lose in the outer one.
//
//   psi_j = psi_g + L_j i_j,   psi_g = Lm i + (Lm + Lc)(i_1 + i_2)          j = 1 inner, 2 outer
//   dpsi_j/dt = -R_j i_j + p w J psi_j                                      J = [[0, -1], [1, 0]]
//   L_sigma di/dt = v - R i - e,   e = k_1 dpsi_1/dt + k_2 dpsi_2/dt,   k_j = Lm / (D L_j)
//   D = 1 + (Lm + Lc)(1/L_1 + 1/L_2),   L_sigma = Lls + Lm - Lm^2 / (Lm + Lc) (1 - 1/D)
//   torque = 3/2 p (k_1 psi_1 + k_2 psi_2) x i
//
// Lc: leakage both cages share. This is the equivalent circuit of two rotor branches in parallel behind Lc (C. P.
// Steinmetz, "Theory and Calculation of Electrical Apparatus", 1917, ch. on double squirrel-cage motors; M. G. Say,
// "Alternating Current Machines") with its currents as states: exact for a sine at any slip and for what harmonics do.
// With the outer cage's resistance without bound it is the machine of motor/induction.hpp.
//
// Left out: saturation, iron loss and broken bars, which that header has; leakage paths that saturate at a start;
// unequal warmth of the cages, of which the outer one takes most at a start.
#pragma once

#include <array>
#include <numbers>

#include "motor/machine.hpp"

namespace sunshaft::motor {

struct DoubleCage {
    static constexpr const char* kind = "double-cage";
    static constexpr bool self_commutated = false, has_cage = true, has_magnets = false;

    int pole_pairs = 1;
    double Lls = 3e-3, Lm = 0.1, Lc = 0.0;  // H
    double Llr = 3e-3, Rr = 0.8;            // inner cage, seen from the stator, ohm at its present temperature
    double L_outer = 1e-3, R_outer = 4.0;   // outer cage
    static constexpr double cage_asymmetry = 0.0, saturation = 1.0;  // as of a whole cage, a straight curve

    Scale scale(double volt, double Hz, double /*winding_ohm*/) const {
        const double w = 2 * std::numbers::pi * Hz;
        return {w / pole_pairs, 0.5 * volt / (w * (Lls + Lm)), volt / w};
    }
    double spin_V(double /*speed*/) const { return 0.0; }
    void warm(double ratio, double /*kelvin*/) { Rr *= ratio, R_outer *= ratio; }
    bool operator==(const DoubleCage&) const = default;

    class Equations;
};

class DoubleCage::Equations {
  public:
    using Flux = std::array<double, 4>;  // alpha and beta of the inner cage, of the outer one
    struct Moment {
        Flux flux_rate;
        Vec2 emf;
        double torque;
    };

    explicit Equations(const DoubleCage& m)
        : Lls_(m.Lls),
          Lm_(m.Lm),
          La_(m.Lm + m.Lc),
          R_{m.Rr, m.R_outer},
          inv_L_{1 / m.Llr, 1 / m.L_outer},
          p_(m.pole_pairs) {
        inv_D_ = 1 / (1 + La_ * (inv_L_[0] + inv_L_[1]));
        L_ = Lls_ + Lm_ - Lm_ * Lm_ / La_ * (1 - inv_D_);
        for (std::size_t j = 0; j < 2; ++j) k_[j] = Lm_ * inv_D_ * inv_L_[j];
    }

    static constexpr bool has_rotor_flux = true;
    bool constant_inductance() const { return true; }
    Sym2 inductance(double /*theta*/) const { return {L_, 0.0, L_}; }
    double zero_emf(double /*w*/, double /*theta*/) const { return 0.0; }
    double leakage() const { return Lls_; }

    Moment at(const Vec2& i, const Flux& psi, double w, double /*theta*/) const {
        const Flux cage = currents(i, psi);
        const double pw = p_ * w;
        Moment m;
        for (std::size_t j = 0; j < 2; ++j) {
            m.flux_rate[2 * j] = -R_[j] * cage[2 * j] - pw * psi[2 * j + 1];
            m.flux_rate[2 * j + 1] = -R_[j] * cage[2 * j + 1] + pw * psi[2 * j];
        }
        m.emf = seen(m.flux_rate);
        m.torque = torque(i, psi, w, 0.0);
        return m;
    }
    double torque(const Vec2& i, const Flux& psi, double /*w*/, double /*theta*/) const {
        const Vec2 f = seen(psi);
        return 1.5 * p_ * (f[0] * i[1] - f[1] * i[0]);
    }
    double emf_slope() const { return k_[0] * k_[0] * R_[0] + k_[1] * k_[1] * R_[1]; }
    // Quadratic in what is linear on a straight piece: exact.
    Losses losses(const Vec2& i, const Flux& psi, const Vec2& di, const Flux& dpsi, double /*w*/,
                  double /*theta*/) const {
        const Flux middle = currents(i, psi), change = currents(di, dpsi);
        double sum = 0.0;
        for (std::size_t n = 0; n < 4; ++n)
            sum += 1.5 * R_[n / 2] * (middle[n] * middle[n] + (1.0 / 12) * change[n] * change[n]);
        return {sum, 0.0};
    }
    double stored(const Vec2& i, const Flux& psi, double theta) const {
        const Flux cage = currents(i, psi);
        const Vec2 own = linkage(i, psi, theta);
        double sum = dot(own, i);
        for (std::size_t n = 0; n < 4; ++n) sum += psi[n] * cage[n];
        return 0.75 * sum;
    }
    Vec2 field(const Flux& psi, double /*theta*/) const {
        const Vec2 f = seen(psi);
        const double all = 1 / (k_[0] + k_[1]);
        return {all * f[0], all * f[1]};
    }
    Vec2 linkage(const Vec2& i, const Flux& psi, double /*theta*/) const {
        const Vec2 f = seen(psi);
        return {L_ * i[0] + f[0], L_ * i[1] + f[1]};
    }

  private:
    Vec2 seen(const Flux& psi) const { return {k_[0] * psi[0] + k_[1] * psi[2], k_[0] * psi[1] + k_[1] * psi[3]}; }
    Flux currents(const Vec2& i, const Flux& psi) const {
        Flux out;
        for (std::size_t n = 0; n < 2; ++n) {
            const double gap = inv_D_ * (Lm_ * i[n] + La_ * (inv_L_[0] * psi[n] + inv_L_[1] * psi[n + 2]));
            out[n] = inv_L_[0] * (psi[n] - gap), out[n + 2] = inv_L_[1] * (psi[n + 2] - gap);
        }
        return out;
    }

    double Lls_, Lm_, La_;
    Vec2 R_, inv_L_, k_{};
    double p_, L_ = 0.0, inv_D_ = 0.0;
};

static_assert(Machine<DoubleCage>);

}  // namespace sunshaft::motor
