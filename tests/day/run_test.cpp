// A day through: its balance, what makes water, its starts and stops, and what it costs.
#include "day/run.hpp"

#include <algorithm>
#include <chrono>
#include <cmath>
#include <ctime>

#include "catch_shim.hpp"
#include "day/cost.hpp"
#include "day/when.hpp"
#include "plant/run.hpp"
#include "site/keys.hpp"
#include "site/load.hpp"

using namespace sunshaft;
using test::approx;

namespace {

Scenario site_of(const char* name, const std::vector<std::string>& set = {}) {
    Scenario s = site::load_scenario(site::find_scenario(name));
    site::set_keys(s, set);
    return s;
}
std::vector<day::Moment> sunny(const Scenario& s, day::Date date = {2026, 6, 21}) {
    return day::moments(day::clear_sky(s, date, 1, 60), day::Array(s), 60);
}
day::Result through(const Scenario& s, const std::vector<std::string>& faults = {}, bool marks = false) {
    std::vector<site::Fault> list;
    const site::Works works = site::set_up(s);
    for (const std::string& f : faults) list.push_back(site::parse_fault(f, works));
    day::Averager averager(s, list);
    day::Options options;
    options.marks = marks;
    return day::run(averager, sunny(s), options);
}

}  // namespace

TEST_CASE("a day's energy and water close") {
    for (const char* name : {"hill-orchard", "terrace-pwm", "stone-fold"}) {
        const Scenario s = site_of(name);
        const day::Result r = through(s);
        INFO(name);
        REQUIRE(r.all.water_m3 > 10);
        REQUIRE(std::abs(r.all.energy_gap()) < 1e-3);
        double hours = 0.0;
        for (const double t : r.all.in_phase_s) hours += t / 3600;
        REQUIRE(hours == approx(24).margin(1e-6));
        REQUIRE(r.all.taken_J <= r.all.offered_J);
        // What went in is drawn, spilled, or still there.
        const double kept = s.tank.volume_m3 * s.tank.fill;
        REQUIRE(r.all.drawn_m3 <= r.all.water_m3 + kept + 1e-9);
        REQUIRE(r.days.size() == 1);
        REQUIRE(r.days[0].water_m3 == approx(r.all.water_m3));
    }
}

TEST_CASE("a full tank holds the pump, an empty well too") {
    const day::Result full = through(site_of("hill-orchard", {"tank.use_m3_h=0", "tank.fill=0.9"}));
    REQUIRE(full.all.stops.count(drive::Cause::tank_full) == 1);
    REQUIRE(full.all.water_m3 == approx(0.05 * 20).margin(0.1));
    const day::Result dry =
        through(site_of("hill-orchard", {"well.static_level_m=39.5", "well.drawdown_m_per_m3_h=2"}));
    REQUIRE(dry.all.stops.count(drive::Cause::dry) == 1);
    REQUIRE(dry.all.damage == 0.0);
    // With its guard bridged it runs dry and is ruined.
    const Scenario s = site_of("hill-orchard", {"well.static_level_m=39.5", "well.drawdown_m_per_m3_h=2"});
    const day::Result bare = through(s, {"jumper-left-in@dry"});
    REQUIRE(bare.all.stops.count(drive::Cause::dry) == 0);
}

TEST_CASE("faults take their water, and some none") {
    const Scenario s = site_of("hill-orchard");
    const double healthy = through(s).all.water_m3;
    REQUIRE(through(s, {"soiled-array=0.5"}).all.water_m3 < 0.95 * healthy);
    REQUIRE(through(s, {"open-string@s1"}).all.water_m3 < 0.95 * healthy);
    REQUIRE(through(s, {"drive-dead"}).all.water_m3 == 0.0);
    REQUIRE(through(s, {"polarity-reversed"}).all.water_m3 == 0.0);
    REQUIRE(through(s, {"seized"}).all.water_m3 == 0.0);
    REQUIRE(through(s, {"string-earth-fault@s1.m3-=0"}).all.water_m3 == approx(healthy).epsilon(1e-3));
    const auto blind = day::unseen(s, {{"capacitor-dried-out", "link", 0.5, 0.0}});
    REQUIRE(blind.size() == 1);
}

