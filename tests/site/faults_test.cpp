// Every row of the catalogue does something, says something, and is refused in one line where it does not
// belong.
#include <algorithm>
#include <cmath>
#include <limits>
#include <set>
#include <vector>

#include "catch_shim.hpp"
#include "circuit/circuit.hpp"
#include "site/faults.hpp"
#include "site/keys.hpp"
#include "site/load.hpp"
#include "site/site.hpp"
#include "site/source_curve.hpp"

using namespace sunshaft;
using namespace sunshaft::site;
using test::approx;

namespace {

std::vector<Scenario> sites() {
    std::vector<Scenario> list;
    for (const char* name : {"stone-fold", "river-meadow", "hill-orchard", "terrace-pwm", "bench-rig"})
        list.push_back(load_scenario(find_scenario(name)));
    // Three strings with blocking diodes, and settings that some rows take away.
    Scenario three;
    three.file = "three strings";
    three.array.strings = 3;
    three.array.modules_in_series = 3;
    three.drive.phase_loss_detection = true;
    three.drive.current_limit_A = 20;
    three.drive.flow_switch_m3_h = 0.5;
    three.supply.second = "mains";
    three.pump.kind = "progressive-cavity";
    list.push_back(three);
    return list;
}

std::string message(const std::string& text, const Works& works) {
    try {
        parse_fault(text, works);
    } catch (const BadInput& e) {
        return e.what();
    }
    return "";
}

}  // namespace

TEST_CASE("each fault changes the works, on every site and at every place") {
    std::set<std::string> used;
    for (const Scenario& scenario : sites()) {
        const Works healthy = set_up(scenario);
        for (const FaultRow& row : fault_catalogue())
            for (const std::string& place : row.places(healthy)) {
                INFO(scenario.file << ": " << row.kind << "@" << place);
                Works ill = healthy;
                apply(ill, {row.kind, place, row.usual, 0.0});
                CHECK_FALSE(ill == healthy);
                used.insert(row.kind);
            }
    }
    for (const FaultRow& row : fault_catalogue()) {
        INFO(row.kind);
        CHECK(used.count(row.kind) == 1);
    }
}

TEST_CASE("a fault is told from the others by its title, also where lists cut it at the colon") {
    std::set<std::string> titles;
    for (const FaultRow& row : fault_catalogue()) {
        const std::string title = row.title;
        INFO(row.kind << ": " << title);
        CHECK(titles.insert(title.substr(0, title.find(':'))).second);
    }
}

TEST_CASE("each row is complete") {
    std::set<std::string> kinds;
    const std::set<std::string> groups = {
        "array",          "dc side", "bridge and control", "cable and splice", "motor",
        "pump and water", "guards",  "operator and meter"};
    for (const FaultRow& row : fault_catalogue()) {
        INFO(row.kind);
        CHECK(kinds.insert(row.kind).second);
        CHECK(groups.count(row.group) == 1);
        CHECK(row.least <= row.usual);
        CHECK(row.usual <= row.most);
        for (const char* text : {row.title, row.what, row.owner_sees, row.to_do}) REQUIRE(text != nullptr);
        for (const std::string& text : {std::string(row.title), std::string(row.what), std::string(row.owner_sees),
                                        std::string(row.to_do), row.caution.said()}) {
            CHECK(text.size() >= 8);
            CHECK(text.find('\n') == std::string::npos);
        }
    }
}

