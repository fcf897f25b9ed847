// How a filter's modes run along straight segments; the formulas are filter.hpp's. Private to filter*.cpp.
//
// A mode is carried as its own output v, v' = p v + w u, never as the amplitude of its transient: at a segment of 1e-16
// s between two edges that amplitude is slope/p^2, 1e14 times the wave, and its rounding alone swamps the reading.
#pragma once

#include <algorithm>
#include <array>
#include <cassert>
#include <cmath>
#include <numbers>
#include <stdexcept>
#include "meter/filter.hpp"
#include "trace/statistics.hpp"

namespace sunshaft::meter {

namespace detail {

inline constexpr double pi = std::numbers::pi;
inline constexpr std::size_t most_modes = 16;
inline constexpr double slow_below = 0.5;   // |p| dt below which a mode is written as a polynomial
inline constexpr int most_degree = 10;      // its degree: 0.5^11 / 11! of the wave is left out
inline constexpr double stride = 0.4;       // |p| dt of a step in the search for sign changes
inline constexpr double slowest_Hz = 0.01;  // below it 1/p^2 costs more digits than the corner matters
// a transient this small beside the wave is over, even behind low-passes
inline constexpr double gone = 1e-12;

inline constexpr auto over = [] {  // 1/k: a division costs as much as the rest of a term
    std::array<double, 2 * most_degree + 2> table{};
    for (std::size_t k = 1; k < table.size(); ++k) table[k] = 1.0 / static_cast<double>(k);
    return table;
}();

// std::complex multiplies with a check for NaN; these do not.
struct Z {
    double re = 0.0, im = 0.0;
};
inline Z operator+(Z a, Z b) { return {a.re + b.re, a.im + b.im}; }
inline Z operator*(Z a, Z b) { return {a.re * b.re - a.im * b.im, a.re * b.im + a.im * b.re}; }
inline Z operator*(double s, Z a) { return {s * a.re, s * a.im}; }
inline Z conj(Z a) { return {a.re, -a.im}; }
inline Z inverse(Z a) {
    const double n = 1.0 / (a.re * a.re + a.im * a.im);
    return {a.re * n, -a.im * n};
}
inline double real_of_product(Z a, Z b) { return a.re * b.re - a.im * b.im; }
inline double magnitude(Z a) { return std::hypot(a.re, a.im); }
inline Z exponential(Z p, double t) {
    const double e = std::exp(p.re * t);
    if (p.im == 0.0) return {e, 0.0};
    return {e * std::cos(p.im * t), e * std::sin(p.im * t)};
}
// exp(z) - 1 without losing a small z.
inline Z exponential_less_1(Z z) {
    const double a = std::expm1(z.re), s = std::sin(0.5 * z.im);
    return {a * std::cos(z.im) - 2.0 * s * s, (a + 1.0) * std::sin(z.im)};
}

}  // namespace detail
using namespace detail;

// The partial fractions, one mode for a real pole and one for a conjugate pair (whose weight is twice the real
// part): H(s) = direct + sum weight_k / (s - p_k).
struct Filter::Bank {
    std::size_t n = 0;
    double direct = 0.0;
    Z p[most_modes], inv_p[most_modes], weight[most_modes];
    Z weight_p[most_modes], weight_p2[most_modes];                        // weight over p, over p^2
    Z inv_sum[most_modes][most_modes], inv_diff[most_modes][most_modes];  // 1/(p_k + p_l), 1/(p_k + conj p_l)
    double rate[most_modes];                                              // |p|, falling
    Z stride_factor[most_modes][most_modes];  // exp(p_k stride / rate_l): a step when mode l is the fastest alive

