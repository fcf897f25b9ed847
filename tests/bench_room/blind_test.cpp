// The blind-spot map is computed: what it says follows from what the parts do.
#include <algorithm>

#include "bench/blind.hpp"
#include "catch_shim.hpp"
#include "site/load.hpp"

using namespace sunshaft;
using bench::Sight;

namespace {

std::size_t test(const std::string& name) {
    const auto& list = bench::field_tests();
    return static_cast<std::size_t>(std::find_if(list.begin(), list.end(), [&](const auto& t) { return t.name == name; }) - list.begin());
}
Sight sight(const Scenario& s, const std::vector<std::vector<bench::Probe>>& healthy, const char* kind, const char* name,
            double running_s = 8.0) {
    const site::Works w = site::set_up(s);
    const auto ill = bench::carry_out(s, {site::parse_fault(kind, w)}, running_s);
    const double d = bench::distance(ill[test(name)], healthy[test(name)]);
    return d > 3.0 ? Sight::seen : d > 1.0 ? Sight::weak : Sight::blind;
}

}  // namespace

TEST_CASE("which test sees which fault: facts of the trade") {
    const Scenario s = site::load_scenario(site::find_scenario("hill-orchard"));
    const auto healthy = bench::carry_out(s, {});
    REQUIRE(healthy.size() == bench::field_tests().size());
    // A contact resistance is blind to V_oc and I_sc and seen by the drop under load.
    CHECK(sight(s, healthy, "high-resistance-connector@s1.m4-=4", "open-circuit volts") == Sight::blind);
    CHECK(sight(s, healthy, "high-resistance-connector@s1.m4-=4", "drops") == Sight::seen);
    // A phase lost at the splice, six-step output: ohms and clamps see it.
    CHECK(sight(s, healthy, "lost-phase@splice.u", "winding ohms") == Sight::seen);
    CHECK(sight(s, healthy, "lost-phase@splice.u", "line clamps") == Sight::seen);
    CHECK(sight(s, healthy, "high-resistance-splice@v=3", "winding ohms") == Sight::seen);
    // The diode test sees a shorted device and is blind to one that never conducts.
    CHECK(sight(s, healthy, "device-shorted@u.upper", "bridge diode test") == Sight::seen);
    CHECK(sight(s, healthy, "device-open@u.upper", "bridge diode test") == Sight::blind);
    // Only the tape sees the well fall while it still covers the pump.
    CHECK(sight(s, healthy, "low-well@well=3", "dip tape") == Sight::seen);
    CHECK(sight(s, healthy, "low-well@well=3", "winding ohms") == Sight::blind);
    CHECK(sight(s, healthy, "bleed-open@link", "bleed-down") == Sight::seen);
    CHECK(sight(s, healthy, "core-broken@u=0.4", "core capacitance") == Sight::seen);
    // A joint that opens when warm is good after seconds and gone after minutes.
    CHECK(sight(s, healthy, "splice-opens-when-warm@v=0.224", "line clamps") == Sight::blind);
    const auto later = bench::carry_out(s, {}, 200.0);
    CHECK(sight(s, later, "splice-opens-when-warm@v=0.224", "line clamps", 200.0) == Sight::seen);
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
