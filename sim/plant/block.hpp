// The electrical side as an affine system. In one leg mode, at one speed and on a tangent of the source's curve
//
//   y' = A y + b,    y = (i_alpha, i_beta, link capacitor, psi_alpha, psi_beta)
//
// holds exactly for an induction machine that is linear (no saturation, iron loss, deep bars, broken cage), and for
// magnets whose inductance is the same all round. There psi is what the magnets' flux changes by with the angle, Wb: it
// turns with the rotor, or goes straight over each sixth of a turn where the EMF is a trapezoid.
// Affine::carry() goes along it by its Taylor series: each term is one product, cheaper and nearer than a step of a
// general method. What speed and source do beside is second order in the step.
//
// Sums holds what the account asks of the pieces of a window, until it is booked: all that is electrical is a quadratic
// form of their means and changes.
#pragma once

#include <algorithm>
#include <array>
#include <cmath>
#include <limits>
#include <numbers>

#include "plant/chain.hpp"

namespace sunshaft::plant {

// Two components side by side, as the processor works on them.
typedef double Two [[gnu::vector_size(16)]];
inline double cross(const Two& a, const Two& b) { return a[0] * b[1] - a[1] * b[0]; }
inline Two swapped(const Two& x) { return Two{x[1], x[0]}; }

struct Five {
    Two i{}, psi{};
    double v = 0;
};

// Net current of the source into capacitor and bridge, i + slope w, at the voltage w behind the ESR; v: link voltage.
struct Tangent {
    double i = 0, slope = 0;
};

// A and b, what is not zero of them.
struct Affine {
    Two of_a{}, of_b{}, of_v{}, of_p{}, of_q{};  // columns of di/dt
    double va = 0, vb = 0, vv = 0;
    double g = 0, gLm = 0, pw = 0;  // dpsi/dt = gLm i - g psi + pw J psi + psi_0
    Two i{}, psi_0{};
    double v = 0;

    [[gnu::always_inline]] inline Five times(const Five& y) const {
        return {((of_a * y.i[0] + of_b * y.i[1]) + of_v * y.v) + (of_p * y.psi[0] + of_q * y.psi[1]),
                (gLm * y.i - g * y.psi) + Two{-pw, pw} * swapped(y.psi), (va * y.i[0] + vb * y.i[1]) + vv * y.v};
    }
    Five rate(const Five& y) const {
        const Five d = times(y);
        return {d.i + i, d.psi + psi_0, d.v + v};
    }
    // From y over h, to `order` terms; bend: how far the middle lies off the chord.
    template <int order>
    [[gnu::always_inline]] inline Five carry(const Five& y, double h, Five& bend) const {
        Five term = times(y);
        term = {h * (term.i + i), h * (term.psi + psi_0), h * (term.v + v)};
        Five out = {y.i + term.i, y.psi + term.psi, y.v + term.v};
        bend = {};
        double half = 0.25;
#pragma GCC unroll 10
        for (int k = 2; k <= order; ++k) {
            const double f = h * (1.0 / k), c = half - 0.5;
            const Five d = times(term);
            term = {f * d.i, f * d.psi, f * d.v};
            out = {out.i + term.i, out.psi + term.psi, out.v + term.v};
            bend = {bend.i + c * term.i, bend.psi + c * term.psi, bend.v + c * term.v};
            half *= 0.5;
        }
        return out;
    }
};

// Whether at a given speed currents and flux follow a linear law.
inline bool linear(const motor::Induction& m) {
    return m.cage_asymmetry == 0.0 && m.saturation == 1.0 && m.iron_S == 0.0 && !(m.bar_m > 0.0);
}

template <class Machine>
class Block {
  public:
    // Whether there is one for this kind of machine at all.
    static constexpr bool magnets = std::is_same_v<Machine, motor::PermanentMagnet>,
                          possible = magnets || std::is_same_v<Machine, motor::Induction>;

