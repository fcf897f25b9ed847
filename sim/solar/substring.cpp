#include <algorithm>
#include <cmath>
#include <limits>

#include "solar/module.hpp"
#include "solar/wright_omega.hpp"

namespace sunshaft::solar {
namespace {

// No cell is driven backwards beyond what the single-diode law says.
bool plain(const SubString& s) { return s.dark_cells == 0 && s.bypass != Bypass::open; }

Breakdown several(const SubString& s, double cells) {
    Breakdown b = s.breakdown;
    b.volt *= cells;
    return b;
}
double lit_voltage(const SubString& s, double i) {
    if (s.bypass != Bypass::open) return voltage(s.cells, i);
    return voltage(s.cells, several(s, s.lit_cells), i);
}
double dark_voltage(const SubString& s, double i) { return voltage(s.dark, several(s, s.dark_cells), i); }

double cells_voltage(const SubString& s, double i) {
    return s.dark_cells == 0 ? lit_voltage(s, i) : lit_voltage(s, i) + dark_voltage(s, i);
}

CurrentAndSlope cells_current(const SubString& s, double v) {
    if (plain(s)) return current_and_slope(s.cells, v);
    if (s.dark_cells == 0) return current_and_slope(s.cells, several(s, s.lit_cells), v);
    return current_in_series(s.dark, several(s, s.dark_cells), s.cells,
                             s.bypass == Bypass::open ? several(s, s.lit_cells) : Breakdown{.volt = Breakdown::never},
                             v);
}

// The bypass diode, its saturation current written as rated * exp(-knee / vt) so that no steepness overflows.
struct BypassDiode {
    double knee;        // V, the diode's own share of the drop at the rated current
    double saturation;  // A
    explicit BypassDiode(const SubString& s)
        : knee(s.bypass_drop_V - s.rated_A * s.bypass_ohm), saturation(s.rated_A * std::exp(-knee / s.bypass_vt)) {}
};

// Its current at a sub-string voltage v. With j = i + Is = rated exp((-v - i r - knee) / vt):
//   (j r / vt) + ln(j r / vt) = (Is r - v - knee) / vt + ln(rated r / vt)
CurrentAndSlope bypass_current(const SubString& s, double v) {
    const BypassDiode d(s);
    const double unit = s.bypass_vt / s.bypass_ohm;
    const double u =
        wright_omega((d.saturation * s.bypass_ohm - v - d.knee) / s.bypass_vt + std::log(s.rated_A / unit));
    return {unit * u - d.saturation, -u / ((1 + u) * s.bypass_ohm)};
}

// The voltage at which the bypass diode by itself carries i > 0.
double bypass_voltage(const SubString& s, double i) {
    if (s.bypass == Bypass::shorted) return -i * s.bypass_ohm;
    const BypassDiode d(s);
    return -(d.knee + s.bypass_vt * std::log((i + d.saturation) / s.rated_A) + i * s.bypass_ohm);
}

}  // namespace

CurrentAndSlope current_and_slope(const SubString& s, double v) {
    v = std::clamp(v, -1e100, 1e100);  // beyond it v / vt could overflow
    const CurrentAndSlope cells = cells_current(s, v);
    if (s.bypass == Bypass::open) return cells;
    const CurrentAndSlope around =
        s.bypass == Bypass::shorted ? CurrentAndSlope{-v / s.bypass_ohm, -1 / s.bypass_ohm} : bypass_current(s, v);
    return {cells.i + around.i, cells.di_dv + around.di_dv};
}

double voltage(const SubString& s, double i) {
    const double alone = cells_voltage(s, i);
    if (s.bypass == Bypass::open) return alone;
    // The answer lies between zero and what the cells alone would show, since the diode pulls towards zero;
    // below zero it is also no lower than what the diode alone would show. Started from the end where the
    // curvature makes Newton run straight home; halved if rounding throws it out.
    double low = std::min(alone, 0.0), high = std::max(alone, 0.0);
    if (alone < 0) low = std::max(low, bypass_voltage(s, i));
    double v = alone < 0 ? low : high;
    for (int n = 0; n < 200; ++n) {
        const CurrentAndSlope at = current_and_slope(s, v);
        (at.i > i ? low : high) = v;
        double next = v - (at.i - i) / at.di_dv;
        if (!(next >= low && next <= high)) next = low + 0.5 * (high - low);
        const bool done = std::abs(next - v) <= 1e-15 * std::max(1.0, std::abs(v));
        v = next;
        if (done) break;
    }
    return v;
}

HotCell hottest(const SubString& s, double v) {
    if (plain(s)) return {};
    const double i = cells_current(s, v).i;
    HotCell hot;
    if (s.dark_cells > 0) hot.volt = dark_voltage(s, i) / s.dark_cells;
    else hot.volt = v / s.lit_cells;
    hot.watt = std::max(0.0, -hot.volt * i);
    return hot;
}

SubString substring(const ModuleData& module, double irradiance, double cell_degC) {
    SubString s;
    s.cells = series(translate(module, irradiance, cell_degC), 1.0 / module.substrings);
    s.bypass_drop_V = std::max(module.bypass_drop_V, 1e-3);
    s.lit_cells = static_cast<double>(module.cells) / module.substrings;
    if (module.Isc > 0) s.rated_A = module.Isc;
    // A low drop asks for a steep diode, or it would leak in daylight: never more than about a millionth of
    // Isc.
    s.bypass_vt = std::min(s.bypass_vt, s.bypass_drop_V / 15);
    s.bypass_ohm = std::min(s.bypass_ohm, 0.1 * s.bypass_drop_V / s.rated_A);
    return s;
}

}  // namespace sunshaft::solar
