// The five parameters from a data sheet. With a and Rs chosen, the three points of the data sheet are linear in
// IL, I0 and 1/Rsh; dP/dV = 0 at the maximum then picks Rs for a given a, and the temperature coefficient of
// Voc, or the efficiency left in weak light, picks a. Two nested one-dimensional searches with sure brackets
// replace a five-dimensional one that needs a lucky start:
//   - Rs = 0 makes the curve too flat at Vmp when 2 Imp > Isc and a is small;
//   - Rs = (Voc - Vmp) / Imp makes it too steep when 2 Vmp > Voc;
//   - Rs and 1/Rsh both fall as a grows, so the physical values of a end at one limit;
//   - Voc falls faster with temperature the larger a is, and the larger the gap is;
//   - the larger a is the more efficiency is lost in weak light: Voc falls by a ln 5 from 1000 to 200 W/m2, and the
//     smaller Rs gives back less there.
#include <fmt/format.h>

#include <Eigen/Dense>
#include <cmath>
#include <optional>
#include <stdexcept>

#include "roots/roots.hpp"
#include "solar/module.hpp"
#include "text/language.hpp"

namespace sunshaft::solar {
namespace {

struct Fit {
    double IL, I0, conductance;  // A, A, S = 1 / Rsh
    double excess_slope;         // S, -di/dv at Vmp less Imp / Vmp: zero where dP/dV = 0
};

// Through the three points with given a and Rs. The unknown I0 is scaled to exp(Voc / a): nothing overflows.
Fit through_points(const DataSheet& d, double a, double Rs) {
    const double w[] = {d.Isc * Rs, d.Voc, d.Vmp + d.Imp * Rs};  // junction voltages
    const double zero = std::exp(-d.Voc / a);
    Eigen::Matrix3d A;
    for (int row = 0; row < 3; ++row) A.row(row) << 1, zero - std::exp((w[row] - d.Voc) / a), -w[row];
    const Eigen::Vector3d x = A.partialPivLu().solve(Eigen::Vector3d(d.Isc, 0, d.Imp));
    const double g = x[1] / a * std::exp((w[2] - d.Voc) / a) + x[2];
    return {x[0], x[1] * zero, x[2], g / (1 + g * Rs) - d.Imp / d.Vmp};
}

// Four conditions met with a given a; nothing where that needs Rs < 0, or a shunt that is no longer one (below
// 0, or leaking less than 1e-4 of Isc at Voc).
std::optional<SingleDiode> with_ideality(const DataSheet& d, double a) {
    const double without = through_points(d, a, 0).excess_slope, limit = (d.Voc - d.Vmp) / d.Imp * (1 - 1e-9);
    if (without > 0) return {};
    const double Rs = roots::root([&](double r) { return through_points(d, a, r).excess_slope; }, 0, limit, without,
                                  through_points(d, a, limit).excess_slope);
    const Fit f = through_points(d, a, Rs);
    if (!(f.conductance > 1e-4 * d.Isc / d.Voc && f.I0 > 0 && f.IL > 0)) return {};
    return SingleDiode{f.IL, f.I0, Rs, 1 / f.conductance, a};
}

void require(bool holds, const std::string& what) {
    if (!holds) throw std::invalid_argument("module: " + what);
}

void check_coefficients(const DataSheet& d) {
    const double per_cell = d.Voc / d.cells;
    require(d.cells >= 1, text::say("{} cells: expected 1 or more", d.cells));
    require(per_cell > 0.3 && per_cell < 1.3,
            text::say("Voc {} V over {} cells in series is {:.3g} V a cell: expected 0.3 to 1.3", d.Voc, d.cells,
                      per_cell));
    require(d.alpha_sc > -0.001 * d.Isc && d.alpha_sc < 0.003 * d.Isc,
            text::say("alpha {} A/K on Isc {} A: expected -0.1 to 0.3 % of Isc per kelvin, written in A/K", d.alpha_sc,
                      d.Isc));
    require(d.beta_oc < -0.001 * d.Voc && d.beta_oc > -0.007 * d.Voc,
            text::say("beta {} V/K on Voc {} V: expected -0.1 to -0.7 % of Voc per kelvin, written in V/K", d.beta_oc,
                      d.Voc));
}

void check(const DataSheet& d) {
    const auto positive = [](double x) { return x > 0 && std::isfinite(x); };
    require(positive(d.Isc), text::say("Isc is {} A: expected above 0", d.Isc));
    require(positive(d.Voc), text::say("Voc is {} V: expected above 0", d.Voc));
    require(positive(d.Imp), text::say("Imp is {} A: expected above 0", d.Imp));
    require(positive(d.Vmp), text::say("Vmp is {} V: expected above 0", d.Vmp));
    require(d.Imp < d.Isc, text::say("Imp {} A is not below Isc {} A", d.Imp, d.Isc));
    require(d.Vmp < d.Voc, text::say("Vmp {} V is not below Voc {} V", d.Vmp, d.Voc));
    // At the maximum the slope is -Imp/Vmp, and the curve bends downward everywhere: it lies below that
    // tangent.
    require(2 * d.Imp > d.Isc, text::say("Imp {} A is not above half of Isc {} A, so Vmp and Imp cannot be the "
                                         "maximum-power point",
                                         d.Imp, d.Isc));
    require(2 * d.Vmp > d.Voc, text::say("Vmp {} V is not above half of Voc {} V, so Vmp and Imp cannot be the "
                                         "maximum-power point",
                                         d.Vmp, d.Voc));
    check_coefficients(d);
}

bool falls_too_little(const ModuleData& m) { return voc_temperature_coefficient(m) >= m.beta_oc; }

// The gap with which Voc falls by beta_oc a kelvin.
void meet_beta(ModuleData& m) {
    const auto narrow_enough = [&](double gap) {
        m.gap_eV = gap;
        return falls_too_little(m);
    };
    require(narrow_enough(0.5) && !narrow_enough(4),
            text::say("Isc {} A, Voc {} V, Imp {} A, Vmp {} V make too square a curve. Voc cannot change by {} V/K",
                      m.Isc, m.Voc, m.Imp, m.Vmp, m.beta_oc));
    m.gap_eV = roots::last_true(0.5, 4, narrow_enough);
}

// The largest a for which the predicate holds of the module with four conditions met; where a larger one would not
// be physical, the largest that is. Says whether it was the predicate that stopped it.
template <class Predicate>
bool choose_ideality(ModuleData& m, const DataSheet& d, Predicate holds) {
    const auto sharp_enough = [&](double a) {
        const auto stc = with_ideality(d, a);
        if (!stc) return false;
        m.stc = *stc;
        return holds(m);
    };
    // Voc / a lies near 23 for silicon; 200 is a curve with a corner, 5 one that is hardly bent.
    const double sharpest = d.Voc / 200;
    require(sharp_enough(sharpest), text::say("no single-diode curve passes through Isc {} A, Voc {} V, Imp {} A, "
                                              "Vmp {} V. Its shoulder would be too square",
                                              d.Isc, d.Voc, d.Imp, d.Vmp));
    const double a = roots::last_true(sharpest, d.Voc / 5, sharp_enough);
    m.stc = with_ideality(d, a).value();
    return with_ideality(d, std::nextafter(a, d.Voc)).has_value();
}

ModuleData begun(const DataSheet& d) {
    check(d);
    ModuleData m;
    m.cells = d.cells;
    m.alpha_sc = d.alpha_sc;
    m.beta_oc = d.beta_oc;
    m.Isc = d.Isc, m.Voc = d.Voc, m.Imp = d.Imp, m.Vmp = d.Vmp;
    return m;
}

}  // namespace

ModuleData from_datasheet(const DataSheet& sheet) {
    ModuleData m = begun(sheet);
    // Stopped by the parameters, not by beta: the gap gives what is missing.
    if (!choose_ideality(m, sheet, falls_too_little)) meet_beta(m);
    return m;
}

ModuleData from_datasheet(const DataSheet& sheet, double low_light) {
    ModuleData m = begun(sheet);
    choose_ideality(m, sheet, [&](const ModuleData& with) {
        return with.stc.a <= sheet.Voc / 200 || low_light_efficiency(with) >= low_light;
    });
    meet_beta(m);
    return m;
}

ModuleData from_datasheet(const DataSheet& sheet, double low_light, double wanted_V) {
    ModuleData m = begun(sheet);
    // With this share of the shunt following the light: the efficiency left, which rises with it.
    const auto kept = [&](double share) {
        m.shunt_light = share;
        choose_ideality(m, sheet, [&](const ModuleData& with) {
            return with.stc.a <= sheet.Voc / 200 || low_light_voltage(with) >= wanted_V;
        });
        return low_light_efficiency(m);
    };
    const auto above = [&](double share) { return kept(share) - low_light; };
    if (const double none = above(0.0); none < 0.0) kept(roots::root(above, 0.0, 1.0, none, above(1.0), 1e-12));
    meet_beta(m);
    return m;
}

ModuleData from_parameters(const SingleDiode& stc, double alpha_sc, double beta_oc, int cells, double low_light) {
    ModuleData m;
    m.stc = stc;
    m.cells = cells;
    m.alpha_sc = alpha_sc;
    m.beta_oc = beta_oc;
    const KeyPoints k = key_points(stc);
    m.Isc = k.Isc, m.Voc = k.Voc, m.Imp = k.Imp, m.Vmp = k.Vmp;
    check_coefficients({k.Isc, k.Voc, k.Imp, k.Vmp, alpha_sc, beta_oc, cells});
    m.shunt_light = 0.0;
    if (!std::isnan(low_light))
        m.shunt_light = roots::last_true(0.0, 1.0, [&](double share) {
            m.shunt_light = share;
            return low_light_efficiency(m) < low_light;
        });
    meet_beta(m);
    return m;
}

}  // namespace sunshaft::solar
