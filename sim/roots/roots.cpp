#include "roots/roots.hpp"

#include <algorithm>
#include <boost/math/tools/minima.hpp>
#include <boost/math/tools/roots.hpp>
#include <cmath>
#include <cstdint>
#include <limits>
#include <utility>

namespace sunshaft::roots {
namespace {

namespace tools = boost::math::tools;

// A jump is halved in turns with steps that do not help.
constexpr std::uintmax_t most_steps = 1200;
constexpr double infinite = 1e100;  // differences and slopes of such values are doubles still

double finite(double y) { return std::clamp(y, -infinite, infinite); }

bool changes_sign(double y_low, double y_high) {
    return (y_low <= 0.0 && y_high >= 0.0) || (y_low >= 0.0 && y_high <= 0.0);
}

}  // namespace

double root(const Function& y, double a, double b, double y_a, double y_b, double within) {
    if (a > b) std::swap(a, b), std::swap(y_a, y_b);
    const auto nearer = [&] { return std::abs(y_a) <= std::abs(y_b) ? a : b; };
    if (a == b || !changes_sign(y_a, y_b)) return nearer();
    const auto kept = [&](double x) {  // a and b stay about the root
        const double yx = y(x);
        if (changes_sign(yx, y_b)) a = x, y_a = yx;
        else b = x, y_b = yx;
        return finite(yx);
    };
    const auto narrow = [within](double low, double high) {
        const double last_digits = 2 * std::numeric_limits<double>::epsilon() * std::max(std::abs(low), std::abs(high));
        return high - low <= std::max(within, last_digits);
    };
    const double from = a, to = b;  // it takes references, and a and b move
    std::uintmax_t steps = most_steps;
    tools::toms748_solve(kept, from, to, finite(y_a), finite(y_b), narrow, steps);
    return nearer();
}

double root(const Function& y, double a, double b, double within) {
    const double y_a = y(a);
    return y_a == 0.0 ? a : root(y, a, b, y_a, y(b), within);
}

double last_true(double low, double high, const std::function<bool(double)>& holds, double within) {
    const auto side = [&](double x) { return x <= low ? 1.0 : x >= high ? -1.0 : holds(x) ? 1.0 : -1.0; };
    const auto narrow = [&](double a, double b) { return b - a <= within; };
    std::uintmax_t steps = most_steps;
    return low < high ? tools::bisect(side, low, high, narrow, steps).first : low;
}

double lowest(const Function& y, double low, double high) {
    return tools::brent_find_minima(y, low, high, std::numeric_limits<double>::digits).first;
}

}  // namespace sunshaft::roots
