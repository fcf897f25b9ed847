// The wall: what a class sees of the instructor's bench, told through a text.
#include "model/wall.hpp"
#include "desk_support.hpp"

using namespace sunshaft;
using namespace sunshaft::view;

TEST_CASE("a fault planted from the laptop changes the physics on the wall, and no list, mark or line of the log") {
    Desk laptop(site_named("hill-orchard"), false), wall(site_named("hill-orchard"), false);
    laptop.place({"", "", "v"});
    laptop.work(6.0);
    WallState state;
    std::string why;
    REQUIRE(take_wall(wall, wall_text(laptop, {}), state, why));
    wall.work(8.0);
    const double before = *wall.snapshot()->clamp->value;
    const std::size_t lines = wall.snapshot()->events.size();
    laptop.plant("lost-phase", "splice.v", 1.0);
    REQUIRE(take_wall(wall, wall_text(laptop, {}), state, why));
    wall.work(3.0);
    const auto s = wall.snapshot();
    REQUIRE(s->clamp);
    CHECK(*s->clamp->value < 0.05 * before);
    CHECK(s->hidden);
    CHECK(s->edits.faults.empty());
    CHECK(wall.notebook.notes().empty());
    for (std::size_t n = lines; n < s->events.size(); ++n) {
        CHECK(s->events[n].kind != Event::Kind::fault);
        CHECK(s->events[n].text.find("phase: one") == std::string::npos);
    }
}

TEST_CASE("a fault set to come later is told the wall when it sets in, not before") {
    Desk laptop(site_named("bench-rig"), false);
    laptop.work(1.0);
    laptop.comes_in_s = 2.0;
    laptop.plant("lost-phase", "splice.u", 1.0);
    CHECK(wall_text(laptop, {}).find("lost-phase") == std::string::npos);
    laptop.work(1.0);
    CHECK(wall_text(laptop, {}).find("lost-phase") == std::string::npos);
    laptop.work(1.5);
    CHECK(wall_text(laptop, {}).find("lost-phase") != std::string::npos);
    laptop.comes_in_s = 0.0;
    laptop.plant("seized", "motor", 1.0);
    CHECK(wall_text(laptop, {}).find("seized") != std::string::npos);
}

TEST_CASE("frozen the wall stands whatever the laptop does; blank is told; notes never leave the laptop") {
    Desk laptop(site_named("bench-rig"), false), wall(site_named("bench-rig"), false);
    laptop.place({"drive.u", "drive.v", ""});
    laptop.work(1.0);
    laptop.note();
    WallState state;
    std::string why;
    const std::string text = wall_text(laptop, {.blank = true});
    CHECK(text.find("note") == text.find("note = []"));
    REQUIRE(take_wall(wall, text, state, why));
    CHECK(state.blank);
    wall.work(1.0);
    CHECK(wall.probes().red == "drive.u");
    REQUIRE(take_wall(wall, wall_text(laptop, {.frozen = true}), state, why));
    CHECK_FALSE(state.blank);
    laptop.place({"drive.v", "drive.w", ""});
    REQUIRE(take_wall(wall, wall_text(laptop, {.frozen = true}), state, why));
    wall.work(1.0);
    CHECK(wall.probes().red == "drive.u");
    CHECK_FALSE(wall.running());
    REQUIRE(take_wall(wall, wall_text(laptop, {}), state, why));
    wall.work(1.0);
    CHECK(wall.probes().red == "drive.v");
    CHECK(wall.running());
    CHECK_FALSE(take_wall(wall, "kind = 'bench session'", state, why));
    CHECK(wall_site(text) == "bench-rig");
    CHECK(wall_site("nonsense") == "");
}

TEST_CASE(
    "a lesson with a class is on the wall turn by turn, on its own bench, with what the class said and no notes") {
    Desk laptop(site_named("bench-rig"), false), wall(site_named("bench-rig"), false);
    WallState state;
    std::string why;
    const auto tell = [&] {
        const std::string text = wall_text(laptop, {});
        for (int n = 0; n < 20; ++n)
            if (take_wall(wall, text, state, why)) return true;
        return false;
    };
    laptop.begin_lesson("half-reading", {.seed = 7, .of_class = true});
    laptop.meet_lesson();
    REQUIRE(tell());
    REQUIRE(wall.lesson());
    CHECK(wall.snapshot()->site->scenario.site.name == laptop.snapshot()->site->scenario.site.name);
    const auto same_turn = [&] {
        const auto here = laptop.lesson(), there = wall.lesson();
        if (!there || here->turn.lines.size() != there->turn.lines.size() || here->turn.asks != there->turn.asks ||
            here->turn.choices != there->turn.choices || here->turn.spread.size() != there->turn.spread.size())
            return false;
        for (std::size_t n = 0; n < here->turn.spread.size(); ++n)
            if (here->turn.spread[n].before != there->turn.spread[n].before) return false;
        return here->over == there->over;
    };
    CHECK(same_turn());
    bool counted = false;
    for (int n = 0; n < 60 && !laptop.lesson()->over; ++n) {
        const teach::Turn turn = laptop.lesson()->turn;
        if (turn.asks == teach::Turn::Asks::leads) laptop.place(turn.look->what.probes), laptop.meet_lesson();
        if (turn.asks == teach::Turn::Asks::hands) laptop.answer_lesson("9 7 4"), laptop.meet_lesson();
        else if (turn.asks != teach::Turn::Asks::leads || laptop.lesson_waits())
            laptop.answer_lesson("1"), laptop.meet_lesson();
        laptop.work(0.2);
        REQUIRE(tell());
        REQUIRE(same_turn());
        CHECK(wall.probes().red == laptop.probes().red);
        CHECK(wall.snapshot()->hidden);
        counted = counted || !wall.lesson()->turn.spread.empty();
    }
    CHECK(laptop.lesson()->over);
    CHECK(counted);
    // Left: the bench from before.
    laptop.leave_lesson();
    REQUIRE(tell());
    CHECK_FALSE(wall.lesson());
    CHECK(wall_site(wall_text(laptop, {})) == "bench-rig");
    laptop.begin_lesson("half-reading", {.seed = 7});
    CHECK(wall_text(laptop, {}).find("half-reading") == std::string::npos);  // whoever learns alone is not looked at
    CHECK(wall.wall == std::nullopt);
}
