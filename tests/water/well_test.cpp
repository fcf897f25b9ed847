#include "water/well.hpp"

#include "catch_shim.hpp"
#include "water/tank.hpp"

using namespace sunshaft::water;
using sunshaft::test::approx;

namespace {
// 30 m to the water, 0.5 m per m3/h, bore 60 m deep and 150 mm wide, pump at 45 m, probe 2 m above.
Well well() { return {30, 0.5 * 3600, 120, 60, 0.15, 45, 43}; }
}  // namespace

TEST_CASE("well: draws down and comes back with its time constant") {
    const Well w = well();
    const double q = 6.0 / 3600;
    REQUIRE(w.steady_level(q) == approx(33).epsilon(1e-12));
    REQUIRE(w.level_after(30, q, 120) == approx(33 - 3 * std::exp(-1.0)).epsilon(1e-12));
    REQUIRE(w.level_after(30, q, 1e6) == approx(33).epsilon(1e-12));
    REQUIRE(w.level_after(33, 0, 120) == approx(30 + 3 * std::exp(-1.0)).epsilon(1e-12));
    // Two steps are one step.
    REQUIRE(w.level_after(w.level_after(30, q, 7), q, 13) == approx(w.level_after(30, q, 20)).epsilon(1e-13));
    REQUIRE(w.level_after(30, 1.0, 1e6) == 60);  // pumped to the bottom, not below
}

TEST_CASE("well: never gives more at the start than stands in the bore") {
    Well w = well();
    w.recovery = 1;  // faster than the bore can fall
    const double q = 6.0 / 3600, area = 3.14159265358979 / 4 * 0.15 * 0.15, dt = 1e-3;
    // With no inflow yet the bore alone delivers: A dy = Q dt.
    REQUIRE(w.level_after(30, q, dt) - 30 == approx(q * dt / area).epsilon(1e-4));
    w.specific_drawdown = 0;
    w.recovery = 0;  // an open lake
    REQUIRE(w.level_after(31, q, 1) == 30);
}

TEST_CASE("well: intake and probe") {
    const Well w = well();
    REQUIRE(w.submergence(33) == 12);
    REQUIRE(w.intake_covered(33) == 1);
    REQUIRE(w.intake_covered(44.9) == approx(0.5).epsilon(1e-9));
    REQUIRE(w.intake_covered(45) == 0);
    REQUIRE(w.intake_covered(50) == 0);
    REQUIRE(w.probe_wet(43, false));
    REQUIRE_FALSE(w.probe_wet(43.005, false));
    REQUIRE(w.probe_wet(43.005, true));
    REQUIRE_FALSE(w.probe_wet(43.02, true));
}

TEST_CASE("tank: fills, runs over, runs empty; the float holds between its marks") {
    const Tank tank{10};
    REQUIRE(tank.fill_after(0.4, 6.0 / 3600, 0, 3600) == approx(1.0).epsilon(1e-12));
    REQUIRE(tank.fill_after(0.4, 6.0 / 3600, 2.0 / 3600, 1800) == approx(0.6).epsilon(1e-12));
    REQUIRE(tank.fill_after(0.9, 1, 0, 100) == 1);
    REQUIRE(tank.fill_after(0.1, 0, 1, 100) == 0);
    const double depth = tank.level(1);  // as high as wide
    REQUIRE(3.14159265358979 / 4 * depth * depth * depth == approx(10).epsilon(1e-12));
    REQUIRE(tank.level(0.5) == approx(depth / 2).epsilon(1e-12));
    REQUIRE_FALSE(tank.float_up(0.90, false));
    REQUIRE(tank.float_up(0.95, false));
    REQUIRE(tank.float_up(0.90, true));
    REQUIRE_FALSE(tank.float_up(0.80, true));
}