namespace {

constexpr double shares[] = {0.0, 0.25, 0.5, 0.75, 1.0};

// Of all of them every `step`-th. Whatever its severity a site has to compile to figures, and no graded fault makes the
// array stronger.
void compile_all(std::size_t step) {
    std::size_t n = 0;
    for (const Scenario& scenario : sites()) {
        const Works healthy = set_up(scenario);
        const SourceCurve sound = source_curve(healthy);
        const double best = sound.stiff ? std::numeric_limits<double>::infinity() : sound.max_power_W;
        for (const FaultRow& row : fault_catalogue()) {
            const auto places = row.places(healthy);
            if (places.empty()) continue;
            for (const double share : shares) {
                if (n++ % step != 0) continue;
                const double severity = severity_at(row, share);
                INFO(scenario.file << ": " << row.kind << "@" << places.front() << "=" << severity);
                const auto site = compile_site(scenario, {{row.kind, places.front(), severity, 0.0}});
                const double v = 0.8 * site->source.open_V;
                CHECK(std::isfinite(site->source.net_current(v)));
                if (!site->source.stiff) CHECK(std::isfinite(site->source.source_current(v)));
                // At its least a contact may be better than a healthy one.
                if (row.least < row.most && share > 0.0) CHECK(site->source.max_power_W <= best * (1 + 1e-6));
                CHECK_NOTHROW(circuit::solve(site->wiring));
            }
        }
    }
}

}  // namespace

TEST_CASE("a graded fault does something else at each of five severities") {
    std::set<std::string> looked_at;
    for (const Scenario& scenario : sites()) {
        const Works healthy = set_up(scenario);
        for (const FaultRow& row : fault_catalogue()) {
            const auto places = row.places(healthy);
            if (row.least == row.most || places.empty() || !looked_at.insert(row.kind).second) continue;
            for (const std::string& place : {places.front(), places.back()}) {
                std::vector<Works> seen;
                for (const double share : shares) {
                    Works ill = healthy;
                    apply(ill, {row.kind, place, severity_at(row, share), 0.0});
                    if (std::ranges::find(seen, ill) == seen.end()) seen.push_back(ill);
                }
                INFO(scenario.file << ": " << row.kind << "@" << place);
                CHECK(seen.size() == std::size(shares));
            }
        }
    }
    CHECK(looked_at.size() > 40);
}

TEST_CASE("faults at five severities compile: a sample over all sites") {
    compile_all(9);  // not a multiple of five: every severity comes up, and most rows on some site
}
TEST_CASE("every fault at five severities compiles on every site", "[.soak]") { compile_all(1); }

TEST_CASE("a severity says what it counts: lost or left, added or in what, and in which unit") {
    const auto text = [](const char* kind, double severity) { return severity_text(*find_fault(kind), severity); };
    CHECK(text("soiled-array", 0.25) == "0.25 of the light lost");
    CHECK(text("wet-connector", 1e5) == "100 kohm left to the frame");
    CHECK(text("high-resistance-splice", open_circuit) == "open in the joint");
    CHECK(text("uneven-dead-time", 8e-6) == "8 us late");
    CHECK(text("low-well", 12.0) == "12 m lower than it was");
    const auto range = [](const char* kind) { return severity_range(*find_fault(kind)); };
    CHECK(range("wrong-range") == "0 to 1 of the way from lowest to highest range, usual 1");
    CHECK(range("leaky-connector") == "10 kohm to 10 Gohm left across the break, usual 10 Mohm");
    CHECK(range("high-resistance-splice") == "0 ohm in the joint or more (inf: open), usual 3 ohm");
    CHECK(range("current-sensor-offset") == "-50 A to 50 A shown too much, usual 5 A");
    CHECK(range("lost-phase") == "none: it is there or not");
    for (const FaultRow& row : fault_catalogue()) {
        INFO(row.kind << ": " << row.unit);
        if (row.least == row.most) continue;
        // Never a unit by itself: 1 kohm of what, 0.3 of what.
        CHECK(std::string(row.unit).find(' ') != std::string::npos);
        for (const double severity : {row.least, row.usual, row.most}) {
            const std::string said = severity_text(row, severity);
            CHECK(said.find("e-") == std::string::npos);
            CHECK(said.find("e+") == std::string::npos);
        }
    }
}

