// The section drawing as geometry: every site at every size has all its points in the picture and apart, and an altered
// snapshot moves it.
#include "model/site_drawing.hpp"

#include <algorithm>
#include <cmath>

#include "catch_shim.hpp"
#include "model/desk.hpp"
#include "site/keys.hpp"
#include "site/load.hpp"

using namespace sunshaft;
using namespace sunshaft::view;
using test::approx;

namespace {

const char* const sites[] = {"hill-orchard", "river-meadow", "stone-fold", "terrace-pwm", "bench-rig"};

site::Site compiled_site(const std::string& name, const std::vector<std::string>& set = {},
                         const std::vector<site::Act>& acts = {}) {
    Scenario scenario = site::load_scenario(site::find_scenario(name));
    site::set_keys(scenario, set);
    return *site::compile_site(scenario, {}, acts);
}

const Box large{0, 88, 976, 584};

SiteDrawing drawn(const site::Site& site, MovingPart moving = {10.0, 0.5}, const Box& box = large) {
    return draw_site(site, box, moving);
}

}  // namespace

namespace {

const Box boxes[] = {{0, 88, 720, 600}, large, {304, 88, 476, 600}, {0, 88, 1171, 640}, {0, 88, 551, 574}};

void every_point_has_its_place(const site::Site& site, const SiteDrawing& d) {
    for (const site::PointInfo& p : site::points(site.works)) {
        INFO(p.name);
        if (p.clamp) {
            REQUIRE(d.ring(p.name));
            REQUIRE(d.box.contains(d.ring(p.name)->at));
        } else {
            const Dot* dot = d.dot(p.name);
            REQUIRE(dot);
            REQUIRE(dot->reachable == p.reachable);
            REQUIRE(d.box.contains(dot->at));
            // The nearest dot to its middle is itself: nothing lies on top of it.
            REQUIRE(d.dot_near(dot->at, dot_reach) == dot);
        }
    }
    for (std::size_t i = 0; i < d.dots.size(); ++i)
        for (std::size_t k = i + 1; k < d.dots.size(); ++k) {
            INFO(d.dots[i].name << " and " << d.dots[k].name);
            REQUIRE(distance(d.dots[i].at, d.dots[k].at) >= 2.0);
        }
}

bool apart(const Box& a, const Box& b) {
    return a.right() <= b.x || b.right() <= a.x || a.bottom() <= b.y || b.bottom() <= a.y;
}

}  // namespace

TEST_CASE("every test point and every clamp of a site has its place in the drawing, apart from the others") {
    for (const char* name : sites)
        for (const Box& box : boxes) {
            const site::Site site = compiled_site(name);
            INFO(name << " in " << box.w << " x " << box.h);
            every_point_has_its_place(site, draw_site(site, box, {10.0, 0.5}));
        }
}

TEST_CASE("a second supply stands on the ground, its switch in the run before the drive, its points on the switch") {
    for (const char* name : {"hill-orchard", "river-meadow", "stone-fold", "terrace-pwm"})
        for (const char* kind : {"generator", "mains"})
            for (const Box& box : boxes) {
                INFO(name << ", " << kind << " in " << box.w << " x " << box.h);
                const site::Site site = compiled_site(name, {std::string("supply.second=") + kind});
                const SiteDrawing d = draw_site(site, box, {10.0, 0.5});
                every_point_has_its_place(site, d);
                REQUIRE(d.change_over);
                const ChangeOver& k = *d.change_over;
                CHECK(k.mains == (std::string(kind) == "mains"));
                CHECK(k.standing == !k.mains);  // a generator stands still until it is started
                CHECK(k.source.bottom() == approx(d.depth.ground_y));
                CHECK(k.source.w > 60.0);
                CHECK(d.isolator.right() < k.box.x);
                CHECK(k.box.right() < d.drive.x);
                CHECK(apart(k.source, k.box));
                CHECK(k.source.y > d.drive.bottom());
                CHECK(k.source.right() < d.earth.x);
                CHECK(k.box.contains(d.dot("second+")->at));
                CHECK(k.box.contains(d.dot("second-")->at));
                // What the clamp round dc+ reads comes from the isolator, never from the second supply.
                for (const char* ring : {"dc+", "dc-"}) {
                    CHECK(d.ring(ring)->at.x > d.isolator.right());
                    CHECK(d.ring(ring)->at.x < k.box.x);
                }
                // No bus bar passes through a fuse.
                for (const StringDrawing& string : d.strings)
                    for (const WirePath& wire : d.wires)
                        for (std::size_t n = 1; n < wire.points.size(); ++n)
                            if (wire.points[n].x == wire.points[n - 1].x && wire.points[n].x > d.array.right())
                                CHECK((wire.points[n].x <= string.fuse.x || wire.points[n].x >= string.fuse.right()));
                if (d.tank && box.w > 600.0) CHECK(d.array.x >= d.tank->box.right());
                for (std::size_t i = 0; i < d.parts.size(); ++i)
                    for (std::size_t n = i + 1; n < d.parts.size(); ++n) CHECK(d.parts[i].id() != d.parts[n].id());
            }
}

