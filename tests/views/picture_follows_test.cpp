// What panels show comes from the snapshot and follows it: alter the snapshot, and the words and places change.
#include <cmath>
#include <numbers>

#include "catch_shim.hpp"
#include "model/desk.hpp"
#include "model/desk_state.hpp"
#include "model/point_words.hpp"
#include "model/site_drawing.hpp"
#include "model/site_offers.hpp"
#include "site/load.hpp"

using namespace sunshaft;
using namespace sunshaft::view;
using test::approx;

namespace {

Scenario scenario_named(const char* name) { return site::load_scenario(site::find_scenario(name)); }

double size_of(const std::vector<motor::Vec2>& path) {
    double most = 0.0;
    for (const auto& p : path) most = std::max(most, std::hypot(p[0], p[1]));
    return most;
}

// Spread of the radius along a path, as a share of its mean.
double unevenness(const std::vector<motor::Vec2>& path) {
    double least = 1e9;
    for (const auto& p : path) least = std::min(least, std::hypot(p[0], p[1]));
    return 1.0 - least / size_of(path);
}

}  // namespace

TEST_CASE("the words at a test point follow the snapshot") {
    Snapshot s;
    CHECK(volts_at(s, "drive.u").empty());
    s.point_V = {{"drive.u", 307.9}, {"drive.v", -0.71}};
    CHECK(volts_at(s, "drive.u") == "308 V above link−, this instant");
    CHECK(volts_at(s, "drive.v") == "710 mV below link−, this instant");
    s.point_V[0].second = 154.2;
    CHECK(volts_at(s, "drive.u") == "154 V above link−, this instant");
}

TEST_CASE("the words at a clamp's ring follow the snapshot") {
    Snapshot s;
    CHECK(amps_around(s, "v").empty());
    s.means.seconds = 0.2;
    s.means.current_rms = {8.37, 7.18, 10.0};
    CHECK(amps_around(s, "v") == "7.18 A rms");
    s.means.current_rms[1] = 0.0;
    CHECK(amps_around(s, "v") == "0 A rms");
    s.array_A = 9.34;
    CHECK(amps_around(s, "dc+") == "9.34 A");
    CHECK(amps_around(s, "dc-") == "-9.34 A");
    s.string_amps = {4.67, 0.0};
    CHECK(amps_around(s, "s1") == "4.67 A");
    CHECK(amps_around(s, "s2") == "0 A");
    CHECK(amps_around(s, "s3").empty());
}

TEST_CASE("water in the drawing follows the snapshot, and nonsense in it does no harm") {
    Snapshot s;
    s.water_level_m = 31.0;
    s.tank_fill = 0.25;
    CHECK(moving_part(s).water_level_m == 31.0);
    CHECK(moving_part(s).tank_fill == 0.25);
    s.water_level_m = std::nan("");
    s.tank_fill = 7.0;
    CHECK(moving_part(s).water_level_m == 0.0);
    CHECK(moving_part(s).tank_fill == 1.0);
}

TEST_CASE("potentials of the points are the plant's own") {
    Desk desk(scenario_named("hill-orchard"), false);
    desk.work(3.0);
    const auto s = desk.snapshot();
    const auto volts = [&](const std::string& name) {
        for (const auto& [point, v] : s->point_V)
            if (point == name) return v;
        return std::nan("");
    };
    CHECK(volts("link+") == approx(s->now.nodes.link).epsilon(1e-9));
    CHECK(volts("link-") == 0.0);
    // A leg of a six-step bridge stands at one rail or the other, but for a diode's or a transistor's drop.
    for (const char* point : {"drive.u", "drive.v", "drive.w"}) {
        const double v = volts(point), link = s->now.nodes.link;
        INFO(point << " " << v << " of " << link);
        CHECK((std::abs(v) < 0.02 * link || std::abs(v - link) < 0.02 * link));
    }
    // The far end of the drop cable lies between the rails as well, nearer the middle by what the cable takes.
    CHECK(std::abs(volts("motor.u") - volts("drive.u")) < 0.1 * s->now.nodes.link);
    CHECK(std::abs(volts("motor.u") - volts("drive.u")) > 0.0);
}

