// Day and live run agree at steady state: the same parameters, once switched and once averaged.
//
// Within 1 % on speed, flow, DC power, line current and link voltage. The fast cases are a sample; all sites, suns
// and faults are the soak.
#include "agreement.hpp"

#include <cstdio>
#include <cstdlib>

#include "catch_shim.hpp"
#include "day/array_side.hpp"
#include "site/source_curve.hpp"

using namespace sunshaft;

namespace {

struct Case {
    const char* site;
    const char* sun;
    const char* fault;  // "": healthy
};

void agrees(const Case& c, double within) {
    const std::vector<std::string> faults = *c.fault ? std::vector<std::string>{c.fault} : std::vector<std::string>{};
    // A tracker takes some twenty seconds to and fro.
    const test::Agreement a = test::agreement(c.site, {std::string("sun.irradiance_W_m2=") + c.sun}, faults, 40.0);
    INFO(c.site << " at " << c.sun << " W/m2, " << (*c.fault ? c.fault : "healthy"));
    INFO("speed " << a.speed.live << " " << a.speed.day << " rad/s, flow " << a.flow.live * 3600 << " "
                  << a.flow.day * 3600 << " m3/h, power " << a.watt.live << " " << a.watt.day << " W, current "
                  << a.ampere.live << " " << a.ampere.day << " A, link " << a.link.live << " " << a.link.day << " V");
    if (a.starts_live > 1) {
        CHECK_FALSE(a.turning_day);
        return;
    }
    CHECK(a.turning_live);
    CHECK(a.turning_day);
    CHECK(a.worst() < within);
}

}  // namespace

TEST_CASE("day and live run agree within one per cent") {
    for (const Case& c : {Case{"hill-orchard", "820", ""}, Case{"hill-orchard", "400", ""},
                          Case{"hill-orchard", "820", "high-resistance-splice@v=2.4"},
                          Case{"hill-orchard", "820", "string-fuse-blown@s1"}, Case{"hill-orchard", "820", "worn-pump"},
                          Case{"terrace-pwm", "750", ""}, Case{"terrace-pwm", "820", "open-string@s1"},
                          Case{"river-meadow", "820", ""}, Case{"stone-fold", "840", ""},
                          Case{"hill-orchard", "300", "shaded-module@s1.m2"}})  // to and fro at a knee, if let
        agrees(c, 0.01);
}

// It saws to and fro there, by somewhat more than one per cent.
TEST_CASE("a ramp that a weak sun holds stands where the link is weak") {
    agrees({"terrace-pwm", "820", "isolator-contact@isolator+=15"}, 0.02);
    agrees({"terrace-pwm", "820", "undersized-run@array=100"}, 0.02);
    agrees({"terrace-pwm", "41", ""}, 0.02);
    agrees({"terrace-pwm", "328", ""}, 0.02);  // falls through, again and again
}

// All the amplitude there is, the link above the target it began with: nothing to climb, though the top lies higher.
// And a ceiling that the array just carries.
TEST_CASE("a tracker at the end of its setting stays where it is") {
    agrees({"river-meadow", "600", "shaded-module@s1.m2"}, 0.005);
    agrees({"terrace-pwm", "600", "shaded-module@s1.m2"}, 0.005);
}

TEST_CASE("a light load's current is right between the nodes of the table") {
    const test::Agreement a = test::agreement("river-meadow", {"sun.irradiance_W_m2=200"}, {"soiled-array"}, 3.0);
    INFO(a.ampere.live << " " << a.ampere.day);
    CHECK(a.ampere.apart() < 0.015);
}

TEST_CASE("the array's curve between its nodes is the whole network's") {
    for (const char* name : {"hill-orchard", "terrace-pwm", "stone-fold"}) {
        const Scenario scenario = site::load_scenario(site::find_scenario(name));
        site::Works works = site::set_up(scenario);
        day::ArraySide array(works);
        for (const double light : {70.0, 141.0, 283.0, 600.0, 1100.0})
            for (const double degC : {12.0, 37.5, 50.0}) {
                works.array.irradiance = light, works.array.module_degC = degC;
                const site::SourceCurve whole = site::source_curve(works);
                const day::Curve curve = array.at(light, degC);
                INFO(name << " at " << light << " W/m2, " << degC << " degC: " << curve.power(curve.most_V()) << " and "
                          << whole.max_power_W << " W");
                CHECK(std::abs(curve.power(curve.most_V()) / whole.max_power_W - 1) < 1e-3);
                CHECK(std::abs(curve.open_V / whole.open_V - 1) < 2e-4);
                const double v = whole.max_power_V;
                CHECK(std::abs(curve.run_loss(v) - whole.run_loss(v)) < 0.01 * whole.run_loss(v) + 0.05);
            }
    }
}

