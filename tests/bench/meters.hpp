// What runs along while the solver is timed: meters on the three pairs, clamps, speed and link ripple.
#pragma once

#include <algorithm>
#include <cmath>

#include "plant/driver.hpp"

namespace sunshaft::bench {

using namespace plant;

class Meters {
  public:
    static constexpr bool sums_only = true;
    template <class Machine>
    void piece(const Chain<Machine>& chain, const Point& from, const Point& to) {
        const Terminals a = chain.terminals(from), b = chain.terminals(to);
        const double dt = to.t - from.t;
        for (std::size_t k = 0; k < 3; ++k) {
            const std::size_t n = k == 2 ? 0 : k + 1;
            const double y0 = a.drive[k] - a.drive[n], y1 = b.drive[k] - b.drive[n], sum = y0 + y1;
            square_[k] += dt * (sum * sum - y0 * y1);
            rectified_[k] +=
                dt * (y0 * y1 >= 0.0 ? std::abs(sum) : (y0 * y0 + y1 * y1) / (std::abs(y0) + std::abs(y1)));
            const double i0 = a.leg_i[k], i1 = b.leg_i[k], both = i0 + i1;
            current_[k] += dt * (both * both - i0 * i1);
        }
        if (time_ == 0.0) link_zero_ = a.link;  // against cancellation in the ripple
        const double v0 = a.link - link_zero_, v1 = b.link - link_zero_;
        link_ += dt * (v0 + v1);
        link_square_ += dt * ((v0 + v1) * (v0 + v1) - v0 * v1);
        speed_ += dt * (from.x[speed] + to.x[speed]);
        time_ += dt;
    }

    static constexpr std::size_t count = 11;
    double link_mean() const { return link_zero_ + 0.5 * link_ / time_; }
    // rms and rectified mean of the three pairs, rms of the three currents, mean speed, rms ripple of the link.
    std::array<double, count> values() const {
        std::array<double, count> v{};
        for (std::size_t k = 0; k < 3; ++k) {
            v[k] = std::sqrt(square_[k] / (3 * time_));
            v[3 + k] = 0.5 * rectified_[k] / time_;
            v[6 + k] = std::sqrt(current_[k] / (3 * time_));
        }
        v[9] = 0.5 * speed_ / time_;
        const double mean = 0.5 * link_ / time_;
        v[10] = std::sqrt(std::max(0.0, link_square_ / (3 * time_) - mean * mean));
        return v;
    }

  private:
    std::array<double, 3> square_{}, rectified_{}, current_{};
    double link_ = 0, link_square_ = 0, link_zero_ = 0, speed_ = 0, time_ = 0;
};

inline constexpr std::array<const char*, Meters::count> meter_name = {
    "u-v rms", "v-w rms", "w-u rms", "u-v rectified", "v-w rectified", "w-u rectified",
    "i_u",     "i_v",     "i_w",     "speed",         "link ripple"};

// Error of each meter, relative; what is nearly zero (the current of a lost phase) against a twentieth of the largest
// of its kind, and the ripple against at least 1 % of the link voltage: less is no ripple to speak of.
inline std::array<double, Meters::count> errors(const std::array<double, Meters::count>& v,
                                                const std::array<double, Meters::count>& truth, double link) {
    std::array<double, Meters::count> e{};
    for (std::size_t n = 0; n < Meters::count; ++n) {
        double scale = truth[n];
        if (n < 9)
            for (std::size_t k = n / 3 * 3; k < n / 3 * 3 + 3; ++k) scale = std::max(scale, 0.05 * truth[k]);
        if (n == 10) scale = std::max(scale, 1e-2 * link);
        e[n] = std::abs(v[n] - truth[n]) / scale;
    }
    return e;
}

}  // namespace sunshaft::bench