TEST_CASE("the flux of a six-step motor walks a hexagon of the size that link and frequency give") {
    Desk desk(scenario_named("hill-orchard"), false);
    desk.work(6.0);
    const auto s = desk.snapshot();
    REQUIRE(s->flux_path.size() == 96);
    // Faraday's law over a sixth of a turn: without resistance each side of the hexagon is 2/3 of the link times a
    // sixth of the period, and its corner is one side away from the middle.
    const double turn = 1.0 / s->fundamental_Hz, side = 2.0 / 3.0 * s->means.link * turn / 6.0;
    CHECK(size_of(s->flux_path) < side);
    // With it: the fundamental behind the resistances of cable and winding, over the angular frequency. A hexagon's
    // fundamental is 9/pi^2 of its corner.
    const double amps = s->means.current_rms[0];
    const double ohms = (s->power[plant::in_cable] + s->power[plant::in_winding]) / (3.0 * amps * amps);
    const double behind = std::abs(s->volt_phasor[0] - ohms * s->amp_phasor[0]);
    const double corner =
        std::sqrt(2.0) * behind * turn / (2.0 * std::numbers::pi) * std::numbers::pi * std::numbers::pi / 9.0;
    CHECK(size_of(s->flux_path) == approx(corner).epsilon(0.03));
    // From corner to the middle of a side: cos 30 degrees.
    CHECK(unevenness(s->flux_path) == approx(1.0 - std::sqrt(3.0) / 2.0).margin(0.03));
    CHECK(s->healthy_flux_path.empty());

    // A bad joint in one phase leans it; the healthy one stays as it was.
    desk.plant("high-resistance-splice", "v", 6.0);
    desk.work(8.0);
    const auto bad = desk.snapshot();
    REQUIRE(bad->flux_path.size() == 96);
    REQUIRE(bad->healthy_flux_path.size() == 96);
    CHECK(unevenness(bad->flux_path) > unevenness(bad->healthy_flux_path) + 0.02);
    CHECK(size_of(bad->healthy_flux_path) == approx(size_of(s->flux_path)).epsilon(0.01));
}

TEST_CASE("hands are offered what can be done, with its caution") {
    Desk desk(scenario_named("hill-orchard"), false);
    const auto drawing = draw_site(*desk.snapshot()->site, {0, 88, 976, 584}, {10.0, 0.5});
    int parts = 0;
    for (const Part& part : drawing.parts) {
        const auto list = offers(*desk.snapshot()->site, part);
        INFO(part_title(part));
        REQUIRE_FALSE(list.empty());
        for (const Offer& o : list) {
            const Caution caution = caution_of(*desk.truth(), o.kind, o.place);
            CHECK_FALSE((caution.words.empty() && caution.refused.empty()));
            CHECK_FALSE(o.words.empty());
        }
        ++parts;
    }
    CHECK(parts > 25);
    // Of two opposites never both.
    const auto both = [](const std::vector<Offer>& list, const char* one, const char* other, const std::string& place) {
        const auto has = [&](const char* kind) {
            return std::ranges::any_of(list, [&](const Offer& o) { return o.kind == kind && o.place == place; });
        };
        return has(one) && has(other);
    };
    const char* const opposites[][2] = {{"open", "close"},    {"pull", "restore"},  {"jumper", "unjumper"},
                                        {"cover", "uncover"}, {"short", "unshort"}, {"stop", "start"}};
    const auto check_opposites = [&] {
        auto all = offers(*desk.snapshot()->site);
        const auto now = draw_site(*desk.snapshot()->site, {0, 88, 976, 584}, {10.0, 0.5});
        for (const Part& part : now.parts)
            for (const Offer& o : offers(*desk.snapshot()->site, part)) all.push_back(o);
        for (const auto& pair : opposites)
            for (const Offer& o : all) CHECK_FALSE(both(all, pair[0], pair[1], o.place));
    };
    check_opposites();
    for (const auto& [kind, place] : {std::pair{"open", "isolator"},
                                      {"short", "array"},
                                      {"cover", "array"},
                                      {"jumper", "dry"},
                                      {"open", "fuse.s1"},
                                      {"stop", "drive"}}) {
        desk.act(kind, place);
        desk.work(0.05);
        check_opposites();
    }
    for (int k = 0; k < 6; ++k) desk.undo();
    desk.work(0.05);
    // The run switch and an exchange are offered where the wires are.
    for (const Part& part : drawing.parts) {
        if (part.kind != Part::Kind::wire) continue;
        const auto list = offers(*desk.snapshot()->site, part);
        CHECK(std::ranges::count(list, std::string("exchange"), &Offer::kind) == 2);
        CHECK(std::ranges::count(list, std::string("Stop the drive at its run switch"), &Offer::words) == 1);
    }
    // Done, the opposite is offered.
    desk.act("pull", "w");
    desk.work(0.2);
    const auto pulled = draw_site(*desk.snapshot()->site, {0, 88, 976, 584}, {10.0, 0.5});
    for (const Part& part : pulled.parts)
        if (part.kind == Part::Kind::wire && part.place == "w")
            CHECK(offers(*desk.snapshot()->site, part).front().kind == "restore");
}