    explicit Bank(const Filter& f) {
        std::vector<std::complex<double>> poles = f.poles_;
        if (static_cast<std::size_t>(f.zeros_) == poles.size()) direct = f.scale_;
        // Equal poles have no partial fractions: part them by a hair to either side, which the gain feels
        // squared.
        std::vector<double> shift(poles.size(), 0.0);
        for (std::size_t k = 0; k < poles.size(); ++k)
            for (std::size_t l = 0; l < poles.size(); ++l) {
                if (l == k || std::abs(poles[k] - poles[l]) >= 2e-3 * std::abs(poles[k])) continue;
                const double a = std::abs(poles[k]), b = std::abs(poles[l]);
                shift[k] += b < a || (b == a && l < k) ? 1e-3 : -1e-3;
            }
        double scale = f.scale_;
        for (std::size_t k = 0; k < poles.size(); ++k) {
            poles[k] *= 1.0 + shift[k];
            if (f.zeros_ == 0) scale *= 1.0 + shift[k];  // the mean passes as it is
        }
        std::sort(poles.begin(), poles.end(), [](auto x, auto y) { return std::abs(x) > std::abs(y); });
        for (std::size_t k = 0; k < poles.size(); ++k) {
            if (poles[k].imag() < 0.0) continue;
            std::complex<double> r = scale * std::pow(poles[k], f.zeros_);
            for (std::size_t l = 0; l < poles.size(); ++l)
                if (l != k) r /= poles[k] - poles[l];
            if (poles[k].imag() > 0.0) r *= 2.0;
            assert(n < most_modes);
            p[n] = {poles[k].real(), poles[k].imag()};
            inv_p[n] = inverse(p[n]);
            weight[n] = {r.real(), r.imag()};
            weight_p[n] = weight[n] * inv_p[n];
            weight_p2[n] = weight_p[n] * inv_p[n];
            rate[n] = magnitude(p[n]);
            ++n;
        }
        for (std::size_t k = 0; k < n; ++k)
            for (std::size_t l = 0; l < n; ++l) {
                inv_sum[k][l] = inverse(p[k] + p[l]);
                inv_diff[k][l] = inverse(p[k] + conj(p[l]));
                stride_factor[l][k] = exponential(p[k], stride / rate[l]);
            }
    }
    // Modes from here on are slow beside h.
    std::size_t fast(double h) const {
        std::size_t k = 0;
        while (k < n && rate[k] * h >= slow_below) ++k;
        return k;
    }
};

namespace detail {

// Terms of exp(z) that matter for |z| <= x < slow_below.
inline int degree_for(double x) { return x > 0.1 ? most_degree : x > 0.01 ? 7 : x > 1e-3 ? 5 : x > 1e-4 ? 4 : 3; }

// y(t) = sum q_j (t/h)^j + sum Re(c exp(p t)) for 0 <= t <= h: the straight input and the slow modes as a polynomial,
// the fast ones (the first `fast` of the bank) as they are.
template <class Bank>
struct Piece {
    const Bank& bank;
    double h = 0.0;
    std::size_t fast = 0;
    int degree = 1;
    double q[most_degree + 1] = {};
    Z c[most_modes] = {}, e[most_modes] = {};  // e: exp(p h)

