// Margins of a site: what fits, what fails, what is not known.
#include "day/fit.hpp"

#include <algorithm>

#include "bench/hazards.hpp"
#include "catch_shim.hpp"
#include "site/keys.hpp"
#include "site/load.hpp"

using namespace sunshaft;
using test::approx;

namespace {

Scenario orchard_with(const std::vector<std::string>& set) {
    Scenario s = site::load_scenario(site::find_scenario("hill-orchard"));
    site::set_keys(s, set);
    return s;
}
const std::vector<std::string> told = {"drive.highest_input_V=450", "site.lowest_module_temperature_degC=-8",
                                       "dc_run.rated_A=40", "tank.need_m3_day=15", "array.module_fuse_A=15"};
std::vector<std::string> with(std::vector<std::string> list, const char* more) {
    list.emplace_back(more);
    return list;
}
const day::Margin& row(const day::Fit& f, const std::string& what) {
    const auto found = std::find_if(f.rows.begin(), f.rows.end(), [&](const auto& m) { return m.what == what; });
    REQUIRE(found != f.rows.end());
    return *found;
}

}  // namespace

TEST_CASE("a site with a figure missing is not called sound") {
    const day::Fit bare = day::fit(orchard_with({}));
    REQUIRE(bare.incomplete());
    REQUIRE_FALSE(bare.sound());
    REQUIRE(row(bare, "coldest bright morning").note.find("drive.highest_input_V") != std::string::npos);
    REQUIRE(row(bare, "DC run's conductor").verdict == day::Margin::Verdict::untold);
    const day::Fit full = day::fit(orchard_with(told));
    for (const day::Margin& m : full.rows) {
        INFO(m.what << " is " << m.is << ", bound " << m.bound << " " << m.unit);
        REQUIRE(m.verdict != day::Margin::Verdict::untold);
        REQUIRE_FALSE(m.rule.empty());
        REQUIRE_FALSE(m.source.empty());
    }
}

TEST_CASE("each margin is worked out from the site") {
    const day::Fit f = day::fit(orchard_with(told));
    // Ten modules at -8 degC: what the hazards say can be present.
    REQUIRE(row(f, "coldest bright morning").is == approx(bench::highest_V(site::set_up(orchard_with(told)))));
    REQUIRE(row(f, "DC run's conductor").is == approx(1.25 * 2 * row(f, "current back into a string").is));
    // The cold motor of the live run draws 8.35 A there; warm windings and a lower well a little less.
    REQUIRE(row(f, "motor current in full sun").is > 7.8);
    REQUIRE(row(f, "motor current in full sun").is < 8.4);
    // A module more, and the cold morning is too much for the drive.
    const day::Fit more = day::fit(orchard_with(with(told, "array.modules_in_series=12")));
    REQUIRE(row(more, "coldest bright morning").verdict == day::Margin::Verdict::fails);
    REQUIRE(more.fails());
    // A thin cable shows in its loss, a deep well at the intake.
    REQUIRE(row(day::fit(orchard_with(with(told, "drop_cable.conductor_mm2=1"))), "loss of the pump cable").is >
            1.8 * row(f, "loss of the pump cable").is);
    const day::Fit drained = day::fit(orchard_with(with(told, "well.drawdown_m_per_m3_h=3")));
    REQUIRE(row(drained, "pumped water level").is > row(f, "pumped water level").is + 3);
    // No bleed: the wait is none.
    REQUIRE(
        row(day::fit(orchard_with(with(told, "link.bleed_ohm=inf"))), "link below 60 V by its bleed alone").verdict ==
        day::Margin::Verdict::fails);
}

TEST_CASE("the change that helps most mends the worst margin first") {
    const Scenario s = orchard_with(with(told, "array.modules_in_series=12"));
    const auto best = day::suggest(s);
    REQUIRE(best);
    REQUIRE(best->change == "array.modules_in_series=11");
    REQUIRE(best->row == "coldest bright morning");
    REQUIRE(best->row_after > best->row_before);
}

TEST_CASE("a row of water that fails more does not hide what helps the electrical one") {
    const Scenario s = orchard_with(
        {"drive.highest_input_V=450", "dc_run.rated_A=40", "tank.need_m3_day=60", "array.modules_in_series=12"});
    const day::Fit now = day::fit(s);
    REQUIRE(row(now, "coldest bright morning").verdict == day::Margin::Verdict::fails);
    REQUIRE(row(now, "tank against need").left() < row(now, "coldest bright morning").left());
    const auto best = day::suggest(s);
    REQUIRE(best);
    REQUIRE(best->change == "array.modules_in_series=11");
    REQUIRE(best->row == "coldest bright morning");
    // Nothing electrical fails: the tank's turn.
    const auto tank = day::suggest(orchard_with(with(told, "tank.need_m3_day=40")));
    REQUIRE(tank);
    REQUIRE(tank->change == "tank.volume_m3=40");
    REQUIRE(tank->fails_after == tank->fails_before - 1);
}

TEST_CASE("what modules bear backwards goes by the fuse on their plate, what a meter bears by its own") {
    const day::Fit bare = day::fit(orchard_with({}));
    REQUIRE(row(bare, "current back into a string").verdict == day::Margin::Verdict::untold);
    REQUIRE(row(bare, "current back into a string").note.find("array.module_fuse_A") != std::string::npos);
    const day::Fit small = day::fit(orchard_with(with(told, "array.module_fuse_A=5")));
    REQUIRE(row(small, "current back into a string").verdict == day::Margin::Verdict::fails);
    REQUIRE(row(small, "current back into a string").bound == approx(1.35 * 5));
    const day::Fit full = day::fit(orchard_with(told));
    const day::Margin& usual = row(full, "meter on such a morning");
    REQUIRE(usual.is == row(full, "coldest bright morning").is);
    REQUIRE(usual.bound == 1000);
    // One that is rated for less than the array can bring, and the site is not for it.
    const day::Fit weak = day::fit(orchard_with(told), "average");
    REQUIRE(row(weak, "meter on such a morning").bound == 600);
}

TEST_CASE("that it starts and runs has a figure and a margin") {
    const day::Fit f = day::fit(orchard_with(told));
    const day::Margin &sun = row(f, "weakest sun that brings water"),
                      &torque = row(f, "start torque against break-away");
    REQUIRE(sun.is > 50);
    REQUIRE(sun.is < 600);
    REQUIRE(sun.left() == approx(1 - sun.is / 1000));
    REQUIRE(torque.is > torque.bound);
    REQUIRE(torque.bound > 0);
    // A shaft that holds faster leaves less.
    const day::Fit stiff = day::fit(orchard_with(with(told, "motor.breakaway_N_m=3")));
    REQUIRE(row(stiff, "start torque against break-away").left() < torque.left());
    // None at all: it fails, and the other rows are not asked.
    const day::Fit stuck = day::fit(orchard_with(with(told, "drive.start_voltage_V=600")));
    REQUIRE(row(stuck, "weakest sun that brings water").verdict == day::Margin::Verdict::fails);
}
