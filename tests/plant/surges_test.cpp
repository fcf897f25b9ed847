// Reflected waves: against bounce diagrams, and what meters make of them.
#include <cmath>

#include "catch_shim.hpp"
#include "plant/surges.hpp"
#include "site/load.hpp"
#include "trace/statistics.hpp"

using namespace sunshaft;
using plant::SurgeLine;
using test::approx;

namespace {

// 540 V on 100 m of 80 ohm at 1.5e8 m/s, motor of 800 ohm: bounce diagram, and Bergeron's characteristics.
constexpr double way = 100 / 1.5e8;
SurgeLine line(double end, double source) { return {80, way, source, end, 1.0}; }

Scenario long_cable() {
    Scenario s = site::load_scenario(site::find_scenario("terrace-pwm"));
    s.drop_cable.length_m = 120;
    return s;
}

}  // namespace

TEST_CASE("the wave at the motor is that of the bounce diagram") {
    const double stages[] = {981.818182, 178.512397, 835.762585, 298.012431, 737.989829, 378.008321};
    for (int n = 0; n < 6; ++n)
        CHECK(540 * line(800, 0).voltage(0, 1, (2 * n + 2) * way) == approx(stages[n]).epsilon(1e-8));
    CHECK(540 * line(800, 5).voltage(0, 1, 2 * way) == approx(924.064171).epsilon(1e-8));
    CHECK(540 * line(800, 5).settled() == approx(536.645963).epsilon(1e-8));
    CHECK(540 * line(800, 0).voltage(0, 1, 0.5 * way) == 0);
    CHECK(line(800, 0).ring_Hz() == approx(375e3));
    // At the top: the whole surge current first, less what comes back.
    CHECK(540 * line(800, 0).current(0, 0, way) == approx(540.0 / 80));
    CHECK(540 * line(800, 0).current(0, 0, 3 * way) == approx(540.0 / 80 * (1 - 2 * 9.0 / 11)).epsilon(1e-9));
}

TEST_CASE("the peak falls once the edge lasts longer than there and back") {
    const struct {
        double end, source, edge, peak;
    } rows[] = {{800, 0, 0, 981.818182},       {800, 0, 2 * way, 981.818182}, {800, 0, 2e-6, 714.049587},
                {800, 0, 4 * way, 580.165289}, {800, 0, 4e-6, 665.364388},    {1e12, 0, 0, 1080},
                {1e12, 0, 2e-6, 720},          {800, 5, 2e-6, 701.695788},    {800, 5, 8e-6, 568.836069},
                {1500, 0, 4 * way, 564.572985}};
    for (const auto& r : rows) {
        INFO(r.end << " " << r.source << " " << r.edge);
        CHECK(540 * line(r.end, r.source).peak(r.edge) == approx(r.peak).epsilon(1e-8));
    }
    CHECK(line(800, 0).critical_m(1e-6, 100) == approx(75).epsilon(1e-12));
    // From there on reflection is full, below it is not.
    SurgeLine at{80, 0, 0, 800, 1.0};
    for (const double metres : {74.0, 76.0}) {
        at.delay_s = metres / 1.5e8;
        CHECK((at.peak(1e-6) > 1.8181) == (metres > 75));
    }
}

TEST_CASE("a recorded wave gets its edges back as they come, and nothing else") {
    const trace::Trace wave = {{0, 1e-3, 0, 0}, {1e-3, 2e-3, 300, 310}, {2e-3, 3e-3, -20, -20}};
    const SurgeLine lossy{50, 1e-6, 0.05, 2000, 0.95};
    for (const double edge : {0.0, 2e-7, 5e-6}) {
        const trace::Trace rung = plant::with_surges(lossy, edge, wave);
        INFO(edge);
        CHECK_NOTHROW(trace::check(rung));
        CHECK(trace::duration(rung) == approx(trace::duration(wave)));
        CHECK(trace::value_at(rung, 1e-3 + 0.9e-6) == approx(0).margin(0.01));  // still on its way
        CHECK(trace::value_at(rung, 1.9e-3) == approx(309).epsilon(1e-9));
        CHECK(trace::value_at(rung, 2.9e-3) == approx(-20).epsilon(1e-9));
        CHECK(trace::statistics(rung).max == approx(300 * lossy.peak(edge) / lossy.settled()).epsilon(2e-3));
        // Back at the old level for a way, then as much above it: the mean hardly moves.
        CHECK(trace::statistics(rung).mean == approx(trace::statistics(wave).mean).epsilon(4e-3));
    }
    // The sum of the fronts is the line's own answer, but for its died-away end.
    const trace::Trace step = {{0, 1e-4, 0, 0}, {1e-4, 2e-4, 1, 1}};
    const trace::Trace rung = plant::with_surges(lossy, 2e-7, step);
    for (const double t : {1.1e-6, 3.3e-6, 5.05e-6, 1.13e-5})
        CHECK(trace::value_at(rung, 1e-4 + t) == approx(lossy.voltage(2e-7, 1, t) / lossy.settled()).epsilon(1e-9));
    const trace::Trace none = {{0, 2e-4, 3, 3}};
    const trace::Trace top = plant::with_surges(lossy, 2e-7, none, step);
    for (const double t : {1e-7, 1.1e-6, 3.3e-6, 5.05e-6})
        CHECK(trace::value_at(top, 1e-4 + t) == approx(3 + lossy.current(2e-7, 0, t)).epsilon(1e-9));
    CHECK(trace::value_at(top, 2e-4) == approx(3).epsilon(1e-9));
}

TEST_CASE("which points and which sites have it") {
    CHECK(plant::at_motor("motor.u:motor.v"));
    CHECK(plant::at_motor("motor.u"));
    CHECK(plant::at_motor("cable.v:motor.n"));
    CHECK_FALSE(plant::at_motor("drive.u:motor.u"));
    CHECK_FALSE(plant::at_motor("lead.u:lead.v"));
    CHECK_FALSE(plant::at_motor("speed_rpm"));
    Scenario s = long_cable();
    const auto found = plant::surge_line(site::set_up(s));
    REQUIRE(found);
    CHECK(found->surge_ohm == approx(50).epsilon(1e-9));        // sqrt(0.3 uH/m / 0.12 nF/m)
    CHECK(found->delay_s == approx(120 * 6e-9).epsilon(1e-9));  // 1.67e8 m/s
    CHECK(found->keep < 0.97);
    CHECK(found->keep > 0.8);
    s.drop_cable.core_capacitance_F_per_km = 0;
    CHECK_FALSE(plant::surge_line(site::set_up(s)));
    s = long_cable();
    s.drive.modulation = "ideal-sine";
    CHECK_FALSE(plant::surge_line(site::set_up(s)));
}
