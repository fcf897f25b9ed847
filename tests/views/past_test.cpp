// The last minute can be walked through: an instant as it was, and back to the very present.
#include "desk_support.hpp"

using namespace sunshaft;
using namespace sunshaft::view;
using test::approx;

TEST_CASE("an earlier instant is looked at as it was, and the present goes on as if nobody had looked") {
    Desk desk(site_named("hill-orchard"), false), other(site_named("hill-orchard"), false);
    for (Desk* d : {&desk, &other}) {
        d->place({"drive.u", "drive.v", "u"});
        d->work(8.0);
    }
    const auto before = desk.snapshot();
    for (Desk* d : {&desk, &other}) {
        d->plant("lost-phase", "splice.v", 1.0);
        d->work(12.0);
    }
    const auto present = desk.snapshot();
    REQUIRE(present->now_t == approx(20.0).epsilon(1e-9));
    CHECK(present->past_from < 0.5);

    desk.walk_to(before->t);
    desk.work(0.0);
    const auto then = desk.snapshot();
    CHECK(then->t == approx(before->t).epsilon(1e-9));
    CHECK(then->now_t == present->now_t);
    CHECK_FALSE(desk.running());
    CHECK(then->now.speed == approx(before->now.speed).epsilon(1e-4));
    CHECK(then->edits.faults.empty());
    REQUIRE(then->meters[0].reading);
    CHECK(shown(*then, 0) == approx(shown(*before, 0)).epsilon(1e-3));
    CHECK(then->events.size() == present->events.size());

    desk.walk_by(2.0);  // past the planting
    desk.work(0.0);
    CHECK(desk.snapshot()->t == approx(before->t + 2.0).epsilon(1e-9));
    CHECK(desk.snapshot()->now.speed < 0.99 * before->now.speed);

    desk.run();
    for (Desk* d : {&desk, &other}) d->work(1.0);
    const auto a = desk.snapshot(), b = other.snapshot();
    CHECK(a->t == b->t);
    CHECK(a->now.speed == approx(b->now.speed).epsilon(1e-6));
    CHECK(a->now_t == a->t);
    CHECK(a->events.size() == b->events.size());
}

TEST_CASE("a change of the site is made in the present") {
    Desk desk(site_named("bench-rig"), false);
    desk.work(5.0);
    desk.walk_to(2.0);
    desk.work(0.0);
    CHECK(desk.snapshot()->t == approx(2.0).epsilon(1e-9));
    desk.plant("high-resistance-splice", "v", 2.0);
    desk.work(0.0);
    CHECK(desk.snapshot()->t == approx(5.0).epsilon(1e-9));
    CHECK(desk.snapshot()->edits.faults.size() == 1);
    desk.walk_to(-5.0);  // no further than there is
    desk.work(0.0);
    CHECK(desk.snapshot()->t == approx(desk.snapshot()->past_from).epsilon(1e-9));
    desk.walk_to(4.9);
    desk.work(0.0);
    for (int n = 0; n < 200 && desk.snapshot()->t < desk.snapshot()->now_t; ++n) desk.step(), desk.work(0.0);
    CHECK(desk.snapshot()->t == approx(5.0).epsilon(1e-9));  // step by step, and no further than the present
    desk.walk_to(50.0);
    desk.work(0.0);
    CHECK(desk.snapshot()->t == approx(5.0).epsilon(1e-9));
}
