// Acts as tests: wires moved on, a float lifted or freed, a string covered, a fuse renewed. What each tells, when it is
// proposed, how it is undone; and that the short way to a rearranged site is a start's end.
#include <fmt/format.h>

#include <algorithm>
#include <cmath>
#include <set>

#include "asked.hpp"
#include "bench/field_tests.hpp"
#include "catch_shim.hpp"
#include "diagnose/suspects.hpp"
#include "diagnose/trials.hpp"
#include "site/load.hpp"

using namespace sunshaft;
using diagnose::Answer;
using namespace sunshaft::test;

namespace {

Scenario orchard() { return site::load_scenario(site::find_scenario("hill-orchard")); }

// A field test as it would be written down, of the site with one fault.
std::string told_by_test(const char* test, const char* fault) {
    const Scenario s = orchard();
    const site::Works works = site::set_up(s);
    const bench::FieldTest& row = *bench::find_test(test);
    bench::Bench there = bench::at_station(s, {.faults = {site::parse_fault(fault, works)}}, row.station, 60.0);
    std::string acts, text;
    for (const std::string& act : diagnose::way_to(row.station, works))
        acts += fmt::format("{}\"{}\"", acts.empty() ? "" : ", ", act);
    const double after_s = bench::row_of(row.station).after_s;
    const auto add = [&](const std::string& what) {
        text += fmt::format("[[seen]]\ndo = [{}]\n", acts);
        if (std::isfinite(after_s)) text += fmt::format("after_s = {}\n", after_s);
        text += what;
    };
    for (const bench::Seen& one : bench::observe(there, row.observations(works)))
        if (one.gauge && one.what.gauge == "lamps") {
            for (const drive::Lamp& lamp : drive::lamps(there.state().control))
                add(fmt::format("lamp = \"{}\"\nshown = \"{}\"\n", lamp.name, lamp.on ? "on" : "off"));
        } else if (one.gauge) {
            add(fmt::format("gauge = \"{}\"\nshown = \"{}\"\n", one.what.gauge, one.gauge->shown()));
        } else {
            add(fmt::format("around = \"{}\"\nmode = \"{}\"\nshown = \"{:.2f} A\"\n", one.what.probes.around,
                            meter::mode_name(one.what.mode), *one.reading->value));
        }
    return text;
}

Answer ask_on(const std::string& seen, const std::set<std::string>& kinds) {
    const std::string head =
        fmt::format("site = \"hill-orchard\"\nsky = {{ irradiance_W_m2 = {}, source = \"in-plane meter\" }}\n",
                    orchard().sun.irradiance_W_m2);
    diagnose::Diagnosis d(diagnose::parse_case(head + seen, "my.toml"), priors_of(kinds), kept().path());
    return d.answer({}, true);
}

const diagnose::Proposal* proposed(const Answer& a, const std::string& test) {
    const auto found = std::find_if(a.next.begin(), a.next.end(), [&](const auto& x) { return x.test == test; });
    return found == a.next.end() ? nullptr : &*found;
}

using Acts = std::vector<std::string>;

}  // namespace

TEST_CASE("wires moved on part a drive's terminal from a joint down the bore") {
    const std::set<std::string> kinds = {"high-resistance-splice", "output-terminal-loose"};
    for (const auto& [fault, is] : {std::pair{"high-resistance-splice@u=4", "high-resistance-splice"},
                                    {"output-terminal-loose@drive.u=4", "output-terminal-loose"}}) {
        INFO(fault);
        const std::string clamps = told_by_test("line-clamps", fault);
        const Answer before = ask_on(clamps, kinds);
        CHECK(share(before, is) < 0.9);
        const diagnose::Proposal* rolled = proposed(before, "rolled-clamps");
        REQUIRE(rolled);
        CHECK(rolled->act == Acts{"open@isolator", "exchange@u-v", "exchange@v-w", "close@isolator"});
        CHECK(rolled->undo == Acts{"open@isolator", "exchange@v-w", "exchange@u-v", "close@isolator"});
        CHECK(rolled->exposure == 4);
        // The isolator off and on again, as by hand: it does not switch modules off, and the pump starts by itself.
        for (const bench::Danger kind : {bench::Danger::isolator, bench::Danger::starts_alone, bench::Danger::reversal})
            CHECK(std::any_of(rolled->hazards.begin(), rolled->hazards.end(),
                              [&](const bench::Hazard& h) { return h.kind == kind; }));
        const Answer after = ask_on(clamps + told_by_test("rolled-clamps", fault), kinds);
        CHECK(after.suspects.front().fault == is);
        CHECK(share(after, is) > 0.95);
    }
}

