// Exact statistics of a trace: each is a closed form of a straight segment, summed.
//
// A segment of length dt from y0 to y1 adds
//   to the integral of y    dt (y0 + y1) / 2
//   to that of y^2          dt (y0^2 + y0 y1 + y1^2) / 3
//   to that of |y|          dt |y0 + y1| / 2, or dt (y0^2 + y1^2) / (2 (|y0| + |y1|)) where it crosses zero.
#pragma once

#include <algorithm>
#include <cmath>
#include <limits>
#include <vector>

#include "trace/trace.hpp"

namespace sunshaft::trace {

// All zero for an empty trace, and `crest` and `form` are zero for a wave that is zero throughout.
struct Statistics {
    double duration = 0.0;           // s
    double mean = 0.0;               // mean y
    double rms = 0.0;                // sqrt(mean y^2)
    double rms_ac = 0.0;             // sqrt(mean (y - mean)^2)
    double rectified_mean = 0.0;     // mean |y|
    double rectified_mean_ac = 0.0;  // mean |y - mean|
    double min = 0.0, max = 0.0;
    double crest = 0.0;     // max |y| / rms
    double crest_ac = 0.0;  // max |y - mean| / rms_ac
    double form = 0.0;      // rms_ac / rectified_mean_ac; a sine: pi / (2 sqrt 2) = 1.1107
};
Statistics statistics(View trace);

// Means over `count` intervals of `step` from `from` on; an interval the trace does not reach: NaN, as is one that
// holds a NaN.
std::vector<double> interval_means(View trace, double from, double step, std::size_t count);

// The same in a single pass, for use while a run goes on: a few nanoseconds a segment. The rectified mean of
// y - mean needs the mean first and is not to be had here.
class Accumulator {
  public:
    void add(double dt, double y0, double y1) {
        time_ += dt;
        const double sum = y0 + y1;
        integral_ += dt * sum;
        square_ += dt * (sum * sum - y0 * y1);
        if (y0 * y1 >= 0.0) rectified_ += dt * std::fabs(sum);
        else rectified_ += dt * (y0 * y0 + y1 * y1) / (std::fabs(y0) + std::fabs(y1));
        min_ = std::min(min_, std::min(y0, y1));
        max_ = std::max(max_, std::max(y0, y1));
    }
    void add(const Segment& s) { add(s.t1 - s.t0, s.y0, s.y1); }
    void reset() { *this = {}; }

    double duration() const { return time_; }
    double mean() const { return time_ > 0.0 ? 0.5 * integral_ / time_ : 0.0; }
    double rms() const { return time_ > 0.0 ? std::sqrt(square_ / (3.0 * time_)) : 0.0; }
    double rms_ac() const {
        const double m = mean(), r = rms();
        return std::sqrt(std::max(0.0, (r - m) * (r + m)));
    }
    double rectified_mean() const { return time_ > 0.0 ? 0.5 * rectified_ / time_ : 0.0; }
    double min() const { return time_ > 0.0 ? min_ : 0.0; }
    double max() const { return time_ > 0.0 ? max_ : 0.0; }
    double crest() const { return rms() > 0.0 ? std::max(max_, -min_) / rms() : 0.0; }

  private:
    double time_ = 0.0, integral_ = 0.0, square_ = 0.0, rectified_ = 0.0;
    double min_ = std::numeric_limits<double>::infinity(), max_ = -std::numeric_limits<double>::infinity();
};

}  // namespace sunshaft::trace