TEST_CASE("the change-over switch stands where it was turned, and welded contacts are not to be seen") {
    const std::vector<std::string> second{"supply.second=generator"};
    const SiteDrawing on = drawn(compiled_site("hill-orchard", second, {{"changeover", "second", 0.0}}));
    CHECK(on.change_over->chosen);
    CHECK_FALSE(drawn(compiled_site("hill-orchard", second)).change_over->chosen);
    const SiteDrawing started = drawn(compiled_site("hill-orchard", second, {{"close", "second", 0.0}}));
    CHECK_FALSE(started.change_over->standing);
    // Where its mark stands: on the switch.
    const Point mark = on.fault_anchor("changeover-welded", "second");
    CHECK(std::abs(mark.x - on.change_over->box.centre().x) < 1.0);
    CHECK(mark.y < on.change_over->box.y);
}

TEST_CASE("modules are drawn in their strings") {
    const SiteDrawing orchard = drawn(compiled_site("hill-orchard"));
    REQUIRE(orchard.strings.size() == 2);
    REQUIRE(orchard.strings[1].modules.size() == 10);
    const SiteDrawing fold = drawn(compiled_site("stone-fold"));
    REQUIRE(fold.strings.size() == 1);
    REQUIRE(fold.strings[0].modules.size() == 3);
    // String 1 above string 2, first module at the right.
    REQUIRE(orchard.strings[0].modules[0].box.y < orchard.strings[1].modules[0].box.y);
    REQUIRE(orchard.strings[0].modules[0].box.x > orchard.strings[0].modules[9].box.x);
}

TEST_CASE("sheets lie in the picture and not on each other") {
    for (const char* name : sites)
        for (double w : {476.0, 551.0, 720.0, 976.0, 1171.0})
            for (const SheetChoice choice : {SheetChoice::splice, SheetChoice::motor, SheetChoice::power}) {
                const SiteDrawing d = draw_site(compiled_site(name), {0, 88, w, 584}, {10.0, 0.5}, choice);
                INFO(name << " " << w);
                const Box boxes[] = {d.sheets.splice, d.sheets.motor, d.sheets.power};
                REQUIRE((!boxes[0].empty() || !boxes[1].empty() || !boxes[2].empty()));
                for (int i = 0; i < 3; ++i) {
                    if (boxes[i].empty()) continue;
                    REQUIRE(boxes[i].right() <= d.box.right() + 1e-9);
                    REQUIRE(boxes[i].bottom() <= d.box.bottom() + 1e-9);
                    for (int k = i + 1; k < 3; ++k)
                        REQUIRE((boxes[k].empty() || boxes[i].right() <= boxes[k].x || boxes[k].right() <= boxes[i].x ||
                                 boxes[i].bottom() <= boxes[k].y || boxes[k].bottom() <= boxes[i].y));
                }
            }
}

TEST_CASE("the water in bore and tank stands where the snapshot says") {
    const site::Site site = compiled_site("river-meadow");
    const SiteDrawing high = drawn(site, {12.0, 0.9}), low = drawn(site, {15.0, 0.1});
    REQUIRE(low.bore->water_y - high.bore->water_y == approx(3.0 * high.depth.metre).epsilon(1e-9));
    REQUIRE(high.tank->level_y < low.tank->level_y);
    REQUIRE(high.tank->ball.y < low.tank->ball.y);
    // One scale: a metre of tank rise and of bore are alike; the pump hangs at its depth.
    REQUIRE(high.bore->intake_y == approx(high.depth.y(site.works.water.pump_depth)));
}

