// How a filter's modes run along straight segments; the formulas are filter.hpp's. Private to filter*.cpp.
#pragma once

#include "meter/filter.hpp"
#include <algorithm>
#include <cassert>
#include <cmath>
#include <numbers>
#include <stdexcept>
#include "trace/statistics.hpp"

namespace sunshaft::meter {

namespace detail {

inline constexpr double pi = std::numbers::pi;
inline constexpr std::size_t most_modes = 16;
inline constexpr double short_segment = 0.005;  // |p| dt below which a segment's integrals go by Simpson's rule
inline constexpr double stride = 0.8;           // |p| dt of a step in the search for sign changes
inline constexpr double slowest_Hz = 0.01;      // below it 1/p^2 costs more digits than the corner matters
inline constexpr double gone = 1e-9;            // a transient this small beside the wave is over

// std::complex multiplies with a check for NaN; these do not.
struct Z {
    double re = 0.0, im = 0.0;
};
inline Z operator+(Z a, Z b) {
    return {a.re + b.re, a.im + b.im};
}
inline Z operator*(Z a, Z b) {
    return {a.re * b.re - a.im * b.im, a.re * b.im + a.im * b.re};
}
inline Z operator*(double s, Z a) {
    return {s * a.re, s * a.im};
}
inline Z conj(Z a) {
    return {a.re, -a.im};
}
inline Z inverse(Z a) {
    const double n = 1.0 / (a.re * a.re + a.im * a.im);
    return {a.re * n, -a.im * n};
}
inline double real_of_product(Z a, Z b) {
    return a.re * b.re - a.im * b.im;
}
inline double magnitude(Z a) {
    return std::hypot(a.re, a.im);
}
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
// part).
struct Filter::Bank {
    std::size_t n = 0;
    double gain0 = 1.0, gain0_slope = 0.0;  // H(0), H'(0)
    Z p[most_modes], inv_p[most_modes], inv_p2[most_modes], weight[most_modes];
    Z inv_sum[most_modes][most_modes], inv_diff[most_modes][most_modes];  // 1/(p_k + p_l), 1/(p_k + conj p_l)
    double rate[most_modes];                                              // |p|, falling
    Z stride_factor[most_modes]
                   [most_modes];  // exp(p_k stride / rate_l): a step when mode l is the fastest alive

