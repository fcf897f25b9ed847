// A lead carried by hand: the meters read along, and the whole way is one entry of undo.
#include <chrono>
#include <thread>

#include "desk_support.hpp"

using namespace sunshaft;
using namespace sunshaft::view;
using sunshaft::test::approx;

TEST_CASE("a carried lead reads where it is for the moment, and one undo takes the whole way back") {
    Desk desk(site_named("bench-rig"), false);
    desk.hang_leads();
    desk.work(2.0);
    const bench::Probes hung = desk.probes();
    const auto channels = desk.channels();
    const double at_v = shown(*desk.snapshot(), 0);
    desk.carry({"drive.u", "", ""});
    desk.work(0.5);
    REQUIRE_FALSE(desk.snapshot()->meters[0].reading);  // in the air
    desk.carry({"drive.u", "link-", ""});
    desk.work(0.5);
    // From a phase to a rail: other volts, before the hand lets go.
    REQUIRE(shown(*desk.snapshot(), 0) != approx(at_v).epsilon(0.05));
    REQUIRE_FALSE(desk.can_undo());
    desk.carry({"drive.u", "drive.w", ""});
    desk.place({"drive.u", "drive.w", ""});
    REQUIRE(desk.channels().front() == "drive.u:drive.w");
    desk.undo();
    CHECK(desk.probes() == hung);
    CHECK(desk.channels() == channels);
    CHECK_FALSE(desk.can_undo());
}

TEST_CASE("a lead carried about and put back is no act; on a point out of reach it hangs in the air, and snaps back") {
    Desk desk(site_named("bench-rig"), false);
    desk.hang_leads();
    const bench::Probes hung = desk.probes();
    desk.carry({"drive.u", "drive.w", ""});
    desk.carry({"drive.u", "motor.n", ""});
    CHECK(desk.probes() == bench::Probes{"drive.u", "", ""});
    desk.place({"drive.u", "motor.n", ""});
    CHECK(desk.last_error().find("motor.n") != std::string::npos);
    CHECK(desk.probes() == hung);
    desk.carry({"drive.u", "drive.w", ""});
    desk.place(hung);
    CHECK(desk.probes() == hung);
    CHECK_FALSE(desk.can_undo());
}

TEST_CASE("a bench set going has its pump running from the first picture on, and its time goes on from there") {
    for (const char* site : {"hill-orchard", "river-meadow"})
        for (const bool threaded : {false, true}) {
            INFO(site << (threaded ? ", threaded" : ""));
            Desk desk(site_named(site), threaded);
            REQUIRE(desk.snapshot()->t == 0.0);
            desk.hang_leads();
            desk.set_going();
            CHECK_FALSE(desk.can_undo());
            const auto stop = std::chrono::steady_clock::now() + std::chrono::seconds(60);
            // With a thread a slow machine may need longer than anybody waits for.
            while (threaded && desk.snapshot()->t < 6.05 && std::chrono::steady_clock::now() < stop)
                std::this_thread::sleep_for(std::chrono::milliseconds(5));
            if (!threaded) desk.work(0.05);
            CHECK(desk.snapshot()->t >= 6.05 - 1e-9);
            CHECK(desk.snapshot()->t < 60.0);
            CHECK(desk.snapshot()->flow_m3_h > 5.0);
            CHECK(desk.snapshot()->meters[0].reading);
        }
}
