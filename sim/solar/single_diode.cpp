#include "solar/single_diode.hpp"

#include <algorithm>
#include <cmath>
#include <limits>

#include "solar/wright_omega.hpp"

namespace sunshaft::solar {
namespace {

constexpr double exponent_limit = 300;   // exp() is continued by its tangent above; only ever met with Rs = 0
constexpr double voltage_limit = 1e100;  // beyond it v / a could overflow

// The inner junction: its voltage w = v + i Rs, and what flows out of it past diode and shunt at that voltage.
struct Junction {
    double w;      // V
    double i;      // A
    double slope;  // S, -di/dw > 0
};

Junction junction_at(const SingleDiode& c, double w) {
    const double x = w / c.a;
    if (x > exponent_limit) {
        const double top = c.I0 * std::exp(exponent_limit);
        return {w, c.IL - top * (1 + x - exponent_limit) - w / c.Rsh, top / c.a + 1 / c.Rsh};
    }
    const double diode = c.I0 * std::expm1(x);
    return {w, c.IL - diode - w / c.Rsh, (diode + c.I0) / c.a + 1 / c.Rsh};
}

// The junction behind a terminal voltage: c w + Rs I0 exp(w / a) = v + Rs (IL + I0) with c = 1 + Rs / Rsh.
Junction junction_behind(const SingleDiode& cell, double v) {
    const double scale = cell.a * (1 + cell.Rs / cell.Rsh);
    const double k = cell.Rs * cell.I0 / scale;
    if (k < std::numeric_limits<double>::min()) return junction_at(cell, v);
    const double z = (v + cell.Rs * (cell.IL + cell.I0)) / scale;
    const double log_k = std::log(k);
    const double u = wright_omega(z + log_k);  // = k exp(x)
    // Where u outgrows x the difference would cancel; where u underflows its logarithm would fail.
    const double x = u < 1 ? z - u : std::log(u) - log_k;
    if (std::abs(x) < 1.0 / 16) {
        // Near zero in the dark x is the small difference of larger numbers: expm1 and one Newton step, which
        // needs no second exponential, win the digits back.
        Junction j = junction_at(cell, x * cell.a);
        const double step = (v + cell.Rs * j.i - j.w) / (1 + cell.Rs * j.slope);
        j.w += step;
        j.i -= j.slope * step;
        return j;
    }
    const double exponential = cell.I0 / k * u;
    return {x * cell.a, cell.IL + cell.I0 - exponential - x * cell.a / cell.Rsh, exponential / cell.a + 1 / cell.Rsh};
}

}  // namespace

double current(const SingleDiode& cell, double v) { return current_and_slope(cell, v).i; }

CurrentAndSlope current_and_slope(const SingleDiode& cell, double v) {
    const Junction j = junction_behind(cell, std::clamp(v, -voltage_limit, voltage_limit));
    return {j.i, -j.slope / (1 + cell.Rs * j.slope)};
}

double voltage(const SingleDiode& cell, double i) {
    const double passed = cell.IL - i;  // through diode and shunt
    double x;
    if (std::isinf(cell.Rsh)) {
        x = passed > -cell.I0 ? std::log1p(passed / cell.I0) : -std::numeric_limits<double>::infinity();
    } else {
        // (w / a) + (Rsh I0 / a) exp(w / a) = Rsh (IL + I0 - i) / a
        const double log_k = std::log(cell.Rsh * cell.I0 / cell.a);
        const double z = cell.Rsh * (passed + cell.I0) / cell.a;
        const double u = wright_omega(z + log_k);
        x = u < 1 ? z - u : std::log(u) - log_k;
    }
    return x * cell.a - i * cell.Rs;
}

KeyPoints key_points(const SingleDiode& cell) {
    if (cell.IL <= 0) return {};
    KeyPoints k{};
    k.Isc = current(cell, 0);
    k.Voc = voltage(cell, 0);
    // dP/dw = 0 along the junction voltage: h = i + g (2 i Rs - w) falls from plus to minus between short and
    // open circuit, with g = -di/dw. Newton, kept inside the bracket by halving.
    double low = k.Isc * cell.Rs, high = k.Voc, w = low + 0.8 * (high - low);
    for (int n = 0; n < 200; ++n) {
        const Junction j = junction_at(cell, w);
        const double h = j.i + j.slope * (2 * j.i * cell.Rs - w);
        (h > 0 ? low : high) = w;
        const double curvature = (j.slope - 1 / cell.Rsh) / cell.a;
        const double slope = -2 * j.slope * (1 + j.slope * cell.Rs) + curvature * (2 * j.i * cell.Rs - w);
        double next = w - h / slope;
        if (!(next > low && next < high)) next = low + 0.5 * (high - low);
        const bool done = std::abs(next - w) <= 1e-15 * high;
        w = next;
        if (done) break;
    }
    const Junction j = junction_at(cell, w);
    k.Imp = j.i;
    k.Vmp = w - j.i * cell.Rs;
    k.Pmp = k.Vmp * k.Imp;
    return k;
}

SingleDiode series(const SingleDiode& cell, double n) {
    return {cell.IL, cell.I0, cell.Rs * n, cell.Rsh * n, cell.a * n};
}

SingleDiode parallel(const SingleDiode& cell, double m) {
    return {cell.IL * m, cell.I0 * m, cell.Rs / m, cell.Rsh / m, cell.a};
}

}  // namespace sunshaft::solar
