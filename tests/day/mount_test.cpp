// Modules that are turned or tilted by the season: what they gain, and how it is said.
#include "solar/mount.hpp"

#include <cmath>

#include "catch_shim.hpp"
#include "day/skies.hpp"
#include "day/weather.hpp"

#include "../site_named.hpp"
#include "site/keys.hpp"

using namespace sunshaft;
using namespace sunshaft::day;
using solar::Mount;
using solar::parse_mount;
using sunshaft::test::orchard;
using test::approx;

namespace {

Scenario mounted(const std::string& as) {
    Scenario s = orchard();
    site::set_key(s, "array.mount=" + as);
    return s;
}
double kWh_m2(const std::vector<Moment>& list) {
    double sum = 0.0;
    for (const Moment& m : list) sum += m.plane * m.seconds() / 3.6e6;
    return sum;
}

}  // namespace

TEST_CASE("a mount is read as it is said, and a mistake says what is expected") {
    CHECK(parse_mount("fixed").still());
    CHECK(parse_mount("single-axis").tracks);
    CHECK(parse_mount("single-axis 45").axis.most_deg == 45.0);
    const Mount m = parse_mount("4:10 10:45");
    REQUIRE(m.seasons.size() == 2);
    CHECK(m.seasons[1].tilt_deg == 45.0);
    CHECK(words_of(m).find("45 deg from month 10") != std::string::npos);
    for (const char* wrong : {"", "turning", "13:20", "4:10 3:45", "4:100", "single-axis 2", "fixed 3", "4.5:10"})
        CHECK_THROWS_AS(parse_mount(wrong), std::invalid_argument);
    CHECK_THROWS_AS(mounted("turning"), site::BadInput);
}

TEST_CASE(
    "still modules are as without a mount; a season's tilt is that tilt in its months, the last one before the first") {
    const Scenario s = orchard();
    const Weather june = clear_sky(s, {2026, 6, 10}, 1, 600), january = clear_sky(s, {2026, 1, 10}, 1, 600);
    CHECK(kWh_m2(moments(june, Array(mounted("fixed")), 600)) == kWh_m2(moments(june, Array(s), 600)));
    const Array by_season(mounted("4:10 10:55"));
    Scenario flat = s, steep = s;
    site::set_key(flat, "array.tilt_deg=10");
    site::set_key(steep, "array.tilt_deg=55");
    CHECK(kWh_m2(moments(june, by_season, 600)) == approx(kWh_m2(moments(june, Array(flat), 600))));
    CHECK(kWh_m2(moments(january, by_season, 600)) == approx(kWh_m2(moments(january, Array(steep), 600))));
    CHECK(kWh_m2(moments(january, by_season, 600)) > kWh_m2(moments(january, Array(flat), 600)));
}

TEST_CASE(
    "modules turned about a level axis get nearly all there is on a clear day in June, most of it early and late") {
    const Scenario s = orchard();
    const Weather june = clear_sky(s, {2026, 6, 21}, 1, 600);
    const auto still = moments(june, Array(s), 600), turned = moments(june, Array(mounted("single-axis")), 600);
    REQUIRE(still.size() == turned.size());
    // A plane square to the sun all day gets the whole beam, and of the sky no more than a flat one and what the ground
    // gives back.
    double beam = 0.0, sky = 0.0;
    for (const Sky& row : june.rows) beam += row.dni * 600 / 3.6e6, sky += row.dhi * 600 / 3.6e6;
    CHECK(kWh_m2(turned) > 0.92 * (beam + 0.7 * sky));
    CHECK(kWh_m2(turned) < 1.05 * (beam + sky) + 0.1);
    CHECK(kWh_m2(turned) > 1.3 * kWh_m2(still));
    // Early and late it faces the sun.
    CHECK(turned[46].plane > 1.5 * still[46].plane);
    CHECK(turned[46].incidence_deg < still[46].incidence_deg);
    // Light measured in the plane of the array stays what it is.
    Weather measured = june;
    for (Sky& row : measured.rows) row.poa = 500.0, row.ghi = row.dni = row.dhi = missing;
    CHECK(kWh_m2(moments(measured, Array(mounted("single-axis")), 600)) ==
          approx(kWh_m2(moments(measured, Array(s), 600))));
}

TEST_CASE("what asks for the sun at an hour asks for it on the plane there is then") {
    const NamedSky& clear = shipped_skies().sky("clear");
    const Date june{2026, 6, 21};
    const Moment still = moment_at(orchard(), june, 7.5, clear, false);
    const Moment turned = moment_at(mounted("single-axis"), june, 7.5, clear, false);
    CHECK(turned.plane > 1.5 * still.plane);
    CHECK(Array(mounted("single-axis 45")).lies().find("45 deg to either side") != std::string::npos);
    CHECK(Array(orchard()).lies() == "tilted 34 deg, facing 180 deg");
}
