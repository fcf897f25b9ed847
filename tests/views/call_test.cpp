// A call-out on the bench: nothing of it shows while it is sealed, nothing is kept of it, and the bench as it stood
// comes back.
#include "desk_support.hpp"
#include "look.hpp"

using namespace sunshaft;
using namespace sunshaft::view;

namespace {

callout::Callout bad_splice() {
    callout::Callout c;
    c.site = "bench-rig";
    c.said = "Since Tuesday it runs rough.";
    c.faults = {{"high-resistance-splice", "v", 4.0, 0.0}};
    c.truth = {"high-resistance-splice", "v"};
    return c;
}

}  // namespace

TEST_CASE("a sealed call-out hides its fault, refuses to be changed, and is judged by the notebook") {
    Desk desk(site_named("bench-rig"), false);
    desk.place({"drive.u", "drive.v", ""});
    desk.set("supply.voltage_V", "300");
    desk.work(1.0);
    const std::string before = desk.session();
    desk.bring_call(bad_splice());
    REQUIRE(desk.sealed());
    desk.work(2.0);
    CHECK(desk.snapshot()->hidden);
    CHECK(desk.snapshot()->edits.faults.empty());
    CHECK(desk.session() == before);  // what a kill leaves behind
    CHECK(desk.notebook.notes().empty());
    CHECK_FALSE(desk.can_undo());
    desk.marks_hidden = false;
    CHECK(desk.snapshot()->hidden);

    desk.plant("lost-phase", "splice.u", 1.0);
    CHECK_FALSE(desk.last_error().empty());
    desk.heal_all();
    desk.set("supply.voltage_V", "200");
    desk.undo();
    REQUIRE(desk.edits().faults.size() == 1);
    CHECK(desk.edits().faults[0].kind == "high-resistance-splice");
    desk.suspect();
    CHECK_FALSE(desk.suspicion()->open);

    for (const char* line : {"u", "v", "w"}) {
        desk.place({"", "", line});
        desk.work(1.0);
        desk.note();
    }
    CHECK(desk.notebook.notes().size() == 3);
    CHECK(desk.minutes_on_site() == 6.0);
    desk.say({"high-resistance-splice", "v"});
    const auto s = desk.call();
    REQUIRE(s);
    CHECK(s->trouble.empty());
    REQUIRE(s->account);
    CHECK(s->account->right);
    CHECK(s->account->steps.size() == 1);  // the three lines are one test
    CHECK_FALSE(desk.sealed());
    desk.marks_hidden = false;
    CHECK_FALSE(desk.snapshot()->hidden);  // now it may be looked at

    desk.leave_call();
    CHECK_FALSE(desk.call());
    CHECK(desk.edits().faults.empty());
    CHECK(desk.edits().set == std::vector<std::string>{"supply.voltage_V=300"});
    CHECK(desk.session() == before);
}

TEST_CASE("a call-out is drawn on the bench's own site and met there") {
    Desk desk(site_named("hill-orchard"), false);
    desk.draw_call({5, 1});
    REQUIRE(desk.call());
    REQUIRE(desk.call()->what);
    desk.meet_call();
    CHECK(desk.sealed());
    CHECK_FALSE(desk.call()->what->said.empty());
    desk.leave_call();
    CHECK_FALSE(desk.sealed());
}
