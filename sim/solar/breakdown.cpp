#include "solar/breakdown.hpp"

#include <algorithm>
#include <cmath>
#include <limits>

namespace sunshaft::solar {
namespace {

// What flows out at the junction's voltage, written in y = ln(1 + w / volt), which keeps w above -volt.
struct Avalanching {
    double w, i, slope;  // V, A, S: -di/dw > 0
    double dw_dy;        // V
};

Avalanching junction(const SingleDiode& c, const Breakdown& b, double y) {
    constexpr double exponent_limit = 300;
    Avalanching j{};
    j.dw_dy = b.volt * std::exp(y);
    j.w = b.volt * std::expm1(y);
    const double x = j.w / c.a;
    const bool beyond = x > exponent_limit;  // continued by the tangent, as in single_diode.cpp
    const double top = beyond ? c.I0 * std::exp(exponent_limit) : 0.0;
    const double diode = beyond ? top * (1 + x - exponent_limit) : c.I0 * std::expm1(x);
    const double diode_slope = (beyond ? top : diode + c.I0) / c.a;
    const double rise = b.share * std::exp(-b.exponent * y) / c.Rsh;  // of the avalanche, S
    j.i = c.IL - diode - j.w / c.Rsh - rise * j.w;
    j.slope = diode_slope + 1 / c.Rsh + rise * (1 - b.exponent * j.w / j.dw_dy);
    return j;
}

// The junction at which rising() is zero: Newton kept within a bracket. On an exponential Newton creeps a fixed way
// each time: unless it leaves a tenth or less of the miss the bracket is halved instead.
template <class Rising>
Avalanching solve(const SingleDiode& c, const Breakdown& b, Rising rising) {
    double low = -90.0, high = std::log(1e101 / b.volt), y = 0.0, before = Breakdown::never;
    Avalanching best{};
    double least = Breakdown::never;
    for (int n = 0; n < 120; ++n) {
        const Avalanching j = junction(c, b, y);
        const auto [value, slope] = rising(j);
        if (!(std::abs(value) >= least)) best = j, least = std::abs(value);
        (value > 0 ? high : low) = y;
        const double step = -value / (slope * j.dw_dy);
        if (std::abs(step) <= 2e-16 * (1.0 + std::abs(y)) || high - low <= 2e-16 * (1.0 + std::abs(y))) break;
        const bool fast = std::abs(value) < 0.1 * before && y + step > low && y + step < high;
        before = std::abs(value);
        y = fast || n == 0 ? std::clamp(y + step, low, high) : 0.5 * (low + high);
        if (!fast) before = Breakdown::never;
    }
    return best;
}

struct Value {
    double value, slope;  // against w
};

}  // namespace

CurrentAndSlope current_and_slope(const SingleDiode& c, const Breakdown& b, double v) {
    if (std::isinf(b.volt) || std::isinf(c.Rsh)) return current_and_slope(c, v);
    const Avalanching j = solve(c, b, [&](const Avalanching& at) {
        return Value{at.w - at.i * c.Rs - v, 1 + at.slope * c.Rs};
    });
    return {j.i, -j.slope / (1 + c.Rs * j.slope)};
}

double voltage(const SingleDiode& c, const Breakdown& b, double i) {
    if (std::isinf(b.volt) || std::isinf(c.Rsh)) return voltage(c, i);
    const Avalanching j = solve(c, b, [&](const Avalanching& at) { return Value{i - at.i, at.slope}; });
    return j.w - i * c.Rs;
}

CurrentAndSlope current_in_series(const SingleDiode& dark, const Breakdown& of_dark, const SingleDiode& lit,
                                  const Breakdown& of_lit, double v) {
    if (std::isinf(of_dark.volt) || std::isinf(dark.Rsh)) {
        // Without an avalanche the dark part's law is explicit in its junction voltage as well, whatever scale y has.
        Breakdown none = of_dark;
        none.volt = 1e6, none.share = 0.0;
        return current_in_series({dark.IL, dark.I0, dark.Rs, std::min(dark.Rsh, 1e12), dark.a}, none, lit, of_lit, v);
    }
    const auto lit_slope = [&](double i, double& at) {
        at = voltage(lit, of_lit, i);
        return std::isfinite(at) ? current_and_slope(lit, of_lit, at).di_dv : -1e-300;
    };
    const Avalanching j = solve(dark, of_dark, [&](const Avalanching& at) {
        double of = 0.0;
        const double slope = lit_slope(at.i, of);
        return Value{at.w - at.i * dark.Rs + of - v, 1 + at.slope * dark.Rs - at.slope / slope};
    });
    double at = 0.0;
    const double of_dark_slope = -j.slope / (1 + dark.Rs * j.slope), other = lit_slope(j.i, at);
    return {j.i, of_dark_slope * other / (of_dark_slope + other)};
}

double hot_cell_degC(double watt, double module_degC) {
    constexpr double area_m2 = 0.156 * 0.156, W_per_m2_K = 25.0;
    return module_degC + std::max(0.0, watt) / (area_m2 * W_per_m2_K);
}

}  // namespace sunshaft::solar