TEST_CASE("a deep bore leaves a stretch out and says which; a shallow one is drawn whole") {
    const SiteDrawing deep = drawn(compiled_site("hill-orchard"), {30.0, 0.5}),
                      shallow = drawn(compiled_site("river-meadow"));
    REQUIRE(deep.depth.tear);
    REQUIRE_FALSE(shallow.depth.tear);
    // Nothing that matters lies in it.
    const site::Site site = compiled_site("hill-orchard");
    for (const double depth :
         {site.works.water.pump_depth, site.works.water.static_level, site.scenario.splice.depth_m})
        if (std::isfinite(depth)) REQUIRE((depth <= deep.depth.tear->from_m || depth >= deep.depth.tear->to_m));
    REQUIRE(deep.depth.y(deep.depth.tear->to_m) - deep.depth.y(deep.depth.tear->from_m) ==
            approx(deep.depth.tear->bottom - deep.depth.tear->top));
}

TEST_CASE("acts stand in the drawing") {
    const SiteDrawing before = drawn(compiled_site("hill-orchard"));
    REQUIRE_FALSE(before.pulled[2]);
    REQUIRE_FALSE(before.pole_open[0]);
    const SiteDrawing d = drawn(compiled_site("hill-orchard", {},
                                              {{"pull", "w", 0.0},
                                               {"open", "isolator", 0.0},
                                               {"open", "s2.m3-", 0.0},
                                               {"jumper", "float", 0.0},
                                               {"cover", "array", 0.0}}));
    CHECK(d.pulled[2]);
    CHECK_FALSE(d.pulled[0]);
    CHECK(d.pole_open[0]);
    CHECK(d.pole_open[1]);
    CHECK(d.strings[1].joints[3].open);
    CHECK_FALSE(d.strings[0].joints[3].open);
    const auto jumpered = std::ranges::find_if(d.guards, [](const GuardDrawing& g) { return g.place == "float"; });
    REQUIRE(jumpered != d.guards.end());
    CHECK(jumpered->jumper);
    const auto cover = std::ranges::find_if(d.parts, [](const Part& p) { return p.kind == Part::Kind::array; });
    REQUIRE(cover != d.parts.end());
    CHECK(cover->apart);
    // A pulled wire hangs away from its terminal, and no conductor of the picture ends on it any more.
    for (const WirePath& w : d.wires) CHECK(distance(w.points.front(), d.terminal[2]) > 1.0);
}

TEST_CASE("every fault of the catalogue has its mark in the picture, at every place of it") {
    for (const char* name : sites) {
        const site::Site site = compiled_site(name);
        const SiteDrawing d = drawn(site);
        for (const site::FaultRow& row : site::fault_catalogue())
            for (const std::string& place : row.places(site.works)) {
                INFO(name << ": " << row.kind << " at " << place);
                REQUIRE(d.box.contains(d.fault_anchor(row.kind, place)));
            }
    }
}

TEST_CASE("the sun goes along its arc and back") {
    const SiteDrawing d = drawn(compiled_site("hill-orchard", {"sun.time_of_day=09:30"}));
    REQUIRE(d.sun);
    REQUIRE(d.sun->hours == approx(9.5));
    for (double h = 6.5; h < 18.0; h += 0.5) REQUIRE(d.sun->hours_at(d.sun->on_arc(h)) == approx(h).epsilon(1e-9));
    REQUIRE(d.sun->on_arc(9.0).x < d.sun->on_arc(15.0).x);
    REQUIRE(d.sun->asked_W_m2(12.0) == approx(1000.0));
    REQUIRE(d.sun->asked_W_m2(6.0) == approx(0.0).margin(1e-9));
}

TEST_CASE("the mark of a lost phase lies on its own conductor's row") {
    const SiteDrawing d = drawn(compiled_site("hill-orchard"));
    for (const char* place : {"cable.u", "cable.v", "cable.w"}) {
        const Dot* own = d.dot(place);
        REQUIRE(own);
        // marks stand 16 above their anchor
        CHECK(d.fault_anchor("lost-phase", place).y - 16.0 == approx(own->at.y).margin(1.0));
    }
}
