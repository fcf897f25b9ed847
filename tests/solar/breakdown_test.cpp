// Cells driven backwards: against a published form's own solutions, and what it does in a sub-string.
#include <cmath>
#include <limits>

#include "catch_shim.hpp"
#include "solar/module.hpp"

using namespace sunshaft::solar;
using sunshaft::test::approx;

namespace {

// Example cell of the pvlib-python library for J. W. Bishop's equation (Solar Cells 25 (1988) 73-89).
SingleDiode cell(double sun) { return {8.24 * sun, 2.36e-9, 0.00181, 1000 / sun, 1.3 * thermal_voltage(25)}; }

SubString group(double lit, int dark, Bypass bypass = Bypass::open) {
    SubString s;
    s.cells = series(cell(1), lit), s.lit_cells = lit;
    s.dark = series(cell(0.2), dark), s.dark_cells = dark;
    s.bypass = bypass;
    return s;
}

}  // namespace

TEST_CASE("a cell breaks down backwards as Bishop's equation says") {
    // Bisection at 30 digits.
    const struct {
        double v, full, weak;
    } points[] = {{-14.9, 32.9103843, 12.5292342}, {-14.5, 8.96514653, 1.80443566}, {-13, 8.26369900, 1.65278284},
                  {-5, 8.24501858, 1.64900615},    {0, 8.23998505, 1.64799940},     {0.5, 8.22779194, 1.63971744},
                  {0.6, 8.00870402, 1.48588597},   {0.65, 7.25011769, 0.944957544}};
    for (const auto& p : points) {
        INFO(p.v);
        CHECK(current_and_slope(cell(1), Breakdown{}, p.v).i == approx(p.full).epsilon(5e-9));
        CHECK(current_and_slope(cell(0.2), Breakdown{}, p.v).i == approx(p.weak).epsilon(5e-9));
    }
    CHECK(voltage(cell(1), Breakdown{}, 0) == approx(0.733923166).epsilon(1e-9));
    CHECK(voltage(cell(0.2), Breakdown{}, 2) == approx(-14.6198397).epsilon(1e-8));
    CHECK(voltage(cell(0.2), Breakdown{}, 8) == approx(-14.8677621).epsilon(1e-8));
}

TEST_CASE("current, voltage and slope of a cell with breakdown agree with each other") {
    for (const double sun : {1.0, 0.05})
        for (const double v : {-14.95, -14.0, -9.0, -0.3, 0.2, 0.7, 2.0}) {
            INFO(sun << " " << v);
            const CurrentAndSlope at = current_and_slope(cell(sun), Breakdown{}, v);
            CHECK(voltage(cell(sun), Breakdown{}, at.i) == approx(v).epsilon(1e-7).margin(1e-7));
            const double h = 1e-5, up = current_and_slope(cell(sun), Breakdown{}, v + h).i,
                         down = current_and_slope(cell(sun), Breakdown{}, v - h).i;
            CHECK((up - down) / (2 * h) == approx(at.di_dv).epsilon(1e-4));
            CHECK(at.di_dv < 0);
        }
    const Breakdown never{std::numeric_limits<double>::infinity()};
    CHECK(current_and_slope(cell(1), never, -10).i == current(cell(1), -10));
}

TEST_CASE("one dark cell among lit ones is driven into breakdown, the further the more of them there are") {
    // Secant at 30 digits: 19 or 35 lit cells and one at 200 W/m2, 0 V and an ideal bypass at -0.5 V.
    const struct {
        double lit, at, ampere, volt, watt;
    } rows[] = {{17, 0, 1.65129869, -12.2988849, 20.3091324}, {17, -0.5, 1.65217219, -12.7987827, 21.1457929},
                {19, 0, 1.66005901, -13.7446668, 22.8169579}, {19, -0.5, 1.69413957, -14.2401989, 24.1248845},
                {23, 0, 7.35310748, -14.8612587, 109.276433}, {35, -0.5, 8.23876959, -14.8699829, 122.510363}};
    for (const auto& r : rows) {
        INFO(r.lit << " " << r.at);
        const SubString s = group(r.lit, 1);
        CHECK(current_and_slope(s, r.at).i == approx(r.ampere).epsilon(1e-7));
        CHECK(hottest(s, r.at).volt == approx(r.volt).epsilon(1e-7));
        CHECK(hottest(s, r.at).watt == approx(r.watt).epsilon(1e-7));
    }
}

TEST_CASE("a shaded third without its bypass diode is driven backwards cell by cell") {
    SubString s;
    s.cells = series(cell(0.2), 20), s.lit_cells = 20, s.bypass = Bypass::open;
    CHECK(voltage(s, 8) == approx(-20 * 14.8677621).epsilon(1e-8));
    CHECK(hottest(s, -20 * 14.8677621).watt == approx(118.942097).epsilon(1e-6));
    CHECK(current_and_slope(s, -20 * 14.8677621).i == approx(8).epsilon(1e-5));
    s.bypass = Bypass::good;
    CHECK(voltage(s, 8) > -0.6);
    CHECK(hottest(s, -0.5).watt == 0);
    // Warm as a module gives off heat: 25 W/m2 K over its own area.
    CHECK(hot_cell_degC(60, 50) == approx(50 + 60 / (0.024336 * 25)));
    // One more dark cell turns the same string's current with less on each.
    const SubString two = group(18, 2), one = group(19, 1);
    const SubString held = group(19, 1, Bypass::good);  // lit cells without the avalanche term: 1 uA a cell
    CHECK(current_and_slope(held, 5).i == approx(current_and_slope(one, 5).i).margin(2e-6));
    CHECK(current_and_slope(held, -0.5).i > current_and_slope(one, -0.5).i + 5);  // the diode carries the rest
    CHECK(hottest(held, -0.5).watt == approx(hottest(one, -0.5).watt).epsilon(1e-5));
    CHECK(voltage(two, 4) < voltage(one, 4));
    CHECK(voltage(one, current_and_slope(one, -30).i) == approx(-30).epsilon(1e-8));
}
