// Acts of scripts go through the desk as a user's do.
#include <string>
#include <vector>

#include "catch_shim.hpp"
#include "look.hpp"
#include "model/desk_script.hpp"
#include "model/script.hpp"
#include "site/load.hpp"

using namespace sunshaft;

namespace {

void play_all(view::Desk& desk, const std::string& text) {
    for (const auto& line : view::parse_script(text)) view::play(desk, line.words);
}

std::string refusal(view::Desk& desk, const std::vector<std::string>& words) {
    try {
        view::play(desk, words);
    } catch (const view::ScriptError& error) {
        return error.what();
    }
    return {};
}

}  // namespace

TEST_CASE("a script places probes, plants and heals, and time passes only by waiting") {
    view::Desk desk(site::load_scenario(site::find_scenario("hill-orchard")), false);
    const double start = desk.snapshot()->t;
    play_all(desk, "probe red drive.u\nprobe black drive.v\nmode acv\nmeter 2 average\nrun\n");
    CHECK(desk.snapshot()->t == start);
    CHECK(view::told(*desk.snapshot()) == "meter 1: -\nmeter 2: -\nclamp: -\n");

    play_all(desk, "wait 1.5");
    CHECK(desk.snapshot()->t == test::approx(start + 1.5).margin(1e-9));
    REQUIRE(desk.snapshot()->meters[0].reading);
    CHECK(view::told(*desk.snapshot()).find("meter 1: " + desk.snapshot()->meters[0].reading->shown) == 0);

    play_all(desk, "plant high-resistance-splice v 2.4");
    REQUIRE(desk.edits().faults.size() == 1);
    play_all(desk, "undo");
    CHECK(desk.edits().faults.empty());
    play_all(desk, "redo");
    CHECK(desk.edits().faults.size() == 1);
    play_all(desk, "heal all");
    CHECK(desk.edits().faults.empty());
    play_all(desk, "probe black -");
    CHECK(desk.probes().black.empty());
}

TEST_CASE("a wrong act is refused in words and changes nothing") {
    view::Desk desk(site::load_scenario(site::find_scenario("hill-orchard")), false);
    CHECK(refusal(desk, {"dance"}).find("unknown act") != std::string::npos);
    CHECK(refusal(desk, {"probe", "red"}).find("takes 2 words") != std::string::npos);
    CHECK(refusal(desk, {"probe", "green", "drive.u"}).find("no probe 'green'") != std::string::npos);
    CHECK_FALSE(refusal(desk, {"probe", "red", "nowhere"}).empty());
    CHECK_FALSE(refusal(desk, {"plant", "gremlins", "v", "1"}).empty());
    CHECK(refusal(desk, {"rate", "nan"}).find("not a number") != std::string::npos);
    CHECK_FALSE(refusal(desk, {"wait", "-1"}).empty());
    CHECK_FALSE(refusal(desk, {"mode", "telepathy"}).empty());
    CHECK(desk.probes() == bench::Probes{});
    CHECK(desk.edits().faults.empty());
    // A teaching point needs permission first, then it is allowed.
    CHECK_FALSE(refusal(desk, {"probe", "red", "motor.u"}).empty());
    CHECK(refusal(desk, {"teaching", "on"}).empty());
    CHECK(refusal(desk, {"probe", "red", "motor.u"}).empty());
}

// Broken bars modulate the current at twice the slip frequency (Thomson and Fenger 2001, trace/signature.hpp): what the
// window shows of it comes from the snapshot, and is there when the motor has run long enough on this site.
TEST_CASE("the motor's signatures stand in the snapshot: sidebands far down when healthy, well up with broken bars") {
    view::Desk desk(site::load_scenario(site::find_scenario("hill-orchard")), false);
    play_all(desk, "channels around.u\nrun\nwait 12");
    const auto healthy = desk.snapshot()->signature;
    REQUIRE(healthy);
    REQUIRE(healthy->sidebands);
    CHECK(healthy->sidebands->lower_dB < -65.0);
    CHECK(healthy->ripple[1][2] > 0.05);  // six steps shake the torque at six times their frequency
    CHECK(healthy->ripple[0][1] < 1e-3);  // and nothing at twice
    play_all(desk, "plant broken-bars motor 0.1\nwait 0.2");
    CHECK_FALSE(desk.snapshot()->signature->sidebands);  // not long enough on this site
    play_all(desk, "wait 5");
    const auto broken = desk.snapshot()->signature;
    REQUIRE(broken->sidebands);
    CHECK(broken->sidebands->lower_dB > healthy->sidebands->lower_dB + 30.0);
    CHECK(broken->sidebands->lower_Hz == test::approx(50 * (1 - 2 * broken->slip)).epsilon(5e-3));
    play_all(desk, "heal all\nplant high-resistance-splice v 3\nwait 3");
    CHECK(desk.snapshot()->signature->ripple[0][1] > 0.01);  // one line weaker: the link swings at twice the frequency
}