    double polynomial(double x) const {
        double y = q[degree];
        for (int j = degree - 1; j >= 0; --j) y = y * x + q[j];
        return y;
    }
    double polynomial_slope(double x) const {
        double y = degree * q[degree];
        for (int j = degree - 1; j >= 1; --j) y = y * x + j * q[j];
        return y / h;
    }
    // How far the polynomial can lie from its chord.
    double bend() const {
        double b = 0.0;
        for (int j = 2; j <= degree; ++j) b += std::fabs(q[j]);
        return b;
    }
    double at(double t) const {
        double y = polynomial(t / h);
        for (std::size_t k = 0; k < fast; ++k) y += real_of_product(c[k], exponential(bank.p[k], t));
        return y;
    }
    double slope_at(double t) const {
        double y = polynomial_slope(t / h);
        for (std::size_t k = 0; k < fast; ++k) y += real_of_product(bank.p[k] * c[k], exponential(bank.p[k], t));
        return y;
    }
    double at_end() const {
        double y = polynomial(1.0);
        for (std::size_t k = 0; k < fast; ++k) y += real_of_product(c[k], e[k]);
        return y;
    }
    double at_start() const {
        double y = q[0];
        for (std::size_t k = 0; k < fast; ++k) y += c[k].re;
        return y;
    }
    double polynomial_integral(double x) const {
        double y = q[degree] * over[degree + 1];
        for (int j = degree - 1; j >= 0; --j) y = y * x + q[j] * over[j + 1];
        return y * x * h;
    }
    // Antiderivative, zero nowhere in particular.
    double integral_to(double t) const {
        double y = polynomial_integral(t / h);
        for (std::size_t k = 0; k < fast; ++k) y += real_of_product(c[k] * bank.inv_p[k], exponential(bank.p[k], t));
        return y;
    }
    double square_integral() const {
        double s = 0.0;
        for (int i = 0; i <= degree; ++i) {
            s += q[i] * q[i] * over[2 * i + 1];
            for (int j = 0; j < i; ++j) s += 2.0 * q[i] * q[j] * over[i + j + 1];
        }
        s *= h;
        for (std::size_t k = 0; k < fast; ++k) {
            // J_j, the integral of x^j exp(p h x) over 0 .. 1: forward, because what the recurrence adds of rounding as
            // j rises the q_j take away again.
            const Z inv = (1.0 / h) * bank.inv_p[k];
            Z J = inv * Z{e[k].re - 1.0, e[k].im}, sum = q[0] * J;
            for (int j = 1; j <= degree; ++j) {
                J = inv * (e[k] + -static_cast<double>(j) * J);
                sum = sum + q[j] * J;
            }
            s += 2.0 * h * real_of_product(c[k], sum);
            for (std::size_t l = 0; l <= k; ++l) {
                const double twice = l == k ? 0.5 : 1.0;
                const Z same = e[k] * e[l], cross = e[k] * conj(e[l]);
                const Z g1{same.re - 1.0, same.im}, g2{cross.re - 1.0, cross.im};
                s += twice * (real_of_product(c[k] * c[l], g1 * bank.inv_sum[k][l]) +
                              real_of_product(c[k] * conj(c[l]), g2 * bank.inv_diff[k][l]));
            }
        }
        return s;
    }
    // Roughly: the area of |y| feels an error of the root only squared.
    double root_between(double lo, double hi, double y_lo, double y_hi) const {
        return root_of([this](double t) { return at(t); }, lo, hi, y_lo, y_hi);
    }
    // Where it turns, between two slopes of opposite sign.
    double turn_between(double lo, double hi, double d_lo, double d_hi) const {
        return root_of([this](double t) { return slope_at(t); }, lo, hi, d_lo, d_hi);
    }