TEST_CASE("a broken cage lets the shaft swing, and day and live run agree on what it draws then") {
    for (const Case& c : {Case{"hill-orchard", "820", "broken-bars"}, Case{"hill-orchard", "600", "broken-bars"}})
        agrees(c, 0.02);
}

namespace {

const std::vector<const char*> ten_faults = {"",
                                             "high-resistance-splice@v",
                                             "soiled-array",
                                             "shaded-module@s1.m2",
                                             "high-resistance-connector@s1.m2-",
                                             "undersized-run@array",
                                             "undersized-cable",
                                             "worn-pump",
                                             "outlet-throttled",
                                             "dragging-bearing",
                                             "encrusted-screen"};

}  // namespace

// The live run's own readings wander there by more than the rule asks: its tracker hunts on a flat top, or the speed
// beats.
TEST_CASE("day and live run agree at every site, sun and ten faults", "[.soak]") {
    const std::vector<std::pair<const char*, std::vector<const char*>>> sites = {
        {"hill-orchard", {"300", "500", "700", "820", "1000"}},
        {"terrace-pwm", {"750", "900", "1000"}},
        {"river-meadow", {"300", "500", "820", "1000"}},
        {"stone-fold", {"400", "600", "840", "1000"}}};
    for (const auto& [name, suns] : sites)
        for (const char* sun : suns)
            for (const char* fault : ten_faults) agrees({name, sun, fault}, 0.02);
}

// Not a check: the table of both at twelve suns, as lines of Markdown, how far they lie apart in per cent. Takes long.
// A shaft that trembles by a tenth and more within a turn has no one speed: it is said so. In brackets stands a flow
// that the speed tells no better. Held: agreement.hpp.
TEST_CASE("both at twelve suns, written down", "[.table]") {
    const std::vector<const char*> suns = {"200", "300", "400", "500", "600",  "700",
                                           "750", "800", "850", "900", "1000", "1100"};
    const char* only = std::getenv("SUNSHAFT_SITE");
    for (const char* name : {"hill-orchard", "river-meadow", "stone-fold", "terrace-pwm"})
        for (const char* sun : suns) {
            if (only && std::string(only) != name) continue;
            for (const char* fault : ten_faults) {
                const std::vector<std::string> faults =
                    *fault ? std::vector<std::string>{fault} : std::vector<std::string>{};
                const std::vector<std::string> set{std::string("sun.irradiance_W_m2=") + sun};
                test::Agreement a = test::agreement(name, set, faults, 3.0);
                // A tracker takes some twenty seconds to and fro.
                if (a.worst() > 0.01 && a.trembles <= 0.1) a = test::agreement(name, set, faults, 40.0);
                const auto off = [](const test::Both& b) { return 100 * (b.day - b.live) / std::max(b.live, 1e-9); };
                if (a.starts_live > 1 || !a.turning_live || !a.turning_day)
                    std::printf("| %s | %s | %s | %s | %s |\n", name, sun, *fault ? fault : "healthy",
                                a.starts_live > 1 ? "starts over and over"
                                : a.turning_live  ? "runs"
                                                  : "stands",
                                a.turning_day ? "runs" : "stands");
                else if (a.trembles > 0.1)
                    std::printf("| %s | %s | %s | %.4g rpm, %.3g m3/h | trembles by %.0f %% |\n", name, sun,
                                *fault ? fault : "healthy", a.speed.live * 9.5493, a.flow.live * 3600,
                                100 * a.trembles);
                else
                    std::printf(
                        "| %s | %s | %s%s | %.4g rpm, %.3g m3/h | %+.2f | %s%+.2f%s | %+.2f | %+.2f | %+.2f |\n", name,
                        sun, *fault ? fault : "healthy", a.held ? ", held" : "", a.speed.live * 9.5493,
                        a.flow.live * 3600, off(a.speed), a.flow_apart() < a.flow.apart() ? "(" : "", off(a.flow),
                        a.flow_apart() < a.flow.apart() ? ")" : "", off(a.watt), off(a.ampere), off(a.link));
                std::fflush(stdout);
                SUCCEED();
            }
        }
}