    explicit Block(const Compiled<Machine>& c) {
        if constexpr (magnets) {
            torque_ = 1.5 * c.machine.pole_pairs;
            equations_ = &c.equations;
            trapezoidal_ = c.machine.trapezoidal;
            valid_ = c.constant_L;
            for (std::size_t n = 0; n < slope_.size(); ++n) {
                const double middle = corner + sixth * (static_cast<double>(n) + 0.5), aside = 0.25 * sixth;
                const Vec2 a = equations_->magnet_rate(middle - aside), b = equations_->magnet_rate(middle + aside);
                slope_[n] = Two{b[0] - a[0], b[1] - a[1]} / (2 * aside);
            }
        } else if constexpr (possible) {
            const motor::Induction& m = c.machine;
            g_ = m.Rr / m.Lr(), gLm_ = g_ * m.Lm, k_r_ = m.k_r(), torque_ = 1.5 * m.pole_pairs * m.k_r();
            Lm_ = m.Lm, cage = 1.5 * m.Rr / (m.Lr() * m.Lr());
            valid_ = linear(m);
        }
        esr_ = c.stiff ? 0.0 : c.esr, inv_c_ = c.inv_c;
        first_ = c.rows.data();
        using drive::Leg;
        const ModeRow& one = c.rows[static_cast<std::size_t>(drive::index({Leg::upper, Leg::lower, Leg::lower}))];
        common_bridge = one.bridge_loss, common_cable = one.cable_loss;
        for (std::size_t n = 0; n < own_.size(); ++n) {
            const ModeRow& r = c.rows[n];
            own_[n] = std::abs(r.aaa) + std::abs(r.abb) + k_r_ * gLm_ * std::max(r.P.aa, r.P.bb) + g_ + inv_c_ * r.cv +
                      std::sqrt(inv_c_ * (std::abs(r.ci[0] * r.al[0]) + std::abs(r.ci[1] * r.al[1])));
            common_[n] = !r.beside && alike(r.bridge_loss, common_bridge) && alike(r.cable_loss, common_cable);
        }
    }
    bool holds() const { return valid_; }

    // Of the bridge, but for what a leak or a short between its legs takes by the link voltage itself (cv v).
    double draw(const ModeRow& r, const Five& y) const { return r.ci[0] * y.i[0] + r.ci[1] * y.i[1] + r.c0; }
    // Voltage behind the ESR, where the source's curve is looked up: w = v_c - ESR (draw + cv v),
    // v = (1 + ESR slope) w + ESR i.
    double behind(const ModeRow& r, const Tangent& s, const Five& y) const {
        const double w = y.v - esr_ * draw(r, y);
        if (r.cv == 0.0) [[likely]]
            return w;
        return (w - esr_ * esr_ * r.cv * s.i) * shared(r, s);
    }
    // What such a leak leaves of a change of v_c behind the ESR.
    double shared(const ModeRow& r, const Tangent& s) const {
        return r.cv == 0.0 ? 1.0 : 1.0 / (1.0 + esr_ * r.cv * (1.0 + esr_ * s.slope));
    }
    // N m, as the machine has it (motor/induction.hpp, motor/permanent_magnet.hpp); its rate, N m/s.
    double torque(const Five& y) const {
        if constexpr (magnets) return torque_ * (y.psi[0] * y.i[0] + y.psi[1] * y.i[1]);
        else return torque_ * cross(y.psi, y.i);
    }
    double torque_rate(const Five& y, const Five& rate) const {
        return torque({rate.i, y.psi, 0.0}) + torque({y.i, rate.psi, 0.0});
    }
    // What the state of a machine keeps of psi, or its angle says of it.
    Two psi(const X& x) const {
        if constexpr (magnets) {
            const Vec2 m = equations_->magnet_rate(x[theta]);
            return Two{m[0], m[1]};
        } else {
            return Two{x[psi_alpha], x[psi_beta]};
        }
    }
    // Electrical rad the shaft may turn before psi bends off: to the next corner of a trapezoid.
    double straight_on(double angle, double w) const {
        if (!trapezoidal_) return std::numeric_limits<double>::infinity();
        const double beyond = angle - corner - sixth * std::floor((angle - corner) / sixth);
        return w < 0.0 ? beyond : sixth - beyond;
    }
    // Between its corners an EMF goes as straight as a chord.
    bool straight() const { return trapezoidal_; }
    // Rotor current, referred, times L_r: Wb.
    Two rotor(const Five& y) const { return y.psi - Lm_ * y.i; }
    double esr() const { return esr_; }
    // Bridge and cable lose in this mode as in most, R i^2 alone: W in these forms.
    bool common(const ModeRow& r) const { return common_[index(r)]; }
    Quadratic common_bridge, common_cable;
    double cage = 0.0;  // W for each Wb2 of rotor()
    // At least the fastest rate of a mode, 1/s, at electrical rad/s of the shaft.
    double fastest(const ModeRow& r, const Tangent& s, double pw) const {
        return own_[index(r)] + std::abs(pw) + std::abs(s.slope) * inv_c_;
    }

