// Every row of the catalogue does something, says something, and is refused in one line where it does not
// belong.
#include <cmath>
#include <set>

#include "catch_shim.hpp"
#include "circuit/circuit.hpp"
#include "fingerprint.hpp"
#include "site/faults.hpp"
#include "site/keys.hpp"
#include "site/load.hpp"
#include "site/site.hpp"

using namespace sunshaft;
using namespace sunshaft::site;
using test::approx;
using test::fingerprint;

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
        const std::string before = fingerprint(healthy);
        for (const FaultRow& row : fault_catalogue())
            for (const std::string& place : row.places(healthy)) {
                INFO(scenario.file << ": " << row.kind << "@" << place);
                Works ill = healthy;
                apply(ill, {row.kind, place, row.usual, 0.0});
                CHECK(fingerprint(ill) != before);
                used.insert(row.kind);
            }
    }
    for (const FaultRow& row : fault_catalogue()) {
        INFO(row.kind);
        CHECK(used.count(row.kind) == 1);
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
        for (const char* text : {row.title, row.what, row.owner_sees, row.to_do, row.caution}) {
            REQUIRE(text != nullptr);
            CHECK(std::string(text).size() >= 8);
            CHECK(std::string(text).find('\n') == std::string::npos);
        }
    }
}

// Of all of them every `step`-th, each site beginning elsewhere.
static void compile_all(std::size_t step) {
    std::size_t n = 0;
    for (const Scenario& scenario : sites()) {
        const Works healthy = set_up(scenario);
        for (const FaultRow& row : fault_catalogue()) {
            const auto places = row.places(healthy);
            if (places.empty()) continue;
            for (const double share : {0.0, 0.25, 0.5, 0.75, 1.0}) {
                if (n++ % step != 0) continue;
                const double most = std::isinf(row.most) ? 100 * std::max(row.usual, 1.0) : row.most;
                double severity = row.least + share * (most - row.least);
                if (share == 1.0) severity = row.most;
                INFO(scenario.file << ": " << row.kind << "@" << places.front() << "=" << severity);
                const auto site = compile_site(scenario, {{row.kind, places.front(), severity, 0.0}});
                const double v = 0.8 * site->source.open_V;
                CHECK(std::isfinite(site->source.net_current(v)));
                if (!site->source.stiff) CHECK(std::isfinite(site->source.source_current(v)));
                CHECK_NOTHROW(circuit::solve(site->wiring));
            }
        }
    }
}

TEST_CASE("faults at five severities compile: a sample over all sites") {
    compile_all(9);  // not a multiple of five: every severity comes up, and most rows on some site
}
TEST_CASE("every fault at five severities compiles on every site", "[.soak]") { compile_all(1); }

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
          "--fault: high-resistance-splice: severity is -1, expected 0 to inf ohm");
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