// What the hand does wrong reaches the window's meters as it reaches the headless program's: both ask the bench how a
// meter is held.
TEST_CASE("a badly held meter in the window reads what the bench says it reads") {
    const Scenario scenario = site::load_scenario(site::find_scenario("hill-orchard"));
    view::Desk desk(scenario, false);
    play_all(desk, "probe red dc+\nprobe black dc-\nprobe around u\nmode dcv\nrun\nwait 8");
    const auto shown = [&] { return desk.snapshot()->meters[0].reading->value.value(); };
    const auto clamp = [&] { return desk.snapshot()->clamp->value.value(); };
    const double right = shown(), amps = clamp();
    REQUIRE(right > 300.0);
    const auto planted = [&](const std::string& fault) {
        play_all(desk, "plant " + fault + "\nwait 1");
        const double v = shown();
        play_all(desk, "undo\nwait 0.6");
        return v;
    };
    CHECK(planted("meter-battery-flat meter 0.15") == test::approx(right / 0.85).epsilon(3e-3));
    CHECK(planted("leads-swapped meter 1") == test::approx(-right).epsilon(3e-3));
    CHECK(planted("bad-lead meter 1e7") == test::approx(right / 2).epsilon(0.01));
    CHECK(planted("leads-in-current-jack meter 1") == 0.0);
    CHECK(shown() == test::approx(right).epsilon(5e-3));
    // Clamp round u and v: minus the third line's current, as much.
    play_all(desk, "plant clamp-round-two meter 1\nwait 1");
    CHECK(clamp() == test::approx(amps).epsilon(0.02));
    CHECK(desk.snapshot()->clamp->truth.rms.has_value());
    play_all(desk, "plant high-resistance-splice v 3\nwait 2");
    // u + v = -w: with a bad joint in v the largest of the three.
    CHECK(clamp() > 1.1 * amps);
}

TEST_CASE("the meters keep min, max and peak from when they are asked; the clamp catches the start it was armed for") {
    view::Desk desk(site::load_scenario(site::find_scenario("hill-orchard")), false);
    play_all(desk, "probe red drive.u\nprobe black drive.v\nprobe around u\ninrush on\nrun\nwait 0.05");
    CHECK(desk.snapshot()->inrush_armed);
    CHECK_FALSE(desk.snapshot()->inrush);  // its 100 ms are not over
    play_all(desk, "wait 1");
    const auto caught = desk.snapshot()->inrush;
    REQUIRE(caught);
    // The same from the headless bench, with the same clamp.
    bench::Bench b(site::load_scenario(site::find_scenario("hill-orchard")));
    const meter::Surge alone =
        bench::surge(b, test::look(*desk.snapshot()->clamp_meter, meter::Mode::aca, {"", "", "u"}), 1.0);
    CHECK(caught->value.value() == test::approx(alone.value.value()).epsilon(0.02));
    CHECK(caught->peak.value() == test::approx(alone.peak.value()).epsilon(0.02));
    play_all(desk, "wait 6");
    CHECK(desk.snapshot()->inrush == caught);  // it stays
    play_all(desk, "inrush off\nwait 0.02");
    CHECK_FALSE(desk.snapshot()->inrush_armed);

    CHECK_FALSE(desk.snapshot()->meters[0].memory);
    play_all(desk, "extremes on\nwait 1");
    const double high = desk.snapshot()->meters[0].memory->high;
    CHECK(desk.snapshot()->meters[0].memory->peak_high.value() > 1.15 * high);  // a six-step wave's crest
    play_all(desk, "do open isolator\nwait 8");
    const view::Memory m = desk.snapshot()->meters[0].memory.value();
    CHECK(m.low < 1.0);
    CHECK(m.high >= high);
    play_all(desk, "extremes off\nwait 0.02\nextremes on\nwait 1");
    CHECK(desk.snapshot()->meters[0].memory->high < 1.0);
    play_all(desk, "mode dcv\nwait 0.01");
    CHECK_FALSE((desk.snapshot()->meters[0].memory && desk.snapshot()->meters[0].memory->high > 250.0));
}
