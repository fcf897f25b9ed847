// The exponential of a stiff affine block (block.hpp), where a series gets nowhere: a link on a source of some
// milliohms, a splice of kilohms. Of y' = A y + c with A and c held,
//
//   y(t + h) = E(h) y + F(h) c,    E(h) = exp(A h),    F(h) = integral of exp(A s) ds from 0 to h
//   integral of y over h = F(h) y + G(h) c,            G(h) = integral of F(s) ds from 0 to h
//
// A rung keeps the three for h0 2^k: the lowest by the Taylor series of G, with F = h + A G and E = 1 + A F, each next
// by E(2h) = E(h)^2, F(2h) = F(h) + E(h) F(h) and G(2h) = 2 G(h) + F(h)^2 (N. J. Higham, Functions of Matrices, 2008,
// ch. 10: scaling and squaring; from memory). Any h is the sum of some of them and a rest that a series carries.
//
// A depends on speed and source: rungs stand on a grid of both, and what A is beside its neighbour there goes into c.
#pragma once

#include <array>
#include <vector>

#include "plant/block.hpp"

namespace sunshaft::plant {

// A dense matrix by its columns: what one component of y makes of all.
struct Columns {
    std::array<Five, 5> column{};
    [[gnu::always_inline]] inline Five times(const Five& y) const {
        const std::array<Five, 5>& c = column;
        return {(c[0].i * y.i[0] + c[1].i * y.i[1]) + (c[2].i * y.psi[0] + c[3].i * y.psi[1]) + c[4].i * y.v,
                (c[0].psi * y.i[0] + c[1].psi * y.i[1]) + (c[2].psi * y.psi[0] + c[3].psi * y.psi[1]) + c[4].psi * y.v,
                (c[0].v * y.i[0] + c[1].v * y.i[1]) + (c[2].v * y.psi[0] + c[3].v * y.psi[1]) + c[4].v * y.v};
    }
    Columns times(const Columns& of) const {
        Columns out;
        for (std::size_t k = 0; k < column.size(); ++k) out.column[k] = times(of.column[k]);
        return out;
    }
};

inline Five operator+(const Five& a, const Five& b) { return {a.i + b.i, a.psi + b.psi, a.v + b.v}; }
inline Five operator*(double h, const Five& y) { return {h * y.i, h * y.psi, h * y.v}; }

class Ladder {
  public:
    // What a ladder stands for, so that it is what it is whatever ran before: the nearest of a grid. What a speed or a
    // slope (A/V) is beside it acts in carry(); of a slope that does not make the link stiff (its capacitor: inv_c,
    // 1/F) much may.
    static double near_speed(double pw) { return 4 * std::round(0.25 * pw); }  // electrical rad/s
    static double near_slope(double slope, double inv_c) {
        constexpr double fine = 1.0 / 1024, slow = 8.0;  // share of the slope; 1/s of the link
        if (!(inv_c > 0.0)) return slope;
        int exponent = 0;
        std::frexp(slope, &exponent);
        const double apart = std::max(std::ldexp(fine, exponent), slow / inv_c);
        return apart * std::round(slope / apart);
    }

    bool is_of(double slope, double pw) const { return !rungs_.empty() && slope == slope_ && pw == pw_; }
    // base: of a tangent and a speed near to those of now; rate: its fastest, 1/s.
    void build(const Affine& base, double slope, double pw, double rate) {
        base_ = base, slope_ = slope, pw_ = pw;
        lowest_ = std::exp2(std::floor(std::log2(0.5 / rate)));
        rungs_.assign(1, {});
        const std::array<Five, 5> one = {
            {{{1, 0}, {}, 0}, {{0, 1}, {}, 0}, {{}, {1, 0}, 0}, {{}, {0, 1}, 0}, {{}, {}, 1}}};
        for (std::size_t k = 0; k < one.size(); ++k) {
            Five term = (0.5 * lowest_ * lowest_) * one[k], sum = term;
            for (int n = 3; n <= 11; ++n) {
                term = (lowest_ / n) * base.times(term);
                sum = sum + term;
            }
            rungs_[0].G.column[k] = sum;
            rungs_[0].F.column[k] = lowest_ * one[k] + base.times(sum);
            rungs_[0].E.column[k] = one[k] + base.times(rungs_[0].F.column[k]);
        }
        for (double h = lowest_; h < longest_s; h *= 2) {
            const Rung& r = rungs_.back();
            Columns F = r.E.times(r.F), G = r.F.times(r.F);
            for (std::size_t k = 0; k < one.size(); ++k) {
                F.column[k] = F.column[k] + r.F.column[k];
                G.column[k] = G.column[k] + 2.0 * r.G.column[k];
            }
            rungs_.push_back({r.E.times(r.E), F, G});
        }
    }

    // The longest h <= most whose half is a rung; 0: there is none.
    double step_below(double most) const {
        if (most < 2 * lowest_) return 0.0;
        return std::min(std::exp2(std::floor(std::log2(most))), 2 * longest_s);
    }

    // y over h, and its integral, which is added to `sum`. now: the block itself. What it is beside the one the rungs
    // stand for acts by the flux half way, and by current and voltage as they are.
    [[gnu::always_inline]] inline Five carry(Five y, const Affine& now, double h, Five& sum) const {
        const Five half_way = {y.i, y.psi + (0.5 * h) * now.rate(y).psi, y.v};
        const Five c = now.rate(half_way) + -1.0 * base_.times(half_way);
        double rung = lowest_ * static_cast<double>(1ul << (rungs_.size() - 1));
        for (std::size_t k = rungs_.size(); k-- > 0; rung *= 0.5)
            for (; h >= rung; h -= rung) {
                const Rung& r = rungs_[k];
                sum = sum + r.F.times(y) + r.G.times(c);
                y = r.E.times(y) + r.F.times(c);
            }
        if (!(h > 0.0)) return y;
        Five bend;
        const Five end = now.carry<6>(y, h, bend);
        sum = sum + (0.5 * h) * (y + end) + (h * (2.0 / 3)) * bend;
        return end;
    }

  private:
    static constexpr double longest_s = 1.0 / 1024;
    struct Rung {
        Columns E, F, G;
    };
    std::vector<Rung> rungs_;
    Affine base_;
    double slope_ = 0.0, pw_ = 0.0, lowest_ = 0.0;
};

}  // namespace sunshaft::plant