    explicit Bank(const Filter& f) {
        std::vector<std::complex<double>> poles = f.poles_;
        // Equal poles have no partial fractions: part them by a hair to either side, which the gain feels
        // squared.
        std::vector<double> shift(poles.size(), 0.0);
        for (std::size_t k = 0; k < poles.size(); ++k)
            for (std::size_t l = 0; l < poles.size(); ++l)
                if (l != k && std::abs(poles[k] - poles[l]) < 2e-3 * std::abs(poles[k]))
                    shift[k] += l < k ? 1e-3 : -1e-3;
        for (std::size_t k = 0; k < poles.size(); ++k) poles[k] *= 1.0 + shift[k];
        std::sort(poles.begin(), poles.end(), [](auto x, auto y) { return std::abs(x) > std::abs(y); });
        gain0 = f.zeros_ == 0 ? 1.0 : 0.0;
        std::complex<double> at_zero = f.scale_, sum = 0.0;
        for (const auto& pole : poles) {
            at_zero /= -pole;
            sum += 1.0 / pole;
        }
        if (f.zeros_ == 0) gain0_slope = sum.real();
        if (f.zeros_ == 1) gain0_slope = at_zero.real();
        for (std::size_t k = 0; k < poles.size(); ++k) {
            if (poles[k].imag() < 0.0) continue;
            std::complex<double> r = f.scale_ * std::pow(poles[k], f.zeros_);
            for (std::size_t l = 0; l < poles.size(); ++l)
                if (l != k) r /= poles[k] - poles[l];
            if (poles[k].imag() > 0.0) r *= 2.0;
            assert(n < most_modes);
            p[n] = {poles[k].real(), poles[k].imag()};
            inv_p[n] = inverse(p[n]);
            inv_p2[n] = inv_p[n] * inv_p[n];
            weight[n] = {r.real(), r.imag()};
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
};

namespace detail {

// y(t) = a + b t + sum Re(c exp(p t)) for 0 <= t <= h.
template <class Bank>
struct Piece {
    const Bank& bank;
    double a = 0.0, b = 0.0, h = 0.0;
    Z c[most_modes] = {}, e[most_modes] = {};  // e: exp(p h)

    double at(double t) const {
        double y = a + b * t;
        for (std::size_t k = 0; k < bank.n; ++k) y += real_of_product(c[k], exponential(bank.p[k], t));
        return y;
    }
    double at_end() const {
        double y = a + b * h;
        for (std::size_t k = 0; k < bank.n; ++k) y += real_of_product(c[k], e[k]);
        return y;
    }
    double at_start() const {
        double y = a;
        for (std::size_t k = 0; k < bank.n; ++k) y += c[k].re;
        return y;
    }
    // Antiderivative, zero nowhere in particular.
    double integral_to(double t) const {
        double y = (a + 0.5 * b * t) * t;
        for (std::size_t k = 0; k < bank.n; ++k)
            y += real_of_product(c[k] * bank.inv_p[k], exponential(bank.p[k], t));
        return y;
    }
    double square_integral() const {
        double s = h * (a * a + h * (a * b + h * b * b / 3.0));
        for (std::size_t k = 0; k < bank.n; ++k) {
            const Z grown{e[k].re - 1.0, e[k].im};
            // integral of exp(pt) and of t exp(pt)
            const Z i0 = grown * bank.inv_p[k], i1 = (h * e[k] + -1.0 * i0) * bank.inv_p[k];
            s += 2.0 * (a * real_of_product(c[k], i0) + b * real_of_product(c[k], i1));
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
        const double enough = 1e-5 * (std::fabs(y_lo) + std::fabs(y_hi));
        double t = lo;
        for (int i = 0; i < 40; ++i) {  // regula falsi, Illinois variant
            t = (lo * y_hi - hi * y_lo) / (y_hi - y_lo);
            const double y = at(t);
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

// Walks a piece in steps fine enough not to miss a swing of any mode still alive: visit(t_before, y_before, t,
// y). Stops early when visit returns false.
template <class Bank, class Visit>
void walk(const Piece<Bank>& piece, double step_x, double scale, Visit visit) {
    double t = 0.0, y = piece.at_start();
    double alive[most_modes];
    for (std::size_t k = 0; k < piece.bank.n; ++k) alive[k] = magnitude(piece.c[k]);
    while (t < piece.h) {
        double rate = 0.0;
        for (std::size_t k = 0; k < piece.bank.n; ++k)
            if (alive[k] * std::exp(piece.bank.p[k].re * t) > gone * scale)
                rate = std::max(rate, piece.bank.rate[k]);
        const double next = rate > 0.0 && t + 1.25 * step_x / rate < piece.h ? t + step_x / rate : piece.h;
        const double y_next = next == piece.h ? piece.at_end() : piece.at(next);
        if (!visit(t, y, next, y_next)) return;
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
    const auto slope = [](const trace::Segment& s) { return (s.y1 - s.y0) / (s.t1 - s.t0); };
    std::vector<Z> grown(u.size() * n);
    Z state[most_modes] = {};
    const auto jump = [&](double du, double ds) {
        for (std::size_t k = 0; k < n; ++k) state[k] = state[k] + du * bank.inv_p[k] + ds * bank.inv_p2[k];
    };
    const auto edge = [&](const trace::Segment& before, const trace::Segment& after) {
        jump(after.y0 - before.y1, slope(after) - slope(before));
    };
    double h_before = 0.0;
    for (std::size_t i = 0; i < u.size(); ++i) {
        const double h = u[i].t1 - u[i].t0;
        for (std::size_t k = 0; k < n; ++k)
            grown[i * n + k] = h == h_before ? grown[(i - 1) * n + k] : exponential(bank.p[k], h);
        h_before = h;
    }
    if (start == Start::rest) {
        jump(u[0].y0, slope(u[0]));
    } else {
        // Once from nothing, for what the wave itself puts in; then the state that comes back after the whole
        // trace.
        for (std::size_t i = 0; i < u.size(); ++i) {
            if (i) edge(u[i - 1], u[i]);
            for (std::size_t k = 0; k < n; ++k) state[k] = grown[i * n + k] * state[k];
        }
        edge(u.back(), u.front());
        const double T = trace::duration(u);
        for (std::size_t k = 0; k < n; ++k)
            state[k] = state[k] * inverse(-1.0 * exponential_less_1(T * bank.p[k]));
    }
    for (std::size_t i = 0; i < u.size(); ++i) {
        if (i) edge(u[i - 1], u[i]);
        const double s = slope(u[i]);
        piece.h = u[i].t1 - u[i].t0;
        piece.a = bank.gain0 * u[i].y0 + bank.gain0_slope * s;
        piece.b = bank.gain0 * s;
        for (std::size_t k = 0; k < n; ++k) {
            piece.e[k] = grown[i * n + k];
            piece.c[k] = bank.weight[k] * state[k];
            state[k] = piece.e[k] * state[k];
        }
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
// alive: visit(t_before, y_before, t, y). By multiplication only: a handful of nanoseconds a step.
template <class Bank, class Visit>
void search_sign_changes(const Piece<Bank>& piece, double scale, Visit visit) {
    const Bank& bank = piece.bank;
    const double h = piece.h, line_end = piece.a + piece.b * h;
    Z z[most_modes];
    double real_end[most_modes];
    for (std::size_t k = 0; k < bank.n; ++k) {
        z[k] = piece.c[k];
        real_end[k] = bank.p[k].im == 0.0 ? piece.c[k].re * piece.e[k].re : 0.0;
    }
    double t = 0.0, y = piece.at_start();
    std::size_t alive = 0;
    for (;;) {
        // Line and real modes each lie between their value now and at the end; an oscillating mode within its
        // envelope.
        const double line = piece.a + piece.b * t;
        double low = std::min(line, line_end), high = std::max(line, line_end);
        while (alive < bank.n && std::fabs(z[alive].re) + std::fabs(z[alive].im) < gone * scale) ++alive;
        for (std::size_t k = alive; k < bank.n; ++k) {
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
        const double step = alive < bank.n ? stride / bank.rate[alive] : h;
        if (t + 1.25 * step >= h) break;
        t += step;
        double next = piece.a + piece.b * t;
        for (std::size_t k = alive; k < bank.n; ++k) {
            z[k] = z[k] * bank.stride_factor[alive][k];
            next += z[k].re;
        }
        visit(t - step, y, t, next);
        y = next;
    }
    visit(t, y, h, piece.at_end());
}

template <class Bank>
void add(const Piece<Bank>& piece, double scale, Sums& sums) {
    const double y0 = piece.at_start(), y1 = piece.at_end(), h = piece.h;
    sums.see(y0);
    sums.see(y1);
    if (piece.bank.n == 0 || piece.bank.rate[0] * h < short_segment) {
        const double ym = piece.at(0.5 * h);
        const double area = h / 6.0 * (y0 + 4.0 * ym + y1);
        sums.integral += area;
        sums.square += h / 6.0 * (y0 * y0 + 4.0 * ym * ym + y1 * y1);
        if (y0 * ym >= 0.0 && ym * y1 >= 0.0) {
            sums.rectified += std::fabs(area);
        } else {
            trace::Accumulator two;
            two.add(0.5 * h, y0, ym);
            two.add(0.5 * h, ym, y1);
            sums.rectified += two.rectified_mean() * h;
        }
        return;
    }
    double first = 0.0, last = 0.0;  // antiderivative of the modes at either end
    for (std::size_t k = 0; k < piece.bank.n; ++k) {
        const Z c_over_p = piece.c[k] * piece.bank.inv_p[k];
        first += c_over_p.re;
        last += real_of_product(c_over_p, piece.e[k]);
    }
    last += (piece.a + 0.5 * piece.b * h) * h;
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
