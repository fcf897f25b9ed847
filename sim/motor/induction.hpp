// Squirrel-cage induction machine, star-connected, neutral isolated, in stator coordinates (alpha, beta).
//
//   L_sigma di/dt = v - R i - e,      e = k_r dpsi/dt,   k_r = Lm / Lr
//   dpsi/dt = (Rr/Lr) (Lm (i - i_fe) - s(psi) psi) + p w J psi           J = [[0, -1], [1, 0]]
//   torque = 3/2 p k_r (psi_alpha (i - i_fe)_beta - psi_beta (i - i_fe)_alpha)
//
// i: stator current into the machine, psi: rotor flux linkage referred to the stator, w: shaft speed in rad/s, p: pole
// pairs. Source: P. C. Krause, O. Wasynczuk, S. D. Sudhoff, "Analysis of Electric Machinery and Drive Systems", 2nd ed.
// 2002, sec. 4.5-4.6, rewritten with the rotor flux as state. Stator resistance is not in here: it belongs to the
// phase's path (site/phase_network.hpp), which may differ from phase to phase.
//
// Saturation of the main flux: the magnetizing current is psi s / Lm, s = (1 + (f - 1) (psi / psi_N)^n) / f, f the
// saturation factor: how many times the straight line's current it takes at rated flux psi_N, where Lm holds (s = 1).
// Form after Z. Qu, M. Ranta, M. Hinkkanen, J. Luomi, "Loss-minimizing flux level control of induction motor drives",
// IEEE Trans. Ind. Appl. 48 (2012); f = 1.42 and n = 10 follow the no-load current of their measured 2.2 kW
// machine within 1.6 % from a quarter of rated voltage to 115 %. (There the curve is one of the stator flux, with
// exponent 7; here it sits behind the whole leakage, so that L_sigma stays constant: leakage shares are those at rated
// flux.)
//
// Iron loss: a resistance R_fe across that branch, i_fe = e / R_fe (the usual parallel one of the equivalent circuit,
// moved behind the leakage, where it asks for no state of its own). With e = k_r dpsi/dt it leaves the rate above
// divided by 1 + k_r^2 Rr / R_fe. The loss goes with the square of the EMF, as eddy currents' does; hysteresis, which
// goes with the frequency, is too small below rated frequency.
//
// Deep bars: the rotor's current crowds to the top of its bars, whose resistance rises with its frequency, Rr k_R(xi),
//   k_R = xi (sinh 2xi + sin 2xi) / (cosh 2xi - cos 2xi),   xi = h sqrt(pi f mu0 sigma)
// for rectangular bars of depth h in slots as wide as they are (three public copies of it agree), aluminium of
// 37 MS/m. f follows from the state: the field slips past the rotor at (Rr k_R / Lr) Lm (psi x i) / psi^2, one equation
// for f that is solved beforehand. Exact for a sine, at any slip; what currents of other frequencies lose more (the
// harmonics of six steps) and the smaller leakage of the bars are left out.
//
// Left out: saturation of the leakage paths (a start draws more than computed), slot harmonics, iron loss by the
// carrier's ripple beyond that. A broken cage shows as two unequal rotor resistances on axes fixed to the rotor.
#pragma once

#include <cmath>
#include <numbers>
#include <vector>

#include "motor/machine.hpp"
#include "roots/roots.hpp"

namespace sunshaft::motor {

// k_R of the formulas above.
inline double bar_resistance(double xi) {
    if (xi < 1e-2) return 1.0 + 4.0 / 45 * xi * xi * xi * xi;
    if (xi > 15.0) return xi;
    return xi * (std::sinh(2 * xi) + std::sin(2 * xi)) / (std::cosh(2 * xi) - std::cos(2 * xi));
}
// xi of a bar of that depth at a frequency.
inline double bar_depth_ratio(double depth, double Hz) {
    constexpr double aluminium = 37e6, vacuum = 4e-7 * std::numbers::pi;
    return depth * std::sqrt(std::numbers::pi * std::abs(Hz) * vacuum * aluminium);
}

struct Induction {
    static constexpr const char* kind = "induction";
    static constexpr bool self_commutated = false, has_cage = true, has_magnets = false;

    int pole_pairs = 1;
    double Lls = 3e-3, Llr = 3e-3, Lm = 0.1;  // H
    double Rr = 0.8;                          // ohm, referred, at its present temperature
    // Broken bars: rotor resistance on the axis through the break and across it (Rr (1 +- asymmetry)); 0 = healthy.
    double cage_asymmetry = 0.0;
    double saturation = 1.0;  // the factor f; 1: none
    double exponent = 10.0;   // n
    double rated_flux = 1.0;  // psi_N, Wb; counts with saturation
    double iron_S = 0.0;      // 1 / R_fe; 0: none
    double bar_m = 0.0;       // depth of the bars; 0: thin

