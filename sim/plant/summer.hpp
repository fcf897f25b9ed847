// What Means wants, summed while a plant runs: a sink (driver.hpp).
//
// While every line is joined to a rail, all of it is linear in the motor's currents and the link voltage: their first
// and second moments, kept for each leg mode, say it all at the end. Only a line whose ends hang on the same rail goes
// through zero within a mode, and is rectified as it goes. The rest, open lines and sine sources, is summed piece by
// piece.
#pragma once

#include <algorithm>
#include <array>
#include <cmath>
#include <limits>
#include <vector>

#include "plant/run.hpp"

namespace sunshaft::plant {

class Summer {
  public:
    static constexpr bool sums_only = true;
    Summer() { m_.link_min = 1e300, m_.link_max = -1e300; }

    template <class Machine>
    void piece(const Chain<Machine>& chain, const Point& from, const Point& to) {
        const double dt = to.t - from.t;
        const X &x0 = from.x, &x1 = to.x;
        const ModeRow& r = *chain.row;
        const double ampere =
            std::max({std::abs(x0[i_alpha]), std::abs(x0[i_beta]), std::abs(x1[i_alpha]), std::abs(x1[i_beta])});
        Moments& m = modes_[chain.row_index()];
        if (!m.row) m.row = &r, m.firm = r.free == 2 && !r.floating ? firm(r) : std::numeric_limits<double>::infinity();
        if (chain.linear() && m.firm * (ampere + 1.0) < std::min(from.link, to.link)) [[likely]]
            by_moments(r, m, from, to, dt);
        else by_pieces(chain, from, to, dt);
        m_.link += 0.5 * (from.link + to.link) * dt;
        m_.link_min = std::min({m_.link_min, from.link, to.link});
        m_.link_max = std::max({m_.link_max, from.link, to.link});
        m_.speed += 0.5 * (x0[speed] + x1[speed]) * dt;
        m_.flow += 0.5 * (x0[flow] + x1[flow]) * dt;
        // a product: Simpson's rule
        X half;
        for (std::size_t n = 0; n < state_size; ++n) half[n] = 0.5 * (x0[n] + x1[n]);
        m_.torque += (chain.torque(x0) + 4 * chain.torque(half) + chain.torque(x1)) * (1.0 / 6) * dt;
        m_.seconds += dt;
    }
    Means finish();

  private:
    // Of link voltage (less base_), currents and their products, over time.
    struct Moments {
        double t = 0, a = 0, b = 0, v = 0, aa = 0, ab = 0, bb = 0, av = 0, bv = 0, vv = 0;
        std::array<double, 3> rectified{};  // V s, lines between ends on the same rail
        const ModeRow* row = nullptr;
        double firm = 0;
    };
    static ModeRow::Line line(const ModeRow& r, std::size_t k) {
        const ModeRow::Line &x = r.terminal[k], &y = r.terminal[(k + 1) % 3];
        return {x.p - y.p, x.q - y.q, x.r - y.r, x.c - y.c, 0, 0};
    }
    // V for each ampere, and more than any fixed drop, that lie between a terminal and its rail.
    static double firm(const ModeRow& r) {
        double most = 0.0;
        for (const ModeRow::Line& l : r.terminal)
            most = std::max(most, 2 * (std::abs(l.p) + std::abs(l.q) + std::abs(l.c)));
        return most;
    }
    static double rectified(double y0, double y1) {
        return y0 * y1 >= 0.0 ? 0.5 * std::abs(y0 + y1) : 0.5 * (y0 * y0 + y1 * y1) / (std::abs(y0) + std::abs(y1));
    }

