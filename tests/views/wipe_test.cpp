// The healthy twin as a whole picture of its own, and the pairs of values on either side of the wipe.
#include "model/wipe.hpp"

#include <cmath>
#include <numbers>

#include "desk_support.hpp"
#include "model/seen.hpp"
#include "model/twin.hpp"

using namespace sunshaft;
using namespace sunshaft::view;
using test::approx;

TEST_CASE("the twin's picture is that of the site before the fault; healed or hidden there is none") {
    Desk desk(site_named("hill-orchard"), false);
    desk.work(10.0);
    const auto before = desk.snapshot();
    CHECK_FALSE(before->twin);
    desk.plant("high-resistance-splice", "v", 4.0);
    desk.work(8.0);
    const auto s = desk.snapshot();
    REQUIRE(s->twin);
    const Snapshot& twin = *s->twin;
    CHECK(twin.flow_m3_h == approx(before->flow_m3_h).epsilon(0.02));
    CHECK(twin.means.speed == approx(before->means.speed).epsilon(0.01));
    for (std::size_t k = 0; k < 3; ++k) {
        CHECK(twin.splice[k].ohms == before->splice[k].ohms);
        CHECK(twin.splice[k].amps == approx(before->splice[k].amps).epsilon(0.02));
    }
    CHECK(s->splice[1].ohms > 3.9);
    CHECK(twin.site->works.array.sunlight() == s->site->works.array.sunlight());
    CHECK(twin.power[plant::in_cable] == approx(before->power[plant::in_cable]).epsilon(0.03));
    // Its curves are those the plots have had all along.
    CHECK(twin.array_current.y == s->healthy_array_current.y);
    CHECK_FALSE(seen(*s).twin);
    desk.heal_all();
    desk.work(0.5);
    CHECK_FALSE(desk.snapshot()->twin);
}

TEST_CASE(
    "the twin's instant goes on with the time of the site: a sixth of a turn later its field is a sixth further") {
    Desk desk(site_named("hill-orchard"), false);
    desk.work(8.0);
    desk.plant("high-resistance-splice", "v", 4.0);
    desk.work(8.0);
    const auto s = desk.snapshot();
    REQUIRE(s->twin);
    REQUIRE(s->twin->turn->omega > 0.0);
    const double turn = 2.0 * std::numbers::pi / s->twin->turn->omega;
    const Snapshot a = twin_at(*s->twin, s->t), b = twin_at(*s->twin, s->t + turn / 6.0),
                   c = twin_at(*s->twin, s->t + turn);
    const auto angle = [](const Snapshot& of) { return std::atan2(of.now.flux[1], of.now.flux[0]); };
    CHECK(std::remainder(angle(b) - angle(a) - std::numbers::pi / 3.0, 2.0 * std::numbers::pi) ==
          approx(0.0).margin(1e-6));
    CHECK(std::remainder(angle(c) - angle(a), 2.0 * std::numbers::pi) == approx(0.0).margin(1e-6));
    CHECK(c.t == s->t + turn);
    // Three phases alike, half waves alike: a sixth later each carries what the next did, the other way.
    for (std::size_t k = 0; k < 3; ++k) CHECK(b.now.nodes.i[k] == approx(-a.now.nodes.i[(k + 1) % 3]).margin(0.3));
}

TEST_CASE("pairs of values differ where a meter would tell, and only there") {
    Desk desk(site_named("hill-orchard"), false);
    auto s = lost_phase(desk, 8.0, 8.0);
    REQUIRE(s->twin);
    auto rows = pairs(*s, *s->twin);
    REQUIRE(rows.size() == 4);
    CHECK(rows.back().unit == "A");
    REQUIRE(rows.back().values.size() == 3);
    CHECK(rows.back().values[1].site == "0.00");
    for (const auto& v : rows.back().values) CHECK(v.differs);
    CHECK(rows.front().values[0].differs);  // water
    // A fault of the meter leaves the site as it is.
    desk.heal_all();
    desk.work(12.0);
    desk.plant("leads-swapped", "meter", 1.0);
    REQUIRE(desk.last_error().empty());
    desk.work(8.0);
    s = desk.snapshot();
    REQUIRE(s->twin);
    for (const Pair& row : pairs(*s, *s->twin))
        for (const auto& v : row.values) {
            INFO(row.name << " " << v.healthy << " " << v.site);
            CHECK_FALSE(v.differs);
        }
}