    double Lr() const { return Lm + Llr; }
    double k_r() const { return Lm / Lr(); }
    double L_sigma() const { return Lls + Lm - Lm * Lm / Lr(); }
    // What a sine of rated voltage (line-line rms) and frequency brings at no load, the winding's ohms left out: sets
    // psi_N, and R_fe from the iron loss there.
    void rate(double volt, double Hz, double iron_W) {
        const double w = 2 * std::numbers::pi * Hz, linked = volt * std::sqrt(2.0 / 3.0) / w;
        rated_flux = linked * Lm / (Lls + Lm);
        const double emf = w * k_r() * rated_flux;
        iron_S = iron_W / (1.5 * emf * emf);
    }

    Scale scale(double volt, double Hz, double /*winding_ohm*/) const {
        const double w = 2 * std::numbers::pi * Hz;
        return {w / pole_pairs, 0.5 * volt / (w * (Lls + Lm)), volt / w};
    }
    double spin_V(double /*speed*/) const { return 0.0; }  // once the drive is off its flux is gone
    void warm(double ratio, double /*kelvin*/) { Rr *= ratio; }
    bool operator==(const Induction&) const = default;

    class Equations;
};

// The machine ready to run: constants worked out once, because the solver comes by a million times a second.
class Induction::Equations {
  public:
    explicit Equations(const Induction& m)
        : L_(m.L_sigma()),
          Lls_(m.Lls),
          Lm_(m.Lm),
          g_(m.Rr / m.Lr()),
          k_r_(m.k_r()),
          p_(m.pole_pairs),
          inv_Lr_(1.0 / m.Lr()),
          torque_(1.5 * m.pole_pairs * m.k_r()),
          cage_(1.5 * m.Rr),
          asymmetry_(m.cage_asymmetry),
          straight_(1.0 / m.saturation),
          half_(0.5 * m.exponent),
          bent_((1.0 - 1.0 / m.saturation) / std::pow(m.rated_flux, m.exponent)),
          iron_(m.k_r() * m.iron_S),
          damped_(1.0 / (1.0 + g_ * Lm_ * iron_)),
          loss_(1.5 * m.k_r() * m.k_r() * m.iron_S),
          saturates_(m.saturation != 1.0),
          deep_(m.bar_m > 0.0),
          plain_(m.cage_asymmetry == 0.0 && m.saturation == 1.0 && m.iron_S == 0.0 && !deep_) {
        if (!deep_) return;
        // By the rad/s that thin bars would slip at, w0: f is the root of 2 pi f = k_R(f) w0.
        constexpr std::size_t size = 400;
        bars_.resize(size);
        for (std::size_t n = 0; n < size; ++n) {
            const double thin = bar_step * static_cast<double>(n);
            const double w = roots::root(
                [&](double x) { return bar_resistance(bar_depth_ratio(m.bar_m, x / tau)) * thin - x; }, 0.0, 1e7);
            bars_[n] = bar_resistance(bar_depth_ratio(m.bar_m, w / tau));
        }
    }

    using Flux = Vec2;
    static constexpr bool has_rotor_flux = true;
    bool constant_inductance() const { return true; }
    Sym2 inductance(double /*theta*/) const { return {L_, 0.0, L_}; }

    // Rotor flux derivative, EMF behind the inductance (the "e" above) and torque. theta: electrical rotor angle, used
    // only with a broken cage.
    Moment at(const Vec2& i, const Vec2& psi, double w, double theta) const {
        if (!plain_) return full(i, psi, w, theta);
        const double pw = p_ * w;
        const Vec2 x = {Lm_ * i[0] - psi[0], Lm_ * i[1] - psi[1]};
        const Vec2 r = {g_ * x[0] - pw * psi[1], g_ * x[1] + pw * psi[0]};
        return {r, {k_r_ * r[0], k_r_ * r[1]}, torque_ * (psi[0] * i[1] - psi[1] * i[0])};
    }
    // Part of the EMF common to the three phases (none in this machine).
    double zero_emf(double /*w*/, double /*theta*/) const { return 0.0; }
    double leakage() const { return Lls_; }
    double torque(const Vec2& i, const Vec2& psi, double w, double theta) const {
        if (iron_ != 0.0) return full(i, psi, w, theta).torque;
        return torque_ * (psi[0] * i[1] - psi[1] * i[0]);
    }
    // d(emf)/d(i): the implicit stepper wants it.
    double emf_slope() const { return k_r_ * g_ * Lm_; }
    // Quadratic forms in (i, psi) while s(psi) is that halfway: exact on a straight piece but for what s changes.
    Losses losses(const Vec2& i, const Vec2& psi, const Vec2& di, const Vec2& dpsi, double w, double theta) const {
        if (!plain_) return full_losses(i, psi, di, dpsi, w, theta);
        const Vec2 ir = {(psi[0] - Lm_ * i[0]) * inv_Lr_, (psi[1] - Lm_ * i[1]) * inv_Lr_};
        const Vec2 dir = {(dpsi[0] - Lm_ * di[0]) * inv_Lr_, (dpsi[1] - Lm_ * di[1]) * inv_Lr_};
        return {cage_ * (dot(ir, ir) + (1.0 / 12) * dot(dir, dir)), 0.0};
    }
    // Magnetic energy, J.
    double stored(const Vec2& i, const Vec2& psi, double /*theta*/) const {
        double flux = dot(psi, psi);
        if (saturates_) flux *= straight_ + (bend(psi) - straight_) / (half_ + 1.0);  // 2 integral of s psi dpsi
        return 0.75 * (L_ * dot(i, i) + inv_Lr_ * flux);
    }
    Vec2 field(const Vec2& psi, double /*theta*/) const { return psi; }
    Vec2 linkage(const Vec2& i, const Vec2& psi, double /*theta*/) const {
        return {L_ * i[0] + k_r_ * psi[0], L_ * i[1] + k_r_ * psi[1]};
    }

