// Where a function of one figure has its root, turns from true to false, or is least: Boost.Math's searches, in one
// file, so that no other has to read their headers. What is sought within a step of the solver or of a meter's filters
// is sought there, by what is known of it.
#pragma once

#include <cmath>
#include <functional>
#include <optional>

namespace sunshaft::roots {

using Function = std::function<double(double)>;

// Where y changes its sign between a and b, with its values there: narrowed until it is no wider than `within` (0: as
// far as doubles go), for a smooth function in some ten steps (G. E. Alefeld, F. A. Potra, Y. Shi, algorithm 748, ACM
// Trans. Math. Softw. 21 (1995) 327). Of the two points left that where y is nearer to 0, which it need not have been
// asked last. Infinite values count by their sign. Where y does not change its sign: the end where it is nearer to 0.
double root(const Function& y, double a, double b, double y_a, double y_b, double within = 0.0);
double root(const Function& y, double a, double b, double within = 0.0);

// The one place where something turns from true (at low) to false (at high), neither of which is asked: by halving.
double last_true(double low, double high, const std::function<bool(double)>& holds, double within = 0.0);

// Where y is least, between two points with one such place: to half the digits of a double, as flat as it is there.
double lowest(const Function& y, double low, double high);

// The root of y near x, where the last one is known: secants, the first with a slope as it was last time (0: from a
// point `probe` aside), which no search of Boost's begins with. None: the slope turns, or the way leads out of
// low..high. y is asked last where the root is, which lies nearer than `close` to the point before; slope is left as it
// is there.
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

}  // namespace sunshaft::roots
