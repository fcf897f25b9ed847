// One root between two bounds, or near a guess.
#pragma once

#include <algorithm>
#include <cmath>
#include <optional>

namespace sunshaft::day {

// Where y(x) changes its sign between a and b, to `close` of the larger bound; ya and yb of opposite signs. False
// position after the Illinois rule (M. Dowell, P. Jarratt, BIT 11 (1971) 168).
template <class F>
double root(F&& y, double a, double b, double ya, double yb, double close) {
    const double tolerance = close * std::max(std::abs(a), std::abs(b));
    int side = 0;
    for (int n = 0; n < 60 && std::abs(b - a) > tolerance; ++n) {
        const double x = (ya * b - yb * a) / (ya - yb), yx = y(x);
        if (yx == 0.0) return x;
        if ((yx > 0.0) == (yb > 0.0)) {
            if (std::abs(b - x) < 0.1 * tolerance) return x;
            b = x, yb = yx;
            if (side == -1) ya *= 0.5;
            side = -1;
        } else {
            if (std::abs(a - x) < 0.1 * tolerance) return x;
            a = x, ya = yx;
            if (side == 1) yb *= 0.5;
            side = 1;
        }
    }
    return 0.5 * (a + b);
}

// The root of y near x: secants, the first with a slope as it was last time (0: from a point `probe` aside). None: the
// slope turns, or the way leads out of low..high. y is asked last where the root is, which lies nearer than `close` to
// the point before; slope is left as it is there.
template <class F>
std::optional<double> near_by(F&& y, double x, double& slope, double probe, double low, double high, double close) {
    double yx = y(x);
    if (slope == 0.0) slope = (y(x + probe) - yx) / probe;
    for (int n = 0; n < 10; ++n) {
        const double next = x - yx / slope;
        if (!(next > low && next < high)) break;
        const double y_next = y(next), step = next - x;
        if (std::abs(step) < close) return next;
        if (!((y_next - yx) / step * slope > 0.0)) break;
        slope = (y_next - yx) / step;
        x = next, yx = y_next;
    }
    slope = 0.0;
    return std::nullopt;
}

}  // namespace sunshaft::day