  private:
    // s of the formulas at the top.
    double bend(const Vec2& psi) const {
        if (!saturates_) return 1.0;
        const double q = dot(psi, psi);
        return straight_ + bent_ * (half_ == 5.0 ? q * q * (q * q) * q : std::pow(q, half_));
    }
    static constexpr double tau = 2 * std::numbers::pi, bar_step = 4.0;  // rad/s
    // k_R at the slip this state has.
    double bars(const Vec2& i, const Vec2& psi) const {
        if (!deep_) return 1.0;
        const double square = dot(psi, psi), pull = std::abs(g_ * Lm_ * (psi[0] * i[1] - psi[1] * i[0]));
        const double last = static_cast<double>(bars_.size() - 1), x = pull / (square * bar_step);
        if (!(x < last)) return bars_.back();
        const auto k = static_cast<std::size_t>(x);
        return bars_[k] + (x - static_cast<double>(k)) * (bars_[k + 1] - bars_[k]);
    }
    Vec2 rate(const Vec2& i, const Vec2& psi, double s, double bar, double w, double theta) const {
        const double pw = p_ * w, g = g_ * bar;
        const Vec2 x = {Lm_ * i[0] - s * psi[0], Lm_ * i[1] - s * psi[1]};
        Vec2 r = {g * x[0] - pw * psi[1], g * x[1] + pw * psi[0]};
        const double damped = deep_ ? 1.0 / (1.0 + g * Lm_ * iron_) : damped_;
        if (asymmetry_ == 0.0) return {damped * r[0], damped * r[1]};
        const double c = std::cos(2 * theta), d = std::sin(2 * theta), a = g * asymmetry_;
        r[0] += a * (c * x[0] + d * x[1]);
        r[1] += a * (d * x[0] - c * x[1]);
        // (I + (Rr matrix) k_r / R_fe) rate = r
        const double k = Lm_ * iron_, aa = 1.0 + k * (g + a * c), bb = 1.0 + k * (g - a * c), ab = k * a * d;
        const double det = 1.0 / (aa * bb - ab * ab);
        return {det * (bb * r[0] - ab * r[1]), det * (aa * r[1] - ab * r[0])};
    }
    // The rare cases, kept out of the innermost loops' code.
    [[gnu::noinline]] Losses full_losses(const Vec2& i, const Vec2& psi, const Vec2& di, const Vec2& dpsi, double w,
                                         double theta) const {
        const double s = bend(psi), bar = bars(i, psi);
        const Losses middle = losses(i, psi, s, bar, w, theta), change = losses(di, dpsi, s, bar, w, theta);
        return {middle.cage + (1.0 / 12) * change.cage, middle.iron + (1.0 / 12) * change.iron};
    }
    [[gnu::noinline]] Moment full(const Vec2& i, const Vec2& psi, double w, double theta) const {
        const Vec2 r = rate(i, psi, bend(psi), bars(i, psi), w, theta);
        const Vec2 rest = {i[0] - iron_ * r[0], i[1] - iron_ * r[1]};
        return {r, {k_r_ * r[0], k_r_ * r[1]}, torque_ * (psi[0] * rest[1] - psi[1] * rest[0])};
    }
    Losses losses(const Vec2& i, const Vec2& psi, double s, double bar, double w, double theta) const {
        Vec2 rest = i;
        double iron = 0.0;
        if (iron_ != 0.0) {
            const Vec2 r = rate(i, psi, s, bar, w, theta);
            rest = {i[0] - iron_ * r[0], i[1] - iron_ * r[1]};
            iron = loss_ * dot(r, r);
        }
        const Vec2 ir = {(s * psi[0] - Lm_ * rest[0]) * inv_Lr_, (s * psi[1] - Lm_ * rest[1]) * inv_Lr_};
        double cage = cage_ * dot(ir, ir);
        if (asymmetry_ != 0.0) {
            const double c = std::cos(2 * theta), d = std::sin(2 * theta);
            cage += cage_ * asymmetry_ * (c * (ir[0] * ir[0] - ir[1] * ir[1]) + 2 * d * ir[0] * ir[1]);
        }
        return {bar * cage, iron};
    }

    double L_, Lls_, Lm_, g_, k_r_, p_, inv_Lr_, torque_, cage_, asymmetry_;
    double straight_, half_, bent_, iron_, damped_, loss_;
    bool saturates_, deep_, plain_;
    std::vector<double> bars_{};
};

static_assert(Machine<Induction>);

}  // namespace sunshaft::motor