    void by_moments(const ModeRow& r, Moments& m, const Point& from, const Point& to, double dt) {
        if (!based_) based_ = true, base_ = from.link;
        const double a0 = from.x[i_alpha], b0 = from.x[i_beta], a1 = to.x[i_alpha], b1 = to.x[i_beta];
        const double a = 0.5 * (a0 + a1), b = 0.5 * (b0 + b1), v = 0.5 * (from.link + to.link) - base_, k = dt / 12,
                     da = a1 - a0, db = b1 - b0, dv = to.link - from.link;
        m.t += dt, m.a += dt * a, m.b += dt * b, m.v += dt * v;
        m.aa += dt * a * a + k * da * da, m.ab += dt * a * b + k * da * db, m.bb += dt * b * b + k * db * db;
        m.av += dt * a * v + k * da * dv, m.bv += dt * b * v + k * db * dv, m.vv += dt * v * v + k * dv * dv;
        for (std::size_t n = 0; n < 3; ++n) {
            if (std::abs(r.terminal[n].r - r.terminal[(n + 1) % 3].r) > 0.5) continue;
            const ModeRow::Line l = line(r, n);
            m.rectified[n] +=
                dt * rectified(l.p * a0 + l.q * b0 + l.r * from.link + l.c, l.p * a1 + l.q * b1 + l.r * to.link + l.c);
        }
    }
    template <class Machine>
    [[gnu::noinline]] void by_pieces(const Chain<Machine>& chain, const Point& from, const Point& to, double dt) {
        Terminals a = chain.terminals(from), b = chain.terminals(to);
        if (chain.bends() && !from.knows_emf) {  // as Recorder::straighten does
            X half;
            for (std::size_t n = 0; n < state_size; ++n) half[n] = 0.5 * (from.x[n] + to.x[n]);
            const Terminals middle = chain.terminals(chain.point(0.5 * (from.t + to.t), half));
            for (std::size_t k = 0; k < 3; ++k) {
                const double shift = (middle.drive[k] - 0.5 * (a.drive[k] + b.drive[k])) * (2.0 / 3);
                a.drive[k] += shift, b.drive[k] += shift;
            }
        }
        for (std::size_t k = 0; k < 3; ++k) {
            const std::size_t n = (k + 1) % 3;
            const double y0 = a.drive[k] - a.drive[n], y1 = b.drive[k] - b.drive[n];
            m_.line_mean[k] += 0.5 * (y0 + y1) * dt;
            m_.line_rms[k] += (y0 * y0 + y0 * y1 + y1 * y1) * (dt / 3);
            m_.line_rectified[k] += rectified(y0, y1) * dt;
            const double i0 = a.leg_i[k], i1 = b.leg_i[k];
            m_.current_mean[k] += 0.5 * (i0 + i1) * dt;
            m_.current_rms[k] += (i0 * i0 + i0 * i1 + i1 * i1) * (dt / 3);
        }
    }
    // Integrals of a line of the moments, and of its square.
    double mean(const Moments& m, const ModeRow::Line& l) const {
        return l.p * m.a + l.q * m.b + l.r * (m.v + base_ * m.t) + l.c * m.t;
    }
    double square(const Moments& m, const ModeRow::Line& l) const {
        const double c = l.c + l.r * base_;
        return l.p * l.p * m.aa + l.q * l.q * m.bb + l.r * l.r * m.vv +
               2 * (l.p * l.q * m.ab + l.p * l.r * m.av + l.q * l.r * m.bv + c * (l.p * m.a + l.q * m.b + l.r * m.v)) +
               c * c * m.t;
    }

    Means m_;                                                 // integrals, squares in place of rms
    std::vector<Moments> modes_ = std::vector<Moments>(125);  // by Chain::row_index()
    bool based_ = false;
    double base_ = 0.0;  // V, against cancellation
};

inline Means Summer::finish() {
    for (const Moments& m : modes_) {
        if (!m.row) continue;
        for (std::size_t k = 0; k < 3; ++k) {
            const ModeRow::Line l = line(*m.row, k);
            const double sum = mean(m, l);
            m_.line_mean[k] += sum;
            m_.line_rms[k] += square(m, l);
            m_.line_rectified[k] += std::abs(l.r) > 0.5 ? std::abs(sum) : m.rectified[k];
            m_.current_mean[k] += mean(m, m.row->leg[k]);
            m_.current_rms[k] += square(m, m.row->leg[k]);
        }
    }
    const double k = m_.seconds > 0.0 ? 1.0 / m_.seconds : 0.0;
    for (std::size_t n = 0; n < 3; ++n) {
        m_.line_mean[n] *= k, m_.line_rectified[n] *= k, m_.current_mean[n] *= k;
        m_.line_rms[n] = std::sqrt(std::max(0.0, m_.line_rms[n] * k));
        m_.current_rms[n] = std::sqrt(std::max(0.0, m_.current_rms[n] * k));
    }
    m_.link *= k, m_.speed *= k, m_.flow *= k, m_.torque *= k;
    return m_;
}

}  // namespace sunshaft::plant
