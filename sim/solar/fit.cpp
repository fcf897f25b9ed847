// The five parameters from a data sheet. With a and Rs chosen, the three points of the data sheet are linear in
// IL, I0 and 1/Rsh; dP/dV = 0 at the maximum then picks Rs for a given a, and the temperature coefficient of
// Voc picks a. Two nested one-dimensional searches with sure brackets replace a five-dimensional one that needs
// a lucky start:
//   - Rs = 0 makes the curve too flat at Vmp when 2 Imp > Isc and a is small;
//   - Rs = (Voc - Vmp) / Imp makes it too steep when 2 Vmp > Voc;
//   - Rs and 1/Rsh both fall as a grows, so the physical values of a end at one limit;
//   - Voc falls faster with temperature the larger a is, and the larger the gap is.
#include <fmt/format.h>

#include <Eigen/Dense>
#include <cmath>
#include <optional>
#include <stdexcept>

#include "solar/module.hpp"

namespace sunshaft::solar {
namespace {

struct DataSheet {
    double Isc, Voc, Imp, Vmp, alpha_sc, beta_oc;
};

// The one place where a predicate turns from true (low) to false (high), to the last place of a double.
template <class Predicate>
double last_true(double low, double high, Predicate holds) {
    for (;;) {
        const double middle = low + 0.5 * (high - low);
        if (middle <= low || middle >= high) return low;
        (holds(middle) ? low : high) = middle;
    }
}

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
    if (through_points(d, a, 0).excess_slope > 0) return {};
    const double limit = (d.Voc - d.Vmp) / d.Imp;
    const double Rs =
        last_true(0, limit * (1 - 1e-9), [&](double r) { return through_points(d, a, r).excess_slope <= 0; });
    const Fit f = through_points(d, a, Rs);
    if (!(f.conductance > 1e-4 * d.Isc / d.Voc && f.I0 > 0 && f.IL > 0)) return {};
    return SingleDiode{f.IL, f.I0, Rs, 1 / f.conductance, a};
}

void require(bool holds, const std::string& what) {
    if (!holds) throw std::invalid_argument("module data sheet: " + what);
}

void check(const DataSheet& d, int cells) {
    const auto positive = [](double x) { return x > 0 && std::isfinite(x); };
    require(positive(d.Isc), fmt::format("Isc is {} A: expected above 0", d.Isc));
    require(positive(d.Voc), fmt::format("Voc is {} V: expected above 0", d.Voc));
    require(positive(d.Imp), fmt::format("Imp is {} A: expected above 0", d.Imp));
    require(positive(d.Vmp), fmt::format("Vmp is {} V: expected above 0", d.Vmp));
    require(cells >= 1, fmt::format("{} cells: expected 1 or more", cells));
    require(d.Imp < d.Isc, fmt::format("Imp {} A is not below Isc {} A", d.Imp, d.Isc));
    require(d.Vmp < d.Voc, fmt::format("Vmp {} V is not below Voc {} V", d.Vmp, d.Voc));
    // At the maximum the slope is -Imp/Vmp, and the curve bends downward everywhere: it lies below that
    // tangent.
    require(2 * d.Imp > d.Isc,
            fmt::format("Imp {} A is not above half of Isc {} A, so Vmp and Imp cannot be the "
                        "maximum-power point",
                        d.Imp, d.Isc));
    require(2 * d.Vmp > d.Voc,
            fmt::format("Vmp {} V is not above half of Voc {} V, so Vmp and Imp cannot be the "
                        "maximum-power point",
                        d.Vmp, d.Voc));
    const double per_cell = d.Voc / cells;
    require(per_cell > 0.3 && per_cell < 1.3,
            fmt::format("Voc {} V over {} cells in series is {:.3g} V a cell: expected 0.3 to 1.3", d.Voc,
                        cells, per_cell));
    require(d.alpha_sc > -0.001 * d.Isc && d.alpha_sc < 0.003 * d.Isc,
            fmt::format("alpha {} A/K on Isc {} A: expected -0.1 to 0.3 % of Isc per kelvin, written in A/K",
                        d.alpha_sc, d.Isc));
    require(d.beta_oc < -0.001 * d.Voc && d.beta_oc > -0.007 * d.Voc,
            fmt::format("beta {} V/K on Voc {} V: expected -0.1 to -0.7 % of Voc per kelvin, written in V/K",
                        d.beta_oc, d.Voc));
}

}  // namespace

ModuleData from_datasheet(double Isc, double Voc, double Imp, double Vmp, double alpha_sc, double beta_oc,
                          int cells) {
    const DataSheet d{Isc, Voc, Imp, Vmp, alpha_sc, beta_oc};
    check(d, cells);

    ModuleData m;
    m.cells = cells;
    m.alpha_sc = alpha_sc;
    m.beta_oc = beta_oc;
    m.Isc = Isc, m.Voc = Voc, m.Imp = Imp, m.Vmp = Vmp;

    const auto falls_too_little = [&] { return voc_temperature_coefficient(m) >= beta_oc; };
    const auto sharp_enough = [&](double a) {
        const auto stc = with_ideality(d, a);
        if (!stc) return false;
        m.stc = *stc;
        return falls_too_little();
    };
    // Voc / a lies near 23 for silicon; 200 is a curve with a corner, 5 one that is hardly bent.
    const double sharpest = Voc / 200;
    require(
        sharp_enough(sharpest),
        fmt::format("no single-diode curve passes through Isc {} A, Voc {} V, Imp {} A, Vmp {} V: its shoulder "
                    "would be too square",
                    Isc, Voc, Imp, Vmp));
    const double a = last_true(sharpest, Voc / 5, sharp_enough);
    m.stc = with_ideality(d, a).value();

    // Stopped by the parameters, not by beta: a larger a would not be physical. The gap gives what is missing.
    if (with_ideality(d, std::nextafter(a, Voc))) return m;
    const auto narrow_enough = [&](double gap) {
        m.gap_eV = gap;
        return falls_too_little();
    };
    require(narrow_enough(0.7) && !narrow_enough(4),
            fmt::format(
                "Isc {} A, Voc {} V, Imp {} A, Vmp {} V make so square a curve that Voc cannot change by {} "
                "V/K",
                Isc, Voc, Imp, Vmp, beta_oc));
    m.gap_eV = last_true(0.7, 4, narrow_enough);
    return m;
}

}  // namespace sunshaft::solar
