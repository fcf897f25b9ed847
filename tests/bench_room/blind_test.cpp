// The blind-spot map is computed: what it says follows from what the parts do.
#include <algorithm>
#include <cmath>
#include <stdexcept>

#include "bench/blind.hpp"
#include "catch_shim.hpp"
#include "site/load.hpp"

using namespace sunshaft;
using bench::Sight;

namespace {

std::size_t number_of(const std::string& name) {
    const auto& list = bench::field_tests();
    return static_cast<std::size_t>(
        std::find_if(list.begin(), list.end(), [&](const auto& t) { return t.name == name; }) - list.begin());
}
const std::vector<bench::Probe>& of(const std::vector<std::vector<bench::Probe>>& all, const char* name) {
    return all[number_of(name)];
}
Sight sight(const Scenario& s, const std::vector<std::vector<bench::Probe>>& healthy, const char* kind,
            const char* name, double running_s = 8.0) {
    const site::Works w = site::set_up(s);
    const auto ill =
        bench::carry_out(s, {site::parse_fault(kind, w)}, running_s, &bench::field_tests()[number_of(name)]);
    return bench::sight(ill[number_of(name)], healthy[number_of(name)]);
}

}  // namespace

TEST_CASE("which test sees which fault: facts of the trade") {
    const Scenario s = site::load_scenario(site::find_scenario("hill-orchard"));
    const auto healthy = bench::carry_out(s, {});
    REQUIRE(healthy.size() == bench::field_tests().size());
    // A contact resistance: V_oc is blind to it, the current under load is not.
    CHECK(sight(s, healthy, "high-resistance-connector@s1.m4-=4", "open-circuit volts") == Sight::blind);
    CHECK(sight(s, healthy, "high-resistance-connector@s1.m4-=4", "string clamps") != Sight::blind);
    // A phase lost at the splice, six-step output: ohms and clamps see it.
    CHECK(sight(s, healthy, "lost-phase@splice.u", "winding ohms") == Sight::seen);
    CHECK(sight(s, healthy, "lost-phase@splice.u", "line clamps") == Sight::seen);
    CHECK(sight(s, healthy, "high-resistance-splice@v=3", "winding ohms") == Sight::seen);
    // The diode test sees a shorted device and is blind to one that never conducts.
    CHECK(sight(s, healthy, "device-shorted@u.upper", "bridge diode test") == Sight::seen);
    CHECK(sight(s, healthy, "device-open@u.upper", "bridge diode test") == Sight::blind);
    // Only the dip meter sees the well fall while it still covers the pump.
    CHECK(sight(s, healthy, "low-well@well=3", "dip meter") == Sight::seen);
    CHECK(sight(s, healthy, "low-well@well=3", "winding ohms") == Sight::blind);
    CHECK(sight(s, healthy, "bleed-open@link", "bleed-down") == Sight::seen);
    CHECK(sight(s, healthy, "core-broken@u=0.4", "core capacitance") == Sight::seen);
    // A joint that opens when warm is good after seconds and gone after minutes.
    CHECK(sight(s, healthy, "splice-opens-when-warm@v=0.224", "line clamps") == Sight::blind);
    const auto later = bench::carry_out(s, {}, 200.0, &bench::field_tests()[number_of("line clamps")]);
    CHECK(sight(s, later, "splice-opens-when-warm@v=0.224", "line clamps", 200.0) == Sight::seen);
}

TEST_CASE("a test carried out alone reads what it reads among all of them") {
    const Scenario s = site::load_scenario(site::find_scenario("hill-orchard"));
    const auto all = bench::carry_out(s, {});
    for (const char* name : {"winding ohms", "line clamps", "dip meter", "bleed-down"}) {
        INFO(name);
        const auto alone = bench::carry_out(s, {}, 8.0, &bench::field_tests()[number_of(name)]);
        REQUIRE_FALSE(of(alone, name).empty());
        CHECK(bench::distance(of(alone, name), of(all, name)) < 0.01);
        for (std::size_t t = 0; t < alone.size(); ++t) CHECK((t == number_of(name) || alone[t].empty()));
    }
}

