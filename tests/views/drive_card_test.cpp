// The drive's card, its log and the space vectors follow the snapshot.
#include "model/drive_card.hpp"

#include <algorithm>
#include <cmath>

#include "catch_shim.hpp"
#include "drive/control.hpp"
#include "model/desk.hpp"
#include "model/figures.hpp"
#include "site/load.hpp"

using namespace sunshaft;
using namespace sunshaft::view;
using sunshaft::test::approx;

namespace {

std::string value(const std::vector<CardLine>& lines, const std::string& name) {
    for (const CardLine& l : lines)
        if (l.name == name) return l.value;
    return "none";
}
std::shared_ptr<const site::Site> site_of(const char* name) {
    return site::compile_site(site::load_scenario(site::find_scenario(name)));
}

}  // namespace

TEST_CASE("the drive's card says what the snapshot's control state says") {
    Snapshot s;
    CHECK(drive_card(s).empty());
    s.site = site_of("hill-orchard");
    s.t = 100;
    auto& c = s.now.control;
    c.phase = drive::Phase::running;
    c.since = 75;
    c.setting = 0.5;
    s.now.electrical_Hz = 41.5;
    CHECK(value(drive_card(s), "state") == "running");
    CHECK(value(drive_card(s), "for") == "1 min 15 s");
    CHECK(value(drive_card(s), "output") == "41.5 Hz");
    CHECK(value(drive_card(s), "of the speed ceiling") == "50 %");
    CHECK(value(drive_card(s), "tries again in") == "none");

    c.phase = drive::Phase::tripped;
    c.trips = 2;
    c.retry_at = 112.5;
    c.log[0] = {95.0, drive::Phase::tripped, drive::Cause::phase_loss, 0.02};
    c.logged = 1;
    CHECK(drive_card(s)[0].stands_out);
    CHECK(value(drive_card(s), "for") == "5.0 s");
    CHECK(value(drive_card(s), "because") == "tripped: phase loss, 0.02 A in the weakest line");
    CHECK(value(drive_card(s), "tries again in") == "12.5 s");
    CHECK(value(drive_card(s), "trips in a row").rfind("2, locks out", 0) == 0);
    CHECK(value(drive_card(s), "output") == "none");
    c.retry_at = 90;
    CHECK(value(drive_card(s), "tries again in") == "none");
    c.phase = drive::Phase::locked;
    CHECK(value(drive_card(s), "let go by").rfind("a restart", 0) == 0);
    c.heat = 0.6;
    CHECK(value(drive_card(s), "thermal image") == "50 % of the trip");
}

TEST_CASE("warmth, water and wear follow the snapshot") {
    Snapshot s;
    s.site = site_of("hill-orchard");
    s.pump_curve.x = {0, 1};
    s.winding_degC = 131;
    s.pump_damage = 0.125;
    s.tank_fill = 0.45;
    s.water_level_m = 30.26;
    const auto lines = warmth_card(s);
    CHECK(value(lines, "winding") == "131 °C");
    CHECK(lines[0].stands_out);
    CHECK(value(lines, "worn by running dry") == "12.5 %");
    CHECK(value(lines, "tank") == "45 % full");
    CHECK(value(lines, "water in the bore") == "30.3 m down");
}

TEST_CASE("a lit lamp is never left out for want of room") {
    const std::vector<Lamp> all = {{"supply", true}, {"running", false}, {"waiting", false},
                                   {"dry", false},   {"tripped", true},  {"locked", true}};
    const auto names = [](const std::vector<Lamp>& lamps) {
        std::string text;
        for (const Lamp& l : lamps) text += l.name + " ";
        return text;
    };
    CHECK(names(lamps_that_fit(all, 6)) == "supply running waiting dry tripped locked ");
    CHECK(names(lamps_that_fit(all, 4)) == "supply running tripped locked ");
    CHECK(names(lamps_that_fit(all, 3)) == "supply tripped locked ");
    CHECK(names(lamps_that_fit(all, 0)).empty());
}

TEST_CASE("spans in words") {
    CHECK(span_words(12.44) == "12.4 s");
    CHECK(span_words(200) == "3 min 20 s");
    CHECK(span_words(7500) == "2 h 5 min");
    CHECK(span_words(std::nan("")) == "-");
}

TEST_CASE("the space vectors' paths are the waves': six corners, and a line with a phase lost") {
    Desk desk(site::load_scenario(site::find_scenario("bench-rig")), false);
    desk.work(2.0);
    const auto healthy = desk.snapshot();
    REQUIRE(healthy->volt_path.size() > 10);
    // A six-step output stands in the corners of a hexagon of 2/3 of the link (Mohan, Undeland, Robbins, ch. 8: space
    // vectors).
    for (const auto& v : healthy->volt_path) CHECK(std::hypot(v[0], v[1]) == approx(2.0 / 3 * 320).epsilon(0.02));
    double least = 1e9;
    for (const auto& v : healthy->amp_path) least = std::min(least, std::hypot(v[0], v[1]));
    CHECK(least > 1.0);
    desk.plant("lost-phase", "splice.v", 1.0);
    desk.work(2.0);
    const auto lost = desk.snapshot();
    // i_v = 0 and i_u = -i_w: the vector keeps to one direction, 30 degrees from alpha.
    double along = 0.0, across = 0.0;
    for (const auto& v : lost->amp_path) {
        along = std::max(along, std::abs(v[0] * std::cos(M_PI / 6) + v[1] * std::sin(M_PI / 6)));
        across = std::max(across, std::abs(v[1] * std::cos(M_PI / 6) - v[0] * std::sin(M_PI / 6)));
    }
    CHECK(across < 1e-3 * along);
}
