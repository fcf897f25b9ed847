// What one site shows for others that are like it, and what it does not.
#include <fmt/format.h>

#include "asked.hpp"
#include "catch_shim.hpp"
#include "diagnose/sights.hpp"
#include "site/load.hpp"

using namespace sunshaft;
using namespace sunshaft::test;

namespace {

const std::string on_the_hill =
    "site = \"hill-orchard\"\nsky = { irradiance_W_m2 = 820, source = \"in-plane meter\" }\n";

using ByGauge = std::vector<std::pair<const char*, const char*>>;
std::string read_on_the_hill(const ByGauge& by_gauge) {
    std::string read = on_the_hill;
    for (const auto& [gauge, shown] : by_gauge)
        read += fmt::format("[[seen]]\ngauge = \"{}\"\nshown = \"{}\"\n", gauge, shown);
    return read;
}

}  // namespace

TEST_CASE("a pair of lines is laid over its like: what exchanges u and v, exchanges w and u one letter on") {
    diagnose::Sights sights(site::load_scenario(site::find_scenario("hill-orchard")), "");
    std::vector<diagnose::Sights::Ask> asked;
    for (const char* pair : {"u-v", "v-w", "w-u"})
        asked.push_back({{{}, {{"phases-swapped", pair, 1.0, 0.0}}}, {}, {{{}, meter::Mode::dcv, "flow", "", false}}});
    const auto seen = sights.see(asked);
    CHECK(sights.computed() == 1);
    CHECK(seen[0].shown.front().value == seen[2].shown.front().value);
}

// Readings of the live solver: a module the wrong way round, with a pump off its data. What is off moves such a site
// far more than a healthy one.
TEST_CASE("a suspect is moved by what is uncertain as it would be itself, not as a healthy site is") {
    std::string read = read_on_the_hill({{"flow", "8.6 m3/h"}, {"drive_V", "227.1 V"}, {"drive_A", "10.11 A"}});
    for (const auto& [around, mode, shown] : {std::tuple{"s1", "dca", "6.97 A"},
                                              {"s2", "dca", "5.53 A"},
                                              {"u", "aca", "10.2"},
                                              {"v", "aca", "10.2"},
                                              {"w", "aca", "10.2"}})
        read += fmt::format("[[seen]]\naround = \"{}\"\nmode = \"{}\"\nshown = \"{}\"\n", around, mode, shown);
    diagnose::Diagnosis d(
        diagnose::parse_case(read, "my.toml"),
        priors_of({"module-reversed", "bypass-diode-shorted", "shaded-substring", "high-resistance-connector"}),
        kept().path());
    CHECK(share(d.answer({}, false), "module-reversed", "s2") > 0.6);
}

// Readings of the live solver at a sun in which the shaft as written takes just less than the current of a stall.
TEST_CASE("a seized motor that would just not be stopped for its stall is still one where it was") {
    const std::string again = "[[seen]]\ndo = [\"restart@drive\"]\nafter_s = 8\n";
    std::string read = read_on_the_hill(
        {{"flow", "0.0 m3/h"}, {"lamps", "supply, tripped, locked out"}, {"sound", "silent"}, {"drive_stop", "stall"}});
    const std::set<std::string> kinds{"seized", "lost-phase", "guard-cable-cut", "current-sensor-drift"};
    const auto of_seized = [&](const std::string& all) {
        diagnose::Diagnosis d(diagnose::parse_case(all, "my.toml"), priors_of(kinds), kept().path());
        return share(d.answer({}, false), "seized", "motor");
    };
    CHECK(of_seized(read) > 0.8);
    read += again + "gauge = \"lamps\"\nshown = \"supply, tripped\"\n" + again +
            "around = \"u\"\nmode = \"aca\"\nshown = \"0 A\"\n";
    CHECK(of_seized(read) > 0.8);
}

// A healthy site whose water stands seven metres lower than written: its guard stops it minutes after each start, and
// reads as wet by the time somebody has isolated.
TEST_CASE("a well that is drawn down to its probe again and again is low water, found while the guard holds") {
    std::string read = read_on_the_hill({{"flow", "0.0 m3/h"},
                                         {"lamps", "supply, dry-run hold"},
                                         {"water", "38.2 m"},
                                         {"drive_stop", "dry-run guard open"}});
    read +=
        "[[seen]]\ndo = [\"open@isolator\", \"pull@pump\"]\nred = \"dry.1\"\nblack = \"dry.2\"\nmode = \"ohm\"\n"
        "shown = \"7.99 kohm\"\n[[seen]]\ndo = [\"restart@drive\"]\nafter_s = 8\ngauge = \"lamps\"\n"
        "shown = \"supply, running\"\n";
    diagnose::Diagnosis d(diagnose::parse_case(read, "my.toml"),
                          priors_of({"dry-probe-open", "dry-probe-high", "clean-water", "guard-cable-cut"}, true),
                          kept().path());
    const auto a = d.answer({}, false);
    CHECK(a.suspects.front().fault == "low-water");
    CHECK(share(a, "low-water") > 0.8);
}