TEST_CASE("a second supply has tests of its own, and one of them sees a welded change-over switch") {
    Scenario s = site::load_scenario(site::find_scenario("hill-orchard"));
    const auto none = bench::carry_out(s, {});
    CHECK(of(none, "second supply volts").empty());
    for (const char* kind : {"mains", "generator"}) {
        site::set_key(s, std::string("supply.second=") + kind);
        const auto healthy = bench::carry_out(s, {});
        // 3 sqrt(2)/pi of 230 V, less what two phases' resistance and two diodes take.
        CHECK(of(healthy, "second supply volts").front().value ==
              sunshaft::test::approx(1.3504745 * 230).epsilon(0.05));
        CHECK(std::abs(of(healthy, "strings on the second supply").front().value) < 0.05);
        CHECK(sight(s, healthy, "changeover-welded@second", "strings on the second supply") == Sight::seen);
        CHECK(sight(s, healthy, "changeover-welded@second", "string clamps") == Sight::blind);
        CHECK(sight(s, healthy, "lost-phase@splice.u", "lines on the second supply") == Sight::seen);
        CHECK(sight(s, healthy, "string-fuse-blown@s1", "lines on the second supply") == Sight::blind);
    }
}

TEST_CASE("seen is three times what the two bands leave open, weak is once") {
    const auto at = [](double value) { return bench::sight({{value, 1.0}}, {{0.0, 1.0}}); };
    CHECK(at(1.9) == Sight::blind);
    CHECK(at(2.1) == Sight::weak);
    CHECK(at(5.9) == Sight::weak);
    CHECK(at(6.1) == Sight::seen);
    CHECK(at(std::nan("")) == Sight::seen);  // over range on one of them only
}

TEST_CASE("the map stops when it is told to, and what a test throws comes out") {
    const Scenario s = site::load_scenario(site::find_scenario("bench-rig"));
    int told = 0;
    CHECK(bench::blind_map(s, {"high-resistance-splice"}, [&](double) { return ++told < 2; }).empty());
    CHECK(told == 2);
    const auto throws = [](double) -> bool { throw std::runtime_error("enough"); };
    CHECK_THROWS_AS(bench::blind_map(s, {"high-resistance-splice"}, throws), std::runtime_error);
}

TEST_CASE("a string of one with a bad connector is mapped however long it has run") {
    const Scenario s = site::load_scenario(site::find_scenario("stone-fold"));
    CHECK_NOTHROW(bench::carry_out(s, {{"high-resistance-connector", "s1.m1-", 4.0, 0.0}}, 30.0));
}

TEST_CASE("the valve is shut for a moment whatever is wrong, and at whatever instant of the turn") {
    const Scenario s = site::load_scenario(site::find_scenario("hill-orchard"));
    const site::Works w = site::set_up(s);
    for (const char* fault : {"undersized-run@array=6", "output-terminal-loose@drive.v=5", "broken-coupling@pump=1"}) {
        INFO(fault);
        // The water comes to rest and the shaft goes on.
        bench::Edits edits;
        edits.faults = {site::parse_fault(fault, w)};
        bench::Bench there = bench::at_station(s, edits, bench::Station::shut, 8.0);
        CHECK(there.state().x[plant::speed] > 250.0);
        CHECK(there.gauge("flow").value * 3600.0 < 0.05);
    }
}

TEST_CASE("one fault in every place, at five severities: the worse it is the more tests see it") {
    const Scenario s = site::load_scenario(site::find_scenario("stone-fold"));
    const auto rows = bench::blind_map(s, {"high-resistance-splice"});
    REQUIRE(rows.size() == 15);
    std::size_t last = 0;
    for (std::size_t n = 0; n < rows.size(); ++n) {
        const auto seen = static_cast<std::size_t>(std::count(rows[n].sight.begin(), rows[n].sight.end(), Sight::seen));
        CHECK(rows[n].fault.place == (n < 5 ? "u" : n < 10 ? "v" : "w"));
        if (n % 5 == 0) CHECK(seen == 0);  // no resistance at all
        else CHECK(seen + 1 >= last);      // one test more or less on the edge of its band
        if (n % 5 == 4) CHECK(seen >= 4);
        last = seen;
    }
}
