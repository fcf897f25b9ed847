// The short ways to where a site runs against its start: what takes a start a minute must come out the same.
#include "diagnose/runs.hpp"

#include <cmath>

#include "bench/field_tests.hpp"
#include "catch_shim.hpp"
#include "site/load.hpp"

using namespace sunshaft;

namespace {

Scenario under(const char* site, double sun) {
    Scenario s = site::load_scenario(site::find_scenario(site));
    s.sun.irradiance_W_m2 = sun;
    s.sun.module_temperature_degC = 48.0;
    return s;
}

diagnose::Change with(const Scenario& s, const std::string& what) {
    if (what.find('@') == std::string::npos) return {what.empty() ? std::vector<std::string>{} : std::vector{what}, {}};
    return {{}, {site::parse_fault(what, site::set_up(s))}};
}

// A start, run until nothing moves any more, at most two minutes: a tracker on a soft array takes that long.
bench::Bench started(const Scenario& s, const diagnose::Change& change) {
    bench::Bench b(s, {change.set, change.faults, {}});
    if (!b.settle(60.0).settled) b.settle(60.0);
    // Somebody who looks an hour later finds the bore drawn down.
    if (const auto pumped = bench::Bench(b).pumped_level(); pumped.runs && !pumped.stops) {
        b.state().water_level = pumped.level;
        b.settle(60.0);
    }
    return b;
}

plant::Means means(bench::Bench& b) {
    b.state().slow.held = true;
    return b.plant().average(b.state(), 4.0);
}

diagnose::Run running(const Scenario& s, const diagnose::Change& change) {
    const diagnose::Runs runs(s);
    const bench::Bench at_rest = runs.at_rest(change);
    return diagnose::Runs::taken_up(at_rest, runs.standing(change, at_rest));
}

void same(const char* site, double sun, const std::string& what, double within) {
    const Scenario s = under(site, sun);
    const diagnose::Change change = with(s, what);
    INFO(site << ", " << sun << " W/m2, " << what);
    diagnose::Run shortly = running(s, change);
    bench::Bench long_way = started(s, change);
    const bool turns = drive::turning(long_way.state().control.phase);
    REQUIRE(drive::turning(shortly.bench.state().control.phase) == turns);
    if (!turns) return;
    // No start of its own, which takes ten seconds: some from where the site as it is written stood, and two for each
    // time its water is moved.
    CHECK(shortly.bench.time() < std::max(long_way.time(), running(s, {}).bench.time()) + 6.0);
    const plant::Means a = means(shortly.bench), b = means(long_way);
    const auto near = [&](double x, double y, double least) {
        CHECK(std::abs(x - y) <= within * std::max({std::abs(x), std::abs(y), least}));
    };
    for (std::size_t k = 0; k < 3; ++k) near(a.current_rms[k], b.current_rms[k], 0.1);
    near(a.link, b.link, 1.0);
    near(a.speed, b.speed, 1.0);
    near(a.flow, b.flow, 1e-5);
}

}  // namespace

TEST_CASE("what needs no start comes out as a start does") {
    same("hill-orchard", 820, "high-resistance-splice@v=3", 1e-3);
    same("hill-orchard", 820, "coupling-slips@pump=0.5", 2e-3);
    same("hill-orchard", 820, "device-open@u.upper", 2e-3);
    same("hill-orchard", 820, "drive.frequency_Hz=35", 2e-3);
    same("hill-orchard", 400, "", 1e-2);  // the tracker goes to and fro
    same("hill-orchard", 400, "worn-pump@pump=0.3", 1e-2);
    same("hill-orchard", 820, "winding-partly-shorted@u=0.3", 2e-2);
    same("hill-orchard", 205, "", 1e-2);  // a weak sun, a small capacitor
    same("hill-orchard", 820, "phases-swapped@u-v", 1e-2);
    same("terrace-pwm", 820, "hole-in-main@main=60", 2e-3);
    same("river-meadow", 820, "scaled-main@main=0.9", 2e-3);  // at its speed ceiling, with volts to spare
    // Under power and at rest.
    same("hill-orchard", 820, "seized@motor", 2e-2);
    same("terrace-pwm", 820, "undersized-cable@cable=50", 2e-3);
    // The water far lower than a healthy pump would leave it, and far higher.
    same("hill-orchard", 640, "undersized-run@array=20", 1e-2);
    same("stone-fold", 640, "shaded-substring@s1.m2.2=0.28", 2e-2);
}

