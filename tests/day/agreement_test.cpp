// Day and live run agree at steady state: the same parameters, once switched and once averaged.
//
// Within 1 % on speed, flow, DC power, line current and link voltage. The fast cases are a sample; all sites, suns
// and faults are the soak.
#include "agreement.hpp"

#include "catch_shim.hpp"

using namespace sunshaft;

namespace {

struct Case {
    const char* site;
    const char* sun;
    const char* fault;  // "": healthy
};

void agrees(const Case& c, double within) {
    const std::vector<std::string> faults = *c.fault ? std::vector<std::string>{c.fault} : std::vector<std::string>{};
    const test::Agreement a = test::agreement(c.site, {std::string("sun.irradiance_W_m2=") + c.sun}, faults, 3.0);
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
                          Case{"river-meadow", "820", ""}, Case{"stone-fold", "840", ""}})
        agrees(c, 0.01);
}

// It saws to and fro there, by somewhat more than one per cent.
TEST_CASE("a ramp that a weak sun holds stands where the link is weak") {
    agrees({"terrace-pwm", "820", "isolator-contact@isolator+=15"}, 0.02);
    agrees({"terrace-pwm", "820", "undersized-run@array=100"}, 0.02);
    agrees({"terrace-pwm", "41", ""}, 0.02);
    agrees({"terrace-pwm", "328", ""}, 0.02);  // falls through, again and again
}

TEST_CASE("a broken cage lets the shaft swing, and day and live run agree on what it draws then") {
    for (const Case& c : {Case{"hill-orchard", "820", "broken-bars"}, Case{"hill-orchard", "600", "broken-bars"}})
        agrees(c, 0.02);
}

// The live run's own readings wander there by more than the rule asks: its tracker hunts on a flat top, or the speed
// beats.
TEST_CASE("day and live run agree at every site, sun and ten faults", "[.soak]") {
    const std::vector<const char*> faults = {"",
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
    const std::vector<std::pair<const char*, std::vector<const char*>>> sites = {
        {"hill-orchard", {"300", "500", "700", "820", "1000"}},
        {"terrace-pwm", {"750", "900", "1000"}},
        {"river-meadow", {"300", "500", "820", "1000"}},
        {"stone-fold", {"400", "600", "840", "1000"}}};
    for (const auto& [name, suns] : sites)
        for (const char* sun : suns)
            for (const char* fault : faults) agrees({name, sun, fault}, 0.02);
}