TEST_CASE("a fault is written KIND@PLACE=SEVERITY@SECONDS") {
    const Works w = set_up(load_scenario(find_scenario("hill-orchard")));
    Fault f = parse_fault("high-resistance-splice@v=3.5@12", w);
    CHECK(f.kind == "high-resistance-splice");
    CHECK(f.place == "v");
    CHECK(f.severity == 3.5);
    CHECK(f.start == 12.0);
    f = parse_fault("high-resistance-splice@w=inf", w);
    CHECK(std::isinf(f.severity));
    CHECK(f.start == 0.0);
    f = parse_fault("lost-phase@cable.u@3", w);
    CHECK(f.place == "cable.u");
    CHECK(f.severity == 1.0);
    CHECK(f.start == 3.0);

    CHECK(message("lost-fase@u", w) ==
          "--fault: \"lost-fase\" is unknown, expected a fault of the catalogue (see `sunshaft faults`) (did "
          "you mean lost-phase?)");
    CHECK(message("lost-phase@cable.x", w).find("place \"cable.x\" is not on this site, expected one of drive.u") !=
          std::string::npos);
    CHECK(message("high-resistance-splice@v=-1", w) ==
          "--fault: high-resistance-splice: severity is -1, expected 0 ohm in the joint or more (inf: open), usual "
          "3 ohm");
    CHECK(message("high-resistance-splice@v=abc", w) == "--fault: severity is \"abc\", expected a number");
    CHECK(message("high-resistance-splice@v=nan", w).find("expected a number") != std::string::npos);
    CHECK(message("lost-phase@cable.u@-2", w).find("expected 0 to 86400 s") != std::string::npos);
    CHECK(message("", w).find("expected KIND@PLACE") != std::string::npos);
    CHECK(message("lost-phase\n@u", w).find('\n') == std::string::npos);
}

TEST_CASE("faults planted in a scenario are checked where they stand") {
    Scenario s;
    s.faults.push_back({"high-resistance-splice", "u", 5.0, 20.0, "a.toml:3:1"});
    const auto faults = planted_faults(s, set_up(s));
    REQUIRE(faults.size() == 1);
    CHECK(faults[0].severity == 5.0);
    CHECK(faults[0].start == 20.0);
    s.faults = {{"high-resistance-splice", "q", 5.0, 20.0, "a.toml:3:1"}};
    try {
        planted_faults(s, set_up(s));
        FAIL("accepted");
    } catch (const BadInput& e) {
        CHECK(std::string(e.what()).find("a.toml:3:1: fault: high-resistance-splice: place \"q\"") == 0);
    }
}

TEST_CASE("a phase lost at three heights parts the wiring at three places") {
    const Scenario s = load_scenario(find_scenario("hill-orchard"));
    const auto tied = [&](const char* place, int node) {
        const auto site = compile_site(s, {{"lost-phase", place, 1.0, 0.0}});
        return site->phases[{LegDrive::device, LegDrive::device, LegDrive::device}]
                   .island[static_cast<std::size_t>(node + 1)] == -1;
    };
    CHECK(tied("drive.v", PhaseNode::drive));
    CHECK_FALSE(tied("drive.v", PhaseNode::lead));
    CHECK(tied("cable.v", PhaseNode::lead));
    CHECK_FALSE(tied("cable.v", PhaseNode::cable));
    CHECK(tied("splice.v", PhaseNode::cable));
    CHECK_FALSE(tied("splice.v", PhaseNode::motor));
}

TEST_CASE("a severity of the range: ends, order, even or by ratio") {
    for (const site::FaultRow& row : site::fault_catalogue()) {
        INFO(row.kind);
        CHECK(site::severity_at(row, 0.0) == approx(row.least));
        CHECK(site::severity_at(row, 1.0) == row.most);
        for (const double share : {0.25, 0.5, 0.75, 1.0})
            CHECK((row.least == row.most || site::severity_at(row, share) > site::severity_at(row, share - 0.25)));
    }
    site::FaultRow row = *site::find_fault("high-resistance-splice");
    row.least = 0, row.most = 10, row.usual = 4;
    CHECK(site::severity_at(row, 0.25) == 2.5);
    row.usual = 0.1;
    CHECK(site::severity_at(row, 0.25) == approx(0.01).epsilon(1e-12));
    CHECK(site::severity_at(row, 0.5) == approx(0.1).epsilon(1e-12));  // 1000 times in three thirds
    row.least = 0.001, row.usual = 0.01;
    CHECK(site::severity_at(row, 0.5) == approx(0.1).epsilon(1e-12));
}