TEST_CASE("what goes to and fro for ever is not waited for") {
    // An array that just lifts the output to its ceiling: it goes up to it and down again, and never comes to rest.
    const Scenario s = under("terrace-pwm", 640);
    const diagnose::Change change = with(s, "wet-splice@u-v=100");
    const diagnose::Runs runs(s);
    const bench::Bench at_rest = runs.at_rest(change);
    const diagnose::Standing there = runs.standing(change, at_rest);
    CHECK(there.rests);
    CHECK(there.state.t < 30.0);
    diagnose::Run run = diagnose::Runs::taken_up(at_rest, there);
    const plant::Means now = means(run.bench);
    run.bench.advance(8.0);
    const plant::Means later = means(run.bench);
    for (std::size_t k = 0; k < 3; ++k) CHECK(later.current_rms[k] == Approx(now.current_rms[k]).epsilon(1e-2));
    CHECK(later.link == Approx(now.link).epsilon(1e-2));
}

TEST_CASE("a sun too weak to lift any water finds the bore as it was") {
    // From a bore drawn down by a healthy pump it would turn for ever against more than it can lift; from one at rest
    // it starts, takes more than there is, and begins again.
    const Scenario s = under("terrace-pwm", 640);
    const diagnose::Change change = with(s, "sun.irradiance_W_m2=160");
    const diagnose::Runs runs(s);
    const diagnose::Standing there = runs.standing(change, runs.at_rest(change));
    CHECK(there.cycle > 10.0);
    CHECK(there.state.water_level == Approx(s.well.static_level_m).margin(0.5));
}

TEST_CASE("so do bridged turns of a magnet motor, of which a start takes long", "[.soak]") {
    same("stone-fold", 820, "winding-partly-shorted@u=0.3", 2e-2);
}

TEST_CASE("a string that is parted is a dead string wherever that is, and only one that is parted") {
    const Scenario s = under("terrace-pwm", 820);
    const diagnose::Runs runs(s);
    const auto stands = [&](const std::string& what) {
        const diagnose::Change change = with(s, what);
        return runs.standing(change, runs.at_rest(change));
    };
    const diagnose::Standing dead = stands("open-string@s1");
    for (const char* what : {"string-fuse-blown@s1", "open-connector@s1.m3-", "high-resistance-connector@s1.m6-=10000"})
        CHECK(stands(what).state.x == dead.state.x);
    CHECK(stands("high-resistance-connector@s1.m6-=50").state.x != dead.state.x);
    CHECK(stands("open-string@s2").state.x != stands("").state.x);
}

TEST_CASE("what no sun reaches is found with nothing on its link") {
    for (const char* what : {"dc-conductor-open@dc+", "precharge-open@link"}) {
        const Scenario s = under("hill-orchard", 820);
        const diagnose::Run r = running(s, with(s, what));
        INFO(what);
        CHECK(r.bench.state().control.phase == drive::Phase::off);
        CHECK(std::abs(r.bench.state().x[plant::v_cap]) < 0.1);
    }
    // A drive whose sensor reads low waits as it sees the link, and nothing is on its way there.
    const Scenario s = under("hill-orchard", 820);
    bench::Bench b(s, {{}, with(s, "voltage-sensor-drift@drive=0.3").faults, {}});
    const plant::Settled settled = b.settle(60.0);
    CHECK(settled.settled);
    CHECK(settled.seconds < 20.0);
    CHECK(b.state().control.phase == drive::Phase::waiting_for_sun);
}

TEST_CASE("a restart begins where every start does") {
    const Scenario s = under("hill-orchard", 820);
    const diagnose::Change change = with(s, "device-open@w.upper");
    const diagnose::State state{{{"restart", "drive", 0.0}}, bench::row_of(bench::Station::restarted).after_s};
    REQUIRE(state.restarts());
    const diagnose::Run run = diagnose::Runs(s).after(change, state, nullptr);
    const bench::Bench there = bench::at_station(s, {.faults = change.faults}, bench::Station::restarted);
    CHECK(run.bench.state().x == there.state().x);
    CHECK(drive::turning(there.state().control.phase));
}

