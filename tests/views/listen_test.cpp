// Listening at the desk: off until asked for, then words and samples that change with the site.
#include "desk_support.hpp"

using namespace sunshaft;
using namespace sunshaft::view;

TEST_CASE("nobody listens until somebody asks; then what is heard follows the site") {
    Desk desk(site_named("bench-rig"), false);
    desk.work(1.0);
    CHECK_FALSE(desk.listens());
    CHECK(desk.snapshot()->heard == nullptr);
    CHECK(desk.snapshot()->sound == nullptr);

    desk.listen(bench::Ear::pipe);
    desk.work(0.5);
    const auto sound = desk.snapshot();
    REQUIRE(sound->heard);
    REQUIRE(sound->sound);
    CHECK(sound->heard->ear == bench::Ear::pipe);
    CHECK(sound->sound->size() == 2 * sound_rate_Hz);
    desk.work(3.0);
    const auto same = desk.snapshot()->sound;

    desk.plant("lost-phase", "splice.v", 1.0);
    desk.work(3.0);
    const auto lost = desk.snapshot();
    REQUIRE(lost->heard);
    CHECK(lost->sound != same);
    CHECK(lost->heard->caption().find("hum at") != std::string::npos);

    desk.listen(bench::Ear::drive);
    desk.work(0.5);
    CHECK(desk.snapshot()->heard->ear == bench::Ear::drive);
    desk.listen(std::nullopt);
    desk.work(0.5);
    CHECK(desk.snapshot()->heard == nullptr);
}