  private:
    template <class F>
    static double root_of(F f, double lo, double hi, double y_lo, double y_hi) {
        const double enough = 1e-5 * (std::fabs(y_lo) + std::fabs(y_hi));
        double t = lo;
        for (int i = 0; i < 40; ++i) {  // regula falsi, Illinois variant
            t = (lo * y_hi - hi * y_lo) / (y_hi - y_lo);
            const double y = f(t);
            if (std::fabs(y) <= enough) break;
            if ((y > 0.0) == (y_hi > 0.0)) {
                hi = t;
                y_hi = y;
                y_lo *= 0.5;
            } else {
                lo = t;
                y_lo = y;
                y_hi *= 0.5;
            }
        }
        return t;
    }
};

// Walks a piece in chords that lie within about `tolerance` of it: visit(t_before, y_before, t, y).
template <class Bank, class Visit>
void walk(const Piece<Bank>& piece, double step_x, double tolerance, Visit visit) {
    double t = 0.0, y = piece.at_start();
    double alive[most_modes], curved = 0.0;
    for (std::size_t k = 0; k < piece.fast; ++k) alive[k] = magnitude(piece.c[k]);
    for (int j = 2; j <= piece.degree; ++j) curved += 0.125 * j * (j - 1) * std::fabs(piece.q[j]);
    const double chords = std::clamp(std::ceil(std::sqrt(curved / tolerance)), 1.0, 64.0), chord = piece.h / chords;
    while (t < piece.h) {
        double rate = 0.0;
        for (std::size_t k = 0; k < piece.fast; ++k)
            if (alive[k] * std::exp(piece.bank.p[k].re * t) > 0.1 * tolerance)
                rate = std::max(rate, piece.bank.rate[k]);
        const double step = rate > 0.0 ? std::min(step_x / rate, chord) : chord;
        const double next = t + 1.25 * step < piece.h ? t + step : piece.h;
        const double y_next = next == piece.h ? piece.at_end() : piece.at(next);
        visit(t, y, next, y_next);
        t = next;
        y = y_next;
    }
}

enum class Start { periodic, rest };

// The pieces of the response, one for each segment: of a wave that repeats, or of one that begins on a filter
// at rest.
template <class Bank, class Use>
void for_each_piece(const Bank& bank, trace::View u, Start start, Use use) {
    const std::size_t n = bank.n;
    Piece<Bank> piece{bank};
    std::vector<Z> grown(u.size() * n);
    Z state[most_modes] = {};
    double h_before = 0.0;
    for (std::size_t i = 0; i < u.size(); ++i) {
        const double h = u[i].t1 - u[i].t0;
        const std::size_t fast = bank.fast(h);
        for (std::size_t k = 0; k < fast; ++k)
            grown[i * n + k] = h == h_before ? grown[(i - 1) * n + k] : exponential(bank.p[k], h);
        h_before = h;
    }
    // Over one segment: state on to its end; into the piece, if it is wanted.
    const auto pass = [&](std::size_t i, Piece<Bank>* out) {
        const double h = u[i].t1 - u[i].t0, u0 = u[i].y0, du = u[i].y1 - u0, slope = du / h;
        const std::size_t fast = bank.fast(h);
        const int degree = fast < n ? degree_for(bank.rate[fast] * h) : 1;
        if (out) {
            out->h = h;
            out->fast = fast;
            out->degree = degree;
            std::fill(out->q, out->q + degree + 1, 0.0);
            out->q[0] = bank.direct * u0;
            out->q[1] = bank.direct * du;
        }
        for (std::size_t k = 0; k < fast; ++k) {
            const Z e = grown[i * n + k], bent = slope * bank.weight_p2[k], line = u0 * bank.weight_p[k] + bent,
                    rise = du * bank.weight_p[k], c = state[k] + line;
            if (out) {
                out->e[k] = e;
                out->c[k] = c;
                out->q[0] -= line.re;
                out->q[1] -= rise.re;
            }
            state[k] = e * c + -1.0 * (line + rise);
        }
        for (std::size_t k = fast; k < n; ++k) {
            const Z x = h * bank.p[k];
            Z term = state[k], sum = term;
            if (out) out->q[0] += term.re;
            for (int j = 1; j <= degree; ++j) {
                term = x * term;
                if (j == 1) term = term + (h * u0) * bank.weight[k];
                if (j == 2) term = term + (h * du) * bank.weight[k];
                term = over[j] * term;
                if (out) out->q[j] += term.re;
                sum = sum + term;
            }
            state[k] = sum;
        }
    };
    if (start == Start::periodic) {
        // Once from nothing, for what the wave itself puts in; then the state that comes back after the whole
        // trace.
        for (std::size_t i = 0; i < u.size(); ++i) pass(i, nullptr);
        const double T = trace::duration(u);
        for (std::size_t k = 0; k < n; ++k) state[k] = state[k] * inverse(-1.0 * exponential_less_1(T * bank.p[k]));
    }
    for (std::size_t i = 0; i < u.size(); ++i) {
        pass(i, &piece);
        use(piece, u[i]);
    }
}

struct Sums {
    double integral = 0.0, square = 0.0, rectified = 0.0, min = 1e300, max = -1e300;
    void see(double y) {
        min = std::min(min, y);
        max = std::max(max, y);
    }
};

// Steps through a piece as long as it can still change sign, fine enough not to miss a swing of any mode still
// alive: visit(t_before, y_before, t, y). By multiplication only: a handful of nanoseconds a step. A step that dips to
// the other side and comes back is visited in two.
template <class Bank, class Visit>
void search_sign_changes(const Piece<Bank>& piece, double scale, Visit visit) {
    const Bank& bank = piece.bank;
    const double h = piece.h, line_end = piece.polynomial(1.0), bend = piece.bend();
    Z z[most_modes];
    double real_end[most_modes];
    for (std::size_t k = 0; k < piece.fast; ++k) {
        z[k] = piece.c[k];
        real_end[k] = bank.p[k].im == 0.0 ? piece.c[k].re * piece.e[k].re : 0.0;
    }
    // It can only dip between two ends that lie near zero beside all that still moves.
    const auto step_to = [&](double t0, double y0, double t1, double y1, double spread) {
        if ((y0 > 0.0) == (y1 > 0.0) && std::min(std::fabs(y0), std::fabs(y1)) < 0.1 * spread) {
            const double d0 = piece.slope_at(t0), d1 = piece.slope_at(t1);
            if (y0 > 0.0 ? d0 < 0.0 && d1 > 0.0 : d0 > 0.0 && d1 < 0.0) {
                const double turn = piece.turn_between(t0, t1, d0, d1), y = piece.at(turn);
                if (turn > t0 && turn < t1 && (y > 0.0) != (y0 > 0.0)) {
                    visit(t0, y0, turn, y);
                    visit(turn, y, t1, y1);
                    return;
                }
            }
        }
        visit(t0, y0, t1, y1);
    };
    double t = 0.0, y = piece.at_start(), spread = 0.0;
    std::size_t alive = 0;
    // What several low-passes leave of a fast wave is the polynomial's bend alone: it can swing more than once in a
    // piece and would go unseen from its two ends.
    const double longest = bend > std::min(std::fabs(piece.q[0]), std::fabs(line_end)) ? h / 8 : h;
    for (;;) {
        // Line and real modes each lie between their value now and at the end; an oscillating mode within its
        // envelope.
        const double line = piece.polynomial(t / h);
        double low = std::min(line, line_end) - bend, high = std::max(line, line_end) + bend;
        while (alive < piece.fast && std::fabs(z[alive].re) + std::fabs(z[alive].im) < gone * scale) ++alive;
        for (std::size_t k = alive; k < piece.fast; ++k) {
            if (bank.p[k].im == 0.0) {
                low += std::min(z[k].re, real_end[k]);
                high += std::max(z[k].re, real_end[k]);
            } else {
                const double envelope = std::fabs(z[k].re) + std::fabs(z[k].im);
                low -= envelope;
                high += envelope;
            }
        }
        if (low > 0.0 || high < 0.0) return;
        spread = high - low;
        const double step = alive < piece.fast ? std::min(stride / bank.rate[alive], longest) : longest;
        if (t + 1.25 * step >= h) break;
        t += step;
        double next = piece.polynomial(t / h);
        for (std::size_t k = alive; k < piece.fast; ++k) {
            z[k] = z[k] * (step < longest ? bank.stride_factor[alive][k] : exponential(bank.p[k], step));
            next += z[k].re;
        }
        step_to(t - step, y, t, next, spread);
        y = next;
    }
    step_to(t, y, h, piece.at_end(), spread);
}

template <class Bank>
void add(const Piece<Bank>& piece, double scale, Sums& sums) {
    const double y0 = piece.at_start(), y1 = piece.at_end();
    sums.see(y0);
    sums.see(y1);
    double first = 0.0, last = piece.polynomial_integral(1.0);  // antiderivative at either end
    for (std::size_t k = 0; k < piece.fast; ++k) {
        const Z c_over_p = piece.c[k] * piece.bank.inv_p[k];
        first += c_over_p.re;
        last += real_of_product(c_over_p, piece.e[k]);
    }
    sums.integral += last - first;
    sums.square += piece.square_integral();
    double from = first, rectified = 0.0;  // antiderivative at the last sign change
    search_sign_changes(piece, scale, [&](double t0, double ya, double t1, double yb) {
        sums.see(yb);
        if ((ya > 0.0) != (yb > 0.0) && ya != 0.0) {
            const double at_root = piece.integral_to(piece.root_between(t0, t1, ya, yb));
            rectified += std::fabs(at_root - from);
            from = at_root;
        }
    });
    sums.rectified += rectified + std::fabs(last - from);
}

inline double largest(trace::View u) {
    double m = 0.0;
    for (const trace::Segment& s : u) m = std::max({m, std::fabs(s.y0), std::fabs(s.y1)});
    return m;
}

}  // namespace detail
using namespace detail;

}  // namespace sunshaft::meter
