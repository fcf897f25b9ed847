// The dated list of what was done: its words, what undo makes of it, and that it keeps what is hidden.
#include "desk_support.hpp"

using namespace sunshaft;
using namespace sunshaft::view;

TEST_CASE("what was done is listed with its words and its time, and undo walks it") {
    Desk desk(site_named("hill-orchard"), false);
    CHECK(desk.done().empty());
    desk.work(0.5);
    desk.plant("lost-phase", "splice.u", 1.0);
    desk.work(0.5);
    desk.place({.red = "drive.u", .black = "drive.w"});
    desk.set("sun.irradiance_W_m2", "600");
    desk.act("open", "isolator");
    const std::vector<Done> all = desk.done();
    REQUIRE(all.size() == 4);
    CHECK(all[0].words == "Planted: lost phase, splice.u");
    CHECK(all[0].t < 0.75);
    CHECK(all[1].t > 0.75);
    CHECK(all[1].words == "Red lead on drive.u; black lead on drive.w");
    CHECK(all[2].words == "Set sun.irradiance_W_m2=600");
    CHECK(all[3].words == "Open the isolator");
    CHECK(all[3].clock.size() == 8);

    desk.undo();
    desk.undo();
    const std::vector<Done> back = desk.done();
    REQUIRE(back.size() == 4);
    for (std::size_t n = 0; n < 4; ++n) {
        INFO(n);
        CHECK(back[n].words == all[n].words);
        CHECK(back[n].t == all[n].t);
        CHECK(back[n].clock == all[n].clock);
        CHECK(back[n].undone == (n >= 2));
    }

    desk.walk_edits(all[3].depth);
    CHECK(desk.edits().acts.size() == 1);
    CHECK_FALSE(desk.done()[3].undone);
    desk.walk_edits(0);
    CHECK(desk.edits().faults.empty());
    CHECK(desk.probes().red.empty());
    CHECK(desk.done()[0].undone);
    desk.heal_all();  // nothing to heal: what was undone can still be done again
    CHECK(desk.done().size() == 4);
    desk.set("sun.irradiance_W_m2", "700");
    REQUIRE(desk.done().size() == 1);
}

// A restart ends by itself once the electronics have been dark: since it was ordered, not ever.
TEST_CASE("an act is dated, so that one done again is done anew; who takes the session up finds it done") {
    Desk desk(site_named("bench-rig"), false);
    desk.work(1.0);
    desk.act("restart", "drive");
    desk.work(1.0);
    REQUIRE(desk.edits().acts.size() == 1);
    CHECK(desk.edits().acts[0].time == test::approx(1.0).margin(0.05));
    desk.act("restart", "drive");
    desk.work(0.5);
    REQUIRE(desk.edits().acts.size() == 1);
    CHECK(desk.edits().acts[0].time == test::approx(2.0).margin(0.05));
    CHECK(desk.done().size() == 2);
    CHECK(desk.snapshot()->acts_t == test::approx(2.0).margin(0.05));
    Desk later(site_named("bench-rig"), false);
    std::string why;
    REQUIRE(later.restore(desk.session(), why));
    REQUIRE(later.edits().acts.size() == 1);
    CHECK(later.edits().acts[0].time == 0.0);
}

TEST_CASE("the list tells nothing of a fault that is hidden") {
    Desk desk(site_named("hill-orchard"), false);
    desk.plant("lost-phase", "splice.u", 1.0);
    desk.act("open", "isolator");
    desk.heal("lost-phase", "splice.u");
    desk.marks_hidden = true;
    REQUIRE(desk.done().size() == 1);
    CHECK(desk.done()[0].words == "Open the isolator");
    CHECK(desk.done()[0].depth == 2);
}
