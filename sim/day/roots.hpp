// One root between two bounds.
#pragma once

#include <algorithm>
#include <cmath>

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

}  // namespace sunshaft::day