TEST_CASE("a float moved by hand tells a hanging one from a broken wire, and lifted tells a welded one") {
    const std::set<std::string> kinds = {"float-stuck-up", "guard-cable-cut", "float-stuck-down"};
    const std::string holds =
        told_by_test("lamps", "float-stuck-up") + "[[seen]]\ngauge = \"tank\"\nshown = \"40 %\"\n";
    const Answer before = ask_on(holds, kinds);
    const diagnose::Proposal* freed = proposed(before, "float-freed");
    REQUIRE(freed);
    CHECK(freed->act == Acts{"free@float"});
    CHECK(freed->undo.empty());
    CHECK(ask_on(holds + told_by_test("float-freed", "float-stuck-up"), kinds).suspects.front().fault ==
          "float-stuck-up");
    CHECK(ask_on(holds + told_by_test("float-freed", "guard-cable-cut@float"), kinds).suspects.front().fault ==
          "guard-cable-cut");

    const std::string over = "intake = [\"runs over\"]\n" + told_by_test("lamps", "float-stuck-down@float=0.2");
    const Answer running = ask_on(over, kinds);
    const diagnose::Proposal* lifted = proposed(running, "float-lifted");
    REQUIRE(lifted);
    CHECK(lifted->undo == Acts{"lower@float"});
    const Answer welded = ask_on(over + told_by_test("float-lifted", "float-stuck-down@float=0.2"), kinds);
    CHECK(share(welded, "float-stuck-down") > share(running, "float-stuck-down"));
}

TEST_CASE("one string covered tells a dead string from dirt on all of them") {
    const std::set<std::string> kinds = {"string-fuse-blown", "soiled-array"};
    const std::string slow = told_by_test("line-clamps", "string-fuse-blown@s2");
    const Answer before = ask_on(slow, kinds);
    const diagnose::Proposal* covered = proposed(before, "one-string-covered");
    REQUIRE(covered);
    CHECK(covered->act == Acts{"cover@s1"});
    CHECK(covered->undo == Acts{"uncover@s1"});
    CHECK(covered->exposure == 3);
    const Answer stops = ask_on(slow + told_by_test("one-string-covered", "string-fuse-blown@s2"), kinds);
    CHECK(share(stops, "string-fuse-blown") > 0.9);
    CHECK(share(stops, "string-fuse-blown") > share(before, "string-fuse-blown"));
}

TEST_CASE("a new fuse tells whether it was the fuse") {
    const std::set<std::string> kinds = {"string-fuse-blown", "open-string"};
    const std::string half = told_by_test("drive-display", "string-fuse-blown@s2");
    const Answer before = ask_on(half, kinds);
    const diagnose::Proposal* renewed = proposed(before, "fuse-renewed");
    REQUIRE(renewed);
    CHECK(renewed->act.front() == "open@isolator");
    CHECK(renewed->act.back() == "close@isolator");
    CHECK(renewed->undo.empty());
    CHECK(ask_on(half + told_by_test("fuse-renewed", "string-fuse-blown@s2"), kinds).suspects.front().fault ==
          "string-fuse-blown");
    CHECK(ask_on(half + told_by_test("fuse-renewed", "open-string@s2"), kinds).suspects.front().fault == "open-string");
}
