// The physics thread: paced, asked, stopped.
#include "model/worker.hpp"

#include <chrono>
#include <thread>

#include "catch_shim.hpp"
#include "desk_support.hpp"
#include "model/desk.hpp"
#include "model/engine.hpp"
#include "site/load.hpp"

using namespace sunshaft;
using namespace sunshaft::view;
using sunshaft::test::approx;

namespace {

template <class Until>
bool within(double seconds, Until until) {
    const auto stop = std::chrono::steady_clock::now() + std::chrono::duration<double>(seconds);
    while (std::chrono::steady_clock::now() < stop) {
        if (until()) return true;
        std::this_thread::sleep_for(std::chrono::milliseconds(5));
    }
    return until();
}

}  // namespace

TEST_CASE("the thread runs, takes wishes, publishes and ends cleanly") {
    Desk desk(site_named("bench-rig"), true);
    REQUIRE(desk.snapshot());
    desk.place({"drive.u", "drive.v", "u"});
    REQUIRE(within(20.0, [&] { return desk.snapshot()->meters[0].reading != nullptr; }));
    const auto number = desk.snapshot()->number;
    desk.plant("high-resistance-splice", "v", 5.0);
    REQUIRE(within(20.0, [&] { return desk.snapshot()->faulty && desk.snapshot()->healthy.seconds > 0.0; }));
    REQUIRE(desk.snapshot()->number > number);
    REQUIRE(desk.snapshot()->wanted_rate == 1.0);

    desk.hold();
    REQUIRE(within(20.0, [&] { return desk.snapshot()->running == Running::hold; }));
    const double t = desk.snapshot()->t;
    std::this_thread::sleep_for(std::chrono::milliseconds(150));
    REQUIRE(desk.snapshot()->t == t);
    desk.step();
    REQUIRE(within(20.0, [&] { return desk.snapshot()->t > t; }));
    REQUIRE(desk.snapshot()->t < t + 0.0034);

    desk.rate(1e-3);
    desk.run();
    REQUIRE(
        within(20.0, [&] { return desk.snapshot()->running == Running::run && desk.snapshot()->wanted_rate == 1e-3; }));
    const double slow = desk.snapshot()->t;
    std::this_thread::sleep_for(std::chrono::milliseconds(300));
    REQUIRE(desk.snapshot()->t - slow < 0.01);
    desk.rate(20.0);
    REQUIRE(within(20.0, [&] { return desk.snapshot()->t > slow + 2.0; }));
}

TEST_CASE("time runs at once after a look at the past, at a slow rate as well") {
    Desk desk(site_named("bench-rig"), true);
    desk.rate(20.0);
    REQUIRE(within(20.0, [&] { return desk.snapshot()->t > 3.0; }));
    desk.rate(0.1);
    desk.hold();
    REQUIRE(within(20.0, [&] { return desk.snapshot()->running == Running::hold; }));
    const double now = desk.snapshot()->now_t;
    desk.walk_to(now - 2.0);
    REQUIRE(within(20.0, [&] { return desk.snapshot()->t < now - 1.9; }));
    desk.run();
    // From the past to the present and on: not after the 20 s that the 2 s would take at this rate.
    REQUIRE(within(8.0, [&] { return desk.snapshot()->t > now + 0.01; }));
}

TEST_CASE("it ends at once in whatever it is doing") {
    for (const char* name : {"bench-rig", "terrace-pwm"}) {
        Desk desk(site_named(name), true);
        desk.plant("high-resistance-splice", "v", 2.0);
        desk.rate(100.0);
        std::this_thread::sleep_for(std::chrono::milliseconds(60));
    }
}

TEST_CASE("many hands at once leave it whole") {
    Desk desk(site_named("stone-fold"), true);
    std::uint64_t last = 0;
    for (int n = 0; n < 60; ++n) {
        desk.place({"drive.u", n % 2 ? "drive.v" : "drive.w", ""});
        if (n % 10 == 3) desk.plant("high-resistance-splice", "v", 0.1 * (n + 1));
        if (n % 10 == 8) desk.undo();
        desk.show_seconds(n % 3 ? 0.05 : 1.0);
        const auto s = desk.snapshot();
        REQUIRE(s->number >= last);
        last = s->number;
        for (const Wave& w : s->waves) REQUIRE(w.trace);
        std::this_thread::sleep_for(std::chrono::milliseconds(3));
    }
}

TEST_CASE("what is kept does not grow with time") {
    // PWM makes most pieces. The longest time base, all that a scope shows.
    Setup setup;
    setup.scope_seconds = 100.0;
    setup.channels = {"drive.u:drive.v", "around.u"};
    Engine engine(site_named("terrace-pwm"), setup);
    std::size_t early = 0, late = 0;
    for (int n = 0; n < 8; ++n) {
        engine.advance(0.5);
        const auto s = engine.snapshot();
        for (const Wave& w : s->waves) REQUIRE(w.trace->size() <= ScopeTrack::most_segments);
        REQUIRE(s->events.size() <= 200);
        (n < 4 ? early : late) = std::max(n < 4 ? early : late, engine.history_rows());
    }
    REQUIRE(late < 2 * early + 1000);
    REQUIRE(late <= History::most_rows);
}