TEST_CASE("where in its float's cycle a tank stands when the sun goes tells nothing of the site") {
    // A little more dirt, a little less water each time: no jumps up and down by what a float's cycle holds.
    const Scenario s = site_of("hill-orchard");
    double most_up = -1e9, most_down = 0.0, made_up = -1e9, made = 0.0, useful = 0.0;
    for (int percent = 0; percent <= 6; ++percent) {
        const day::Totals all =
            percent ? through(s, {"soiled-array=0.0" + std::to_string(percent)}).all : through(s).all;
        const double in = all.water_m3 - all.spilled_m3, without = in - all.cycle_m3;
        INFO(percent << " %: " << in << " m3, without the cycle " << without << " m3");
        if (percent) {
            made_up = std::max(made_up, in - made);
            most_up = std::max(most_up, without - useful), most_down = std::max(most_down, useful - without);
            CHECK(without < useful);
        }
        made = in, useful = without;
    }
    CHECK(made_up > 0.5);
    CHECK(most_up < 0.0);
    CHECK(most_down < 0.3);
    // Where no float stops the pump there is no cycle.
    CHECK(through(site_of("stone-fold")).all.cycle_m3 == 0.0);
}

// An empty main fills in a minute, a motor's thermal image in some: a step of ten, taken at what was when it began,
// would lift what no pump does.
TEST_CASE("steps of ten minutes find what steps of one find, where mains run empty and motors are too warm") {
    const Scenario s = site_of("hill-orchard");
    const day::Date date{2026, 1, 21};
    const auto useful = [&](const std::vector<site::Fault>& faults, double step) {
        day::Averager averager(s, faults);
        const day::Totals all =
            day::run(averager, day::moments(day::clear_sky(s, date, 1, step), day::Array(s), step)).all;
        return all.water_m3 - all.spilled_m3 - all.cycle_m3;
    };
    const site::Works works = site::set_up(s);
    const double healthy = useful({}, 600);
    for (const char* fault : {"check-valve-open", "current-sensor-offset"}) {
        const std::vector<site::Fault> list{site::parse_fault(fault, works)};
        const double coarse = useful(list, 600), fine = useful(list, 60);
        INFO(fault << ": " << coarse << " and " << fine << " m3, healthy " << healthy);
        CHECK(std::abs(coarse / fine - 1) < 0.003);
        CHECK(coarse < 1.0005 * healthy);  // nothing is gained by either
    }
}

TEST_CASE("what faults cost: the dangerous ones stand on top, water lost or not") {
    const Scenario s = site_of("hill-orchard", {"tank.need_m3_day=60", "tank.price_per_m3=2"});
    const site::Works works = site::set_up(s);
    std::vector<site::Fault> faults;
    for (const char* f : {"soiled-array=0.6", "string-earth-fault@s1.m3-=0", "high-resistance-connector@s1.m3-=4"})
        faults.push_back(site::parse_fault(f, works));
    const day::Costs costs = day::costs(s, faults, sunny(s), day::twelve_days(s, 2026));
    REQUIRE(costs.list.size() == 3);
    REQUIRE(costs.list[0].fault.kind == "string-earth-fault");
    REQUIRE(costs.list[0].rank() == 3);
    REQUIRE(costs.list[0].lost_m3 == approx(0).margin(0.2));
    REQUIRE(costs.list[1].fault.kind == "high-resistance-connector");
    // I2 R in that contact, with the current of a string in full sun.
    REQUIRE(costs.list[1].heat_W > 20);
    REQUIRE(costs.list[1].heat_W < 4 * 9.0 * 9.0);
    REQUIRE(costs.list[2].lost_m3 > 1);
    REQUIRE(costs.list[2].price == approx(2 * costs.list[2].year_lost_m3));
    REQUIRE_THROWS_AS(day::costs(s, faults, sunny(s), day::twelve_days(s, 2026), [](double) { return false; }),
                      day::Stopped);
}

