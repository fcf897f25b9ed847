// The scope's trigger: source, level and edge set, kept, and undone like other acts.
#include "../site_named.hpp"
#include "catch_shim.hpp"
#include "model/desk.hpp"
#include "model/desk_script.hpp"
#include "model/script.hpp"

using namespace sunshaft;
using namespace sunshaft::view;
using sunshaft::test::orchard;

namespace {}  // namespace

TEST_CASE("the trigger is undone and redone like any other act, in the order of the acts") {
    Desk desk(orchard(), false);
    Trigger wanted = desk.scope.trigger;
    desk.trigger(wanted);
    CHECK_FALSE(desk.can_undo());  // nothing changed
    wanted.source = "around.u", wanted.level = 3.5;
    desk.trigger(wanted);
    desk.plant("high-resistance-splice", "v", 2.4);
    wanted.slope = Slope::falling;
    desk.trigger(wanted);
    desk.undo();
    CHECK(desk.scope.trigger.slope == Slope::rising);
    CHECK(desk.edits().faults.size() == 1);
    desk.undo();
    CHECK(desk.edits().faults.empty());
    CHECK(desk.scope.trigger.level == 3.5);
    desk.undo();
    CHECK(desk.scope.trigger == Trigger{});
    CHECK_FALSE(desk.can_undo());
    for (int n = 0; n < 3; ++n) desk.redo();
    CHECK(desk.scope.trigger == wanted);
    CHECK(desk.edits().faults.size() == 1);
    CHECK_FALSE(desk.can_redo());
}

TEST_CASE("a trigger on the leads' channel goes with the leads, and back with them") {
    Desk desk(orchard(), false);
    play(desk, {"trigger", "drive.u:drive.v", "20", "falling"});
    CHECK(desk.scope.trigger.slope == Slope::falling);
    desk.place({"drive.v", "drive.w", ""});
    CHECK(desk.scope.trigger.source == "drive.v:drive.w");
    CHECK(desk.scope.trigger.level == 20.0);
    desk.undo();
    CHECK(desk.scope.trigger.source == "drive.u:drive.v");
    CHECK_THROWS_AS(play(desk, {"trigger", "-", "20", "upwards"}), ScriptError);
}

TEST_CASE("source, level and edge of the trigger are in the session") {
    Desk desk(orchard(), false);
    play(desk, {"trigger", "around.u", "-1.25", "falling"});
    Desk other(orchard(), false);
    std::string error;
    REQUIRE(other.restore(desk.session(), error));
    CHECK(other.scope.trigger == desk.scope.trigger);
    CHECK(other.scope.trigger.level == -1.25);
    // Another site begins with none of it.
    other.open(site::load_scenario(site::find_scenario("bench-rig")));
    CHECK(other.scope.trigger == Trigger{});
}
