// The glass that shows heat: what is how warm, and what it keeps to itself.
#include "model/heat.hpp"
#include "desk_support.hpp"

using namespace sunshaft;
using namespace sunshaft::view;

namespace {
const Warm* named(const std::vector<Warm>& list, const char* name) {
    for (const Warm& w : list)
        if (w.name == name) return &w;
    return nullptr;
}
}  // namespace

TEST_CASE("a bad splice is warmer than its neighbours under the glass, and a camera does not get there") {
    Desk desk(site_named("hill-orchard"), false);
    desk.plant("high-resistance-splice", "v", 2.4);
    desk.work(12.0);
    const auto s = desk.snapshot();
    const SiteDrawing d = draw_site(*s->site, {0, 0, 900, 700}, moving_part(*s));
    const auto all = warm_things(*s, d);
    const Warm *u = named(all, "splice u"), *v = named(all, "splice v");
    REQUIRE((u && v));
    CHECK(v->degC > u->degC + 1.0);
    CHECK(v->degC == s->now.slow.splice_degC[1]);
    CHECK_FALSE(v->by_camera);
    const Warm* module = named(all, "module s1.m1");
    REQUIRE(module);
    CHECK(module->degC > s->site->scenario.sun.air_temperature_degC + 20.0);  // in 820 W/m2
    CHECK(module->by_camera);
    CHECK(warm_at(all, v->box.centre()) == v);
    CHECK(warm_at(all, module->box.centre()) == module);
    CHECK(named(all, "windings")->degC == s->winding_degC);

    desk.marks_hidden = true;  // what nobody can measure is not told
    const auto seen = warm_things(*desk.snapshot(), d);
    CHECK_FALSE(named(seen, "splice v"));
    CHECK_FALSE(named(seen, "windings"));
    CHECK(named(seen, "module s1.m1"));
}

TEST_CASE("a bad connector is hot under the glass where it hangs, and so is a cell in a shadow") {
    Desk desk(site_named("hill-orchard"), false);
    desk.plant("high-resistance-connector", "s1.m3-", 2.0);
    desk.plant("shaded-cell", "s2.m4.2", 0.9);
    CHECK_FALSE(desk.snapshot()->array_warmth);  // nobody looks
    desk.look_at_heat(true);
    desk.work(6.0);
    const auto s = desk.snapshot();
    REQUIRE(s->array_warmth);
    const SiteDrawing d = draw_site(*s->site, {0, 0, 900, 700}, moving_part(*s));
    const auto all = warm_things(*s, d);
    const Warm *bad = named(all, "connector s1.m3-"), *good = named(all, "connector s1.m5-"),
               *cell = named(all, "hottest cell of s2.m4.2");
    REQUIRE((bad && good && cell));
    CHECK(bad->degC > 150.0);  // tens of watts in a plug
    CHECK(good->degC < 30.0);
    CHECK(cell->degC > named(all, "module s2.m4")->degC + 5.0);
    CHECK(warm_at(all, bad->box.centre()) == bad);
    CHECK(warm_at(all, cell->box.centre()) == cell);
    desk.look_at_heat(false);
    desk.work(0.5);
    CHECK_FALSE(desk.snapshot()->array_warmth);
}

TEST_CASE("the scale of heat rises from dark to light and stays at its ends") {
    const auto light = [](Colour c) { return 0.2126 * c.r + 0.7152 * c.g + 0.0722 * c.b; };  // Rec. 709
    for (double t = 0.0; t < 120.0; t += 5.0) {
        INFO(t);
        CHECK(light(heat_colour(t + 5.0)) > light(heat_colour(t)));
    }
    CHECK(heat_colour(-40.0) == heat_colour(0.0));
    CHECK(heat_colour(400.0) == heat_colour(120.0));
}