    // All of a mode on a tangent but for the speed.
    [[gnu::always_inline]] inline Affine form(const ModeRow& r, const Tangent& s) const {
        Affine f;
        const double whole = 1.0 + esr_ * s.slope, k = k_r_ * gLm_, part = shared(r, s);
        const Two al = {r.al[0], r.al[1]}, back = al * (esr_ * whole * part), col_a = {r.P.aa, r.P.ab},
                  col_b = {r.P.ab, r.P.bb};
        f.of_a = Two{r.aaa, r.aba} - back * r.ci[0] - k * col_a;
        f.of_b = Two{r.aab, r.abb} - back * r.ci[1] - k * col_b;
        f.of_v = al * (whole * part);
        const double fall = (s.slope - r.cv * whole) * part, taken = 1.0 + esr_ * fall;
        f.vv = inv_c_ * fall;
        f.va = -inv_c_ * taken * r.ci[0], f.vb = -inv_c_ * taken * r.ci[1];
        f.g = g_, f.gLm = gLm_;
        f.i = Two{r.a0[0], r.a0[1]} + (al * (esr_ * part * s.i) - back * r.c0);
        f.v = inv_c_ * (s.i * (1.0 - esr_ * r.cv * taken) - taken * r.c0);
        return f;
    }
    // And at electrical rad/s of the shaft; angle: somewhere on the way.
    [[gnu::always_inline]] inline void turn(Affine& f, const ModeRow& r, double pw, double angle) const {
        if constexpr (magnets) {
            f.of_p = -pw * Two{r.P.aa, r.P.ab}, f.of_q = -pw * Two{r.P.ab, r.P.bb};
            if (trapezoidal_) f.psi_0 = pw * slope_[static_cast<std::size_t>(sixth_of(angle))];
            else f.pw = pw;
            return;
        }
        const double g = k_r_ * g_, w = k_r_ * pw;
        const Two col_a = {r.P.aa, r.P.ab}, col_b = {r.P.ab, r.P.bb};
        f.of_p = g * col_a - w * col_b, f.of_q = g * col_b + w * col_a;
        f.pw = pw;
    }

  private:
    // Of a trapezoid's EMF the corners, and which stretch between them an angle lies on.
    static constexpr double sixth = std::numbers::pi / 3, corner = std::numbers::pi / 6;
    static int sixth_of(double angle) {
        const int n = static_cast<int>(std::floor((angle - corner) / sixth)) % 6;
        return n < 0 ? n + 6 : n;
    }
    std::size_t index(const ModeRow& r) const { return static_cast<std::size_t>(&r - first_); }
    static bool alike(const Quadratic& q, const Quadratic& of) {
        const double scale = 1e-9 * (std::abs(of.aa) + std::abs(of.bb)) + 1e-15;
        const double rest = std::abs(q.av) + std::abs(q.bv) + std::abs(q.vv) + std::abs(q.a) + std::abs(q.b) +
                            std::abs(q.v) + std::abs(q.one);
        return std::abs(q.aa - of.aa) + std::abs(q.ab - of.ab) + std::abs(q.bb - of.bb) < scale && rest < 1e-12;
    }
    double g_ = 0, gLm_ = 0, k_r_ = 0, torque_ = 0, Lm_ = 0, esr_ = 0, inv_c_ = 0;
    const ModeRow* first_ = nullptr;
    const typename Machine::Equations* equations_ = nullptr;
    std::array<Two, 6> slope_{};  // of psi by the angle
    bool trapezoidal_ = false;
    std::array<bool, 125> common_{};
    std::array<double, 125> own_{};  // fastest(), by mode, of a machine at rest without a source
    bool valid_ = false;
};

// Integrals over the pieces of a window, by which the account is booked at once.
struct Sums {
    double seconds = 0, v = 0;        // s, V s
    Two square{};                     // A2 s: i_alpha^2, i_beta^2
    double ab = 0;                    // and i_alpha i_beta
    double supply = 0, run = 0;       // J: out of the source, lost in the run
    double behind = 0, behind_s = 0;  // V s and s on the present tangent: not yet in `run`
    double capacitor = 0;             // A2 s
    double rotor = 0;                 // Wb2 s
    double shaft = 0;                 // J that a held shaft takes up
    double faster = 0;                // rad: the shaft's speed above that at the start
    double faster_square = 0;         // rad2/s
    // Of a pump that displaces: m3 of its flow above that at the start, and products with itself and with `faster`.
    double fuller = 0, fuller_square = 0, fuller_faster = 0;
    double bridge = 0, cable = 0;  // J, of modes that lose otherwise than most
    Two other{};                   // what of `square` and `ab` belongs to these
    double other_ab = 0;
};

}  // namespace sunshaft::plant