TEST_CASE("a line that is open is open wherever that is") {
    // The motor hums, the tracker creeps, and after half a minute the drive stops it: compared at one moment before.
    const Scenario s = under("hill-orchard", 820);
    const auto after = [&](const std::string& what, double seconds) {
        bench::Bench b(s, {{}, with(s, what).faults, {}});
        b.advance(seconds);
        return means(b);
    };
    for (const auto& [elsewhere, winding] : {std::pair{"lost-phase@drive.u", "winding-open@u=1"},
                                             std::pair{"high-resistance-splice@v=inf", "winding-open@v=1"}}) {
        INFO(elsewhere);
        const plant::Means a = after(elsewhere, 20.0), b = after(winding, 20.0);
        for (std::size_t k = 0; k < 3; ++k)
            CHECK(a.current_rms[k] == test::approx(b.current_rms[k]).epsilon(1e-3).margin(1e-3));
        CHECK(a.link == test::approx(b.link).epsilon(1e-3));
        const diagnose::Run run = running(s, with(s, elsewhere));
        CHECK(drive::turning(run.bench.state().control.phase));
        CHECK(std::abs(run.bench.state().x[plant::speed]) < 1.0);
    }
}

TEST_CASE("what never comes to run is not put there") {
    struct Case {
        const char* site;
        double sun;
        const char* what;
        drive::Cause stopped;
    };
    using drive::Cause;
    for (const Case& c : {Case{"hill-orchard", 41, "", Cause::low_sun},  // too little sun, again and again
                          // takes more at rest than the array gives
                          Case{"hill-orchard", 820, "wrong-boost@drive=20", Cause::low_sun},
                          // a rotor that rocks and trips
                          Case{"stone-fold", 820, "lost-phase@splice.u", Cause::over_current},
                          // falls through on its ramp
                          Case{"terrace-pwm", 820, "array.strings=1", Cause::low_sun}}) {
        const Scenario s = under(c.site, c.sun);
        const diagnose::Run r = running(s, with(s, c.what));
        INFO(c.site << ", " << c.sun << " W/m2, " << c.what);
        bool stopped = false;
        for (const drive::LogEntry& e : drive::log_since(r.bench.state().control)) {
            INFO(drive::phase_words(e.phase));
            stopped = stopped || e.cause == c.stopped || (e.cause == Cause::stall && c.stopped == Cause::over_current);
        }
        CHECK(stopped);
    }
}

TEST_CASE("where the short ways lead, each site stays", "[.soak]") {
    for (const char* name : {"hill-orchard", "river-meadow", "stone-fold", "terrace-pwm"})
        for (const double sun : {400.0, 820.0}) {
            const Scenario s = under(name, sun);
            const site::Works works = site::set_up(s);
            const diagnose::Runs runs(s);
            for (const site::FaultRow& row : site::fault_catalogue()) {
                const auto places = row.places(works);
                if (places.empty()) continue;
                INFO(name << ", " << sun << " W/m2, " << row.kind << "@" << places.front());
                const diagnose::Change change{{}, {{row.kind, places.front(), row.usual, 0.0}}};
                const bench::Bench at_rest = runs.at_rest(change);
                diagnose::Run r = diagnose::Runs::taken_up(at_rest, runs.standing(change, at_rest));
                if (r.bench.state().control.phase != drive::Phase::running &&
                    r.bench.state().control.phase != drive::Phase::ceiling)
                    continue;
                const auto logged = r.bench.state().control.logged;
                const plant::Means one = means(r.bench);
                r.bench.state().slow.held = true;
                r.bench.advance(20.0);
                const plant::Means two = means(r.bench);
                CHECK(r.bench.state().control.trips == 0);
                if (r.bench.state().control.logged != logged) continue;
                CHECK(std::abs(two.link / one.link - 1.0) < 0.03);
                CHECK(std::abs(two.speed - one.speed) < 0.03 * std::max(std::abs(one.speed), 5.0));
            }
        }
}
