// What one site shows for others that are like it.
#include "catch_shim.hpp"
#include "diagnose/sights.hpp"
#include "site/load.hpp"

using namespace sunshaft;

TEST_CASE("a pair of lines is laid over its like: what exchanges u and v, exchanges w and u one letter on") {
    diagnose::Sights sights(site::load_scenario(site::find_scenario("hill-orchard")), "");
    std::vector<diagnose::Sights::Ask> asked;
    for (const char* pair : {"u-v", "v-w", "w-u"})
        asked.push_back({{{}, {{"phases-swapped", pair, 1.0, 0.0}}}, {}, {{{}, meter::Mode::dcv, "flow", "", false}}});
    const auto seen = sights.see(asked);
    CHECK(sights.computed() == 1);
    CHECK(seen[0].shown.front().value == seen[2].shown.front().value);
}