TEST_CASE(
    "what must not be done now is refused with the reason and the order; done all the same it counts, undone or not") {
    Desk desk(scenario_named("hill-orchard"), false);
    desk.work(4.0);
    const Caution running = caution_of(*desk.truth(), "pull", "pump");
    REQUIRE_FALSE(running.refused.empty());
    CHECK_FALSE(running.order.empty());
    CHECK(caution_of(*desk.truth(), "cover", "array").refused.empty());
    // A danger is judged by what is so, hidden or not.
    desk.marks_hidden = true;
    CHECK(caution_of(*desk.truth(), "pull", "pump").refused == running.refused);
    CHECK(desk.snapshot()->unsafe_acts == 0);
    desk.act_anyway("pull", "pump");
    desk.work(0.1);
    CHECK(desk.snapshot()->unsafe_acts == 1);
    const auto& events = desk.snapshot()->events;
    CHECK(std::any_of(events.begin(), events.end(),
                      [](const Event& e) { return e.text.rfind("unsafe: pull pump", 0) == 0; }));
    desk.undo();
    desk.work(0.1);
    CHECK(desk.edits().acts.empty());
    CHECK(desk.snapshot()->unsafe_acts == 1);
}

TEST_CASE("the sun dragged is one act") {
    Desk desk(scenario_named("hill-orchard"), false);
    desk.set({{"sun.time_of_day", "15:00"}, {"sun.irradiance_W_m2", "700"}});
    desk.work(0.2);
    CHECK(desk.snapshot()->site->scenario.sun.time_of_day == "15:00");
    CHECK(desk.snapshot()->site->works.array.sunlight() == approx(700.0));
    desk.undo();
    CHECK_FALSE(desk.can_undo());
    desk.work(0.2);
    CHECK(desk.snapshot()->site->works.array.sunlight() == approx(820.0));
}

TEST_CASE("the desk told as JSON is what stands on it") {
    Desk desk(scenario_named("bench-rig"), false);
    desk.place({"drive.u", "drive.v", "u"});
    desk.plant("high-resistance-splice", "w", 2.5);
    desk.work(1.5);
    const std::string told = desk_state(desk);
    INFO(told);
    CHECK(told.find("\"faults\":[\"high-resistance-splice@w=2.5\"]") != std::string::npos);
    CHECK(told.find("\"red\":\"drive.u\"") != std::string::npos);
    REQUIRE(desk.snapshot()->meters[0].reading);
    CHECK(told.find("\"shown\":\"" + desk.snapshot()->meters[0].reading->shown + "\"") != std::string::npos);
    CHECK(told.find("\"can_undo\":true") != std::string::npos);
}