TEST_CASE("what faults cost: what circulates, what nothing stops and what turns to heat is told") {
    const Scenario s = site_of("hill-orchard");
    const site::Works works = site::set_up(s);
    std::vector<site::Fault> faults;
    for (const char* f : {"wired-in-parallel@s1", "input-stage-killed", "polarity-reversed", "damp-board",
                          "wet-splice@u-v", "shaded-cell@s1.m1.1"})
        faults.push_back(site::parse_fault(f, works));
    const day::Costs costs = day::costs(s, faults, sunny(s), day::twelve_days(s, 2026));
    const auto cost = [&](const char* kind) {
        return *std::find_if(costs.list.begin(), costs.list.end(), [&](const auto& c) { return c.fault.kind == kind; });
    };
    const auto told = [&](const char* kind, const char* words) {
        const auto people = cost(kind).people;
        return std::any_of(people.begin(), people.end(),
                           [&](const auto& p) { return p.find(words) != std::string::npos; });
    };
    CHECK(told("wired-in-parallel", "circulate between strings with the isolator open"));
    CHECK(told("input-stage-killed", "whatever the drive does"));
    CHECK(told("polarity-reversed", "whatever the drive does"));
    CHECK_FALSE(told("damp-board", "whatever the drive does"));
    // Two strings' short-circuit current in about 1000 W/m2 through half an ohm.
    const double isc = 2 * works.array.strings.front().modules.front().data.Isc;
    CHECK(cost("input-stage-killed").heat_W == approx(0.5 * isc * isc).epsilon(0.1));
    // Over the two diodes of each leg, and a cell that takes what its neighbours give.
    CHECK(cost("polarity-reversed").heat_W > 10);
    CHECK(cost("shaded-cell").heat_W > 10);
    // Some 300 V across 3 kohm that was 47 kohm.
    CHECK(cost("damp-board").heat_W > 250.0 * 250.0 * (1 / 3e3 - 1 / 47e3));
    CHECK(cost("damp-board").heat_W < 350.0 * 350.0 / 3e3);
    // Between two lines a bridge puts out less than eight tenths of that, rms, on 5 kohm.
    CHECK(cost("wet-splice").heat_W > 150.0 * 150.0 / 5e3);
    CHECK(cost("wet-splice").heat_W < 280.0 * 280.0 / 5e3);
}

TEST_CASE("where nobody draws from the tank, what a fault costs is counted in water lifted") {
    const Scenario s = site_of("stone-fold");
    REQUIRE(s.tank.use_m3_h == 0.0);
    const day::Result healthy = through(s);
    REQUIRE(healthy.all.spilled_m3 > 1.0);
    const day::Costs costs = day::costs(s, {}, sunny(s), day::twelve_days(s, 2026));
    CHECK(costs.healthy_m3 == approx(healthy.all.water_m3));
}

TEST_CASE("where a shaft trembles within its turn the day says what of it is left out") {
    const auto said = [](const char* name, const char* fault) {
        const Scenario s = site_of(name);
        std::vector<site::Fault> list;
        if (*fault) list.push_back(site::parse_fault(fault, site::set_up(s)));
        const auto notes = day::coarse(s, list);
        return std::any_of(notes.begin(), notes.end(),
                           [](const std::string& n) { return n.find("trembles") != std::string::npos; });
    };
    CHECK(said("stone-fold", "high-resistance-splice@v"));
    CHECK_FALSE(said("stone-fold", ""));
    CHECK_FALSE(said("stone-fold", "undersized-cable"));
    CHECK_FALSE(said("hill-orchard", "high-resistance-splice@v"));
}

TEST_CASE("what no day can be made of is said") {
    REQUIRE_THROWS_AS(day::check(site_of("bench-rig")), site::BadInput);
    REQUIRE_THROWS_AS(day::draw_hours(site_of("hill-orchard", {"tank.use_hours=early"})), site::BadInput);
    const auto hours = day::draw_hours(site_of("hill-orchard", {"tank.use_hours=6-9 22-2"}));
    REQUIRE(hours.size() == 2);
    REQUIRE(hours[1].to == 2);
}

TEST_CASE("a float is freed in any light, what a pump tells while it runs only then") {
    const Scenario s = site_of("hill-orchard");
    const day::Result held = through(s, {"float-stuck-up@float"}, true);
    CHECK(held.all.water_m3 == 0.0);
    CHECK(held.all.cycle_m3 == 0.0);
    const auto list = day::when(s, site::set_up(s), held);
    const auto open = [&](const char* id) {
        return std::find_if(list.begin(), list.end(), [&](const day::When& w) { return w.id == id; })->open.size();
    };
    CHECK(open("float-freed") == 1);
    CHECK(open("bucket") == 0);
    CHECK(open("line-clamps") == 0);
    // Eyes and noses need no pump.
    for (const char* id : {"module-looks", "lamps", "drive-display"}) CHECK(open(id) == 1);
    for (const char* id : {"tank", "smell"})
        CHECK(std::find_if(list.begin(), list.end(), [&](const day::When& w) { return w.id == id; })->always());
}

TEST_CASE("what needs the pump to run says in what sun it does") {
    const Scenario s = site_of("hill-orchard");
    const day::Result r = through(s, {}, true);
    for (const day::When& w : day::when(s, site::set_up(s), r)) {
        INFO(w.id);
        if (w.id != "bucket" && w.id != "line-clamps") continue;
        REQUIRE_FALSE(w.open.empty());
        CHECK(w.least_sun > 20);
        CHECK(w.least_sun < 400);
    }
}
