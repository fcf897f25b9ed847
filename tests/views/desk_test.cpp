// The desk without a thread: what a user does, and what the snapshot then says.
#include "model/desk.hpp"

#include <fmt/format.h>
#include <unistd.h>

#include <cmath>
#include <cstdlib>
#include <filesystem>
#include <fstream>
#include <numbers>
#include <sstream>

#include "catch_shim.hpp"
#include "desk_support.hpp"
#include "look.hpp"
#include "model/setup.hpp"
#include "model/waves_csv.hpp"
#include "site/load.hpp"
#include "trace/statistics.hpp"

using namespace sunshaft;
using namespace sunshaft::view;
using sunshaft::test::approx;

TEST_CASE("a first snapshot is there before anything ran") {
    Desk desk(site_named("bench-rig"), false);
    const auto s = desk.snapshot();
    REQUIRE(s);
    REQUIRE(s->site);
    REQUIRE(s->t == 0.0);
    REQUIRE_FALSE(s->meters[0].reading);
    REQUIRE(s->meters[0].name == "true-rms multimeter");
    REQUIRE_FALSE(s->faulty);
    REQUIRE(s->cautions.size() >= 2);
}

TEST_CASE("two meters on the same points read what the bench reads") {
    Desk desk(site_named("bench-rig"), false);
    desk.work(1.5);
    desk.place({"drive.u", "drive.v", "u"});
    desk.work(1.0);
    const auto s = desk.snapshot();
    bench::Bench bench(site_named("bench-rig"));
    bench.advance(2.0);
    const auto rms = test::read(bench, meter::find_spec("true-rms"), meter::Mode::acv, {"drive.u", "drive.v", ""});
    const auto average = test::read(bench, meter::find_spec("average"), meter::Mode::acv, {"drive.u", "drive.v", ""});
    bench::Bench second(site_named("bench-rig"));
    second.advance(2.0);
    const auto clamp = test::read(second, meter::find_spec("clamp-hall"), meter::Mode::aca, {"", "", "u"});
    REQUIRE(shown(*s, 0) == approx(*rms.value).epsilon(1e-4));
    REQUIRE(shown(*s, 1) == approx(*average.value).epsilon(1e-4));
    REQUIRE(s->meters[0].reading->shown == rms.shown);
    REQUIRE(s->meters[1].reading->shown == average.shown);
    REQUIRE(s->clamp);
    REQUIRE(*s->clamp->value == approx(*clamp.value).epsilon(2e-3));
    // An average-responding meter reads a 120 degree quasi-square low: (2/3) pi/(2 sqrt 2) over sqrt(2/3),
    // 0.907 (closed form of the wave; the meter's own bandwidth takes a little more).
    REQUIRE(shown(*s, 1) / shown(*s, 0) == approx(0.9069).epsilon(5e-3));
    // The reading carries its chain with waves, and the cautions of the points.
    bool kept = false;
    for (const meter::Stage& stage : s->meters[0].reading->stages) kept = kept || !stage.wave.empty();
    REQUIRE(kept);
    REQUIRE_FALSE(s->meters[0].reading->reasons.empty());
    REQUIRE_FALSE(s->meters[0].reading->cautions.empty());
}

TEST_CASE("a display keeps its own rate") {
    Desk desk(site_named("bench-rig"), false);
    desk.place({"drive.u", "drive.v", ""});
    int changes = 0;
    double last = 0.0;
    desk.work(0.5);
    for (int n = 0; n < 200; ++n) {  // 2 s
        desk.work(0.01);
        const double next = desk.snapshot()->meters[0].next_update_t;
        if (next != last) ++changes, last = next;
    }
    const double rate = meter::find_spec("true-rms").update_per_s;
    REQUIRE(changes >= std::floor(2.0 * rate) - 1);
    REQUIRE(changes <= std::ceil(2.0 * rate) + 1);
}

TEST_CASE("a planted fault changes the reading, healing brings it back, the ghost stays healthy") {
    Desk desk(site_named("bench-rig"), false);
    desk.place({"lead.u", "lead.v", "v"});
    desk.work(1.5);
    const auto before = desk.snapshot();
    REQUIRE(before->clamp);
    const double amps = *before->clamp->value;
    REQUIRE(before->waves.at(0).healthy == before->waves.at(0).trace);
    REQUIRE(before->healthy.current_rms[1] == before->means.current_rms[1]);

    desk.plant("high-resistance-splice", "v", 20.0);
    REQUIRE(desk.last_error().empty());
    desk.work(2.0);
    const auto faulty = desk.snapshot();
    REQUIRE(faulty->faulty);
    REQUIRE(faulty->edits.faults.size() == 1);
    REQUIRE(*faulty->clamp->value < 0.9 * amps);
    REQUIRE(faulty->splice[1].ohms > 19.9);
    // The splice sheet's watts and the energy account come from different ends of the computation.
    REQUIRE(faulty->splice[0].watts + faulty->splice[1].watts + faulty->splice[2].watts ==
            approx(faulty->power[plant::in_splice]).epsilon(0.01));
    REQUIRE(faulty->amp_sequence[2] > 0.05 * faulty->amp_sequence[1]);
    REQUIRE(faulty->healthy.seconds > 0.0);
    REQUIRE(faulty->healthy.current_rms[1] == approx(before->means.current_rms[1]).epsilon(2e-3));
    REQUIRE(faulty->waves.at(1).healthy);
    REQUIRE(faulty->waves.at(1).healthy != faulty->waves.at(1).trace);

    desk.heal("high-resistance-splice", "v");
    desk.work(2.0);
    const auto after = desk.snapshot();
    REQUIRE_FALSE(after->faulty);
    REQUIRE(*after->clamp->value == approx(amps).epsilon(2e-3));
    std::string log;
    for (const Event& e : after->events) log += e.text + "\n";
    REQUIRE(log.find("planted: ") != std::string::npos);
    REQUIRE(log.find("healed: ") != std::string::npos);
}

TEST_CASE("an edit does not jolt a running site") {
    // Compiled in the middle of a control window the modulator must not lose its place.
    Desk desk(site_named("hill-orchard"), false);
    desk.work(6.0);
    REQUIRE(drive::turning(desk.snapshot()->now.control.phase));
    const double least = desk.snapshot()->means.link_min;
    for (int n = 0; n < 6; ++n) {
        desk.plant("high-resistance-splice", "v", 0.0051 + 1e-5 * n);
        REQUIRE(desk.last_error().empty());
        desk.work(0.0517);
        REQUIRE(desk.snapshot()->means.link_min > 0.97 * least);
    }
}

TEST_CASE("undo and redo walk through every act") {
    Desk desk(site_named("hill-orchard"), false);
    REQUIRE_FALSE(desk.can_undo());
    desk.plant("high-resistance-splice", "v", 3.0);
    desk.set("sun.irradiance_W_m2", "600");
    desk.act("open", "isolator");
    desk.work(0.01);
    REQUIRE(desk.snapshot()->site->works.array.irradiance == 600.0);
    REQUIRE(desk.snapshot()->site->works.array.plus.contact.open);
    desk.undo();
    desk.work(0.01);
    REQUIRE_FALSE(desk.snapshot()->site->works.array.plus.contact.open);
    desk.undo();
    desk.undo();
    REQUIRE_FALSE(desk.can_undo());
    desk.work(0.01);
    REQUIRE(desk.snapshot()->edits.faults.empty());
    REQUIRE(desk.snapshot()->site->works.array.irradiance != 600.0);
    for (int n = 0; n < 3; ++n) desk.redo();
    REQUIRE_FALSE(desk.can_redo());
    desk.work(0.01);
    REQUIRE(desk.snapshot()->edits.faults.size() == 1);
    REQUIRE(desk.snapshot()->site->works.array.plus.contact.open);
    // A new act after an undo ends the way forward.
    desk.undo();
    desk.heal_all();
    REQUIRE_FALSE(desk.can_redo());
    REQUIRE(desk.edits().faults.empty());
}

TEST_CASE("leads and clamp are undone like any other act, and the scope's channels go with them") {
    Desk desk(site_named("hill-orchard"), false);
    REQUIRE(desk.channels() == std::vector<std::string>{"drive.u:drive.v", "around.u"});
    desk.place({"drive.v", "drive.w", ""});
    CHECK(desk.channels() == std::vector<std::string>{"drive.v:drive.w", "around.u"});
    desk.place({"drive.v", "drive.w", "dc+"});
    CHECK(desk.channels() == std::vector<std::string>{"drive.v:drive.w", "around.dc+"});
    desk.undo();
    CHECK(desk.probes() == bench::Probes{"drive.v", "drive.w", ""});
    CHECK(desk.channels() == std::vector<std::string>{"drive.v:drive.w", "around.u"});
    desk.undo();
    CHECK(desk.probes() == bench::Probes{});
    CHECK(desk.channels() == std::vector<std::string>{"drive.u:drive.v", "around.u"});
    desk.redo();
    CHECK(desk.probes().red == "drive.v");
    // Told not to, they stay.
    desk.scope.follows = false;
    desk.place({"drive.w", "drive.u", ""});
    CHECK(desk.channels() == std::vector<std::string>{"drive.v:drive.w", "around.u"});
}

TEST_CASE("with a clamp closed the words about two points name those points") {
    Desk desk(site_named("hill-orchard"), false);
    desk.choose_mode(meter::Mode::acv);
    desk.work(4.0);
    desk.place({"link+", "link-", "w"});
    desk.work(1.5);
    const auto s = desk.snapshot();
    REQUIRE(s->meters[0].reading);
    std::string said;
    for (const auto& line : s->meters[0].reading->reasons) said += line + "\n";
    for (const auto& line : s->meters[0].reading->warnings) said += line + "\n";
    INFO(said);
    // Volts AC on a link: what stands there is direct and does not show.
    CHECK(said.find("link+") != std::string::npos);
    CHECK(said.find(" w ") == std::string::npos);
}

TEST_CASE("what stands between turns is there without a spectrum, and follows") {
    Desk desk(site_named("hill-orchard"), false);
    desk.choose_channels({"drive.u:drive.v", "around.v"});
    desk.work(5.0);
    auto s = desk.snapshot();
    REQUIRE(s->waves.size() == 2);
    REQUIRE(s->waves[1].rms);
    CHECK(*s->waves[1].rms == approx(s->means.current_rms[1]).epsilon(2e-3));
    desk.plant("high-resistance-splice", "v", 2.4);
    desk.work(3.0);
    s = desk.snapshot();
    CHECK(*s->waves[1].rms == approx(s->means.current_rms[1]).epsilon(2e-3));
    REQUIRE(s->waves[1].healthy_rms);
    CHECK(*s->waves[1].healthy_rms == approx(s->healthy.current_rms[1]).epsilon(5e-3));
    CHECK(*s->waves[1].rms < 0.95 * *s->waves[1].healthy_rms);
}

TEST_CASE("every view of the strip has the healthy site beside it once something is planted") {
    Desk desk(site_named("hill-orchard"), false);
    desk.work(10.0);  // past the soft start and the tracking's way up
    const auto before = desk.snapshot();
    CHECK(before->healthy_volt_path.empty());
    desk.plant("high-resistance-splice", "v", 2.4);
    desk.work(3.0);
    const auto s = desk.snapshot();
    CHECK(s->healthy_volt_path.size() > 2);
    CHECK(s->healthy_amp_path.size() > 2);
    CHECK(s->healthy_pump_curve.x.size() > 2);
    CHECK(s->healthy_array_current.x.size() > 2);
    REQUIRE(s->healthy_spectra.size() == s->spectra.size());
    // The healthy site is what it was before the fault: balanced lines.
    for (std::size_t k = 0; k < 3; ++k)
        CHECK(std::abs(s->healthy_amp_phasor[k]) == approx(std::abs(before->amp_phasor[k])).epsilon(0.02));
    CHECK(std::abs(s->amp_phasor[1]) < 0.95 * std::abs(s->healthy_amp_phasor[1]));
}

TEST_CASE("the same kind and place is replaced, the same act moves to the end") {
    Desk desk(site_named("hill-orchard"), false);
    desk.plant("high-resistance-splice", "v", 1.0);
    desk.plant("high-resistance-splice", "v", 2.0);
    desk.plant("high-resistance-splice", "u", 1.0);
    REQUIRE(desk.edits().faults.size() == 2);
    desk.set("sun.irradiance_W_m2", "500");
    desk.set("sun.irradiance_W_m2", "400");
    REQUIRE(desk.edits().set == std::vector<std::string>{"sun.irradiance_W_m2=400"});
    desk.act("open", "isolator");
    desk.act("close", "isolator");
    desk.act("open", "isolator");
    REQUIRE(desk.edits().acts.size() == 2);
    desk.work(0.01);
    REQUIRE(desk.snapshot()->site->works.array.plus.contact.open);
}

TEST_CASE("a refused act changes nothing and says why") {
    Desk desk(site_named("hill-orchard"), false);
    desk.plant("high-resistance-splice", "v", 3.0);
    const auto standing = desk.edits();
    desk.plant("no-such-fault", "v", 1.0);
    REQUIRE(desk.last_error().find("no-such-fault") != std::string::npos);
    desk.plant("high-resistance-splice", "z", 1.0);
    REQUIRE_FALSE(desk.last_error().empty());
    desk.set("sun.irradiance_W_m2", "-5");
    REQUIRE(desk.last_error().find("irradiance") != std::string::npos);
    desk.act("open", "barn door");
    REQUIRE(desk.last_error().find('\n') == std::string::npos);
    REQUIRE(same(desk.edits(), standing));
    desk.work(0.05);
    REQUIRE(desk.snapshot()->edits.faults.size() == 1);
    desk.set("sun.irradiance_W_m2", "500");
    REQUIRE(desk.last_error().empty());
    desk.place({"nowhere", "drive.v", ""});
    REQUIRE(desk.last_error().find("nowhere") != std::string::npos);
    REQUIRE(desk.probes().red.empty());
    // Below the splice a lead goes only where teaching allows it.
    desk.place({"motor.u", "motor.v", ""});
    REQUIRE_FALSE(desk.last_error().empty());
    desk.teaching_points = true;
    desk.place({"motor.u", "motor.v", ""});
    REQUIRE(desk.last_error().empty());
    desk.choose_meter(0, "no such meter");
    REQUIRE_FALSE(desk.last_error().empty());
    REQUIRE(desk.meters()[0] == "true-rms");
    desk.choose_channels({"drive.u:drive.v", "nonsense"});
    REQUIRE_FALSE(desk.last_error().empty());
    REQUIRE(desk.channels().size() == 2);
}

TEST_CASE("a session goes round through its text") {
    Desk desk(site_named("hill-orchard"), false);
    desk.plant("high-resistance-splice", "w", 2.5);
    desk.plant("high-resistance-splice", "u", std::numeric_limits<double>::infinity());
    desk.act("open", "isolator");
    desk.set("sun.irradiance_W_m2", "640");
    desk.place({"lead.u", "lead.v", "dc+"});
    desk.choose_meter(1, "moving-iron");
    desk.choose_mode(meter::Mode::dcv);
    desk.choose_channels({"link_V", "around.u", "speed_rpm"});
    desk.show_seconds(2.5);
    desk.rate(0.01);
    desk.hold();
    desk.marks_hidden = true;
    desk.scope.trigger.level = -12.5;
    desk.scope.trigger.sweep = Sweep::single;
    desk.scope.seconds_per_division = 0.02;
    const std::string text = desk.session();

    REQUIRE(Desk::scenario_of(text) == "hill-orchard");  // a shipped site by its name, wherever the program stands
    Desk other(site_named("hill-orchard"), false);
    std::string error;
    REQUIRE(other.restore(text, error));
    REQUIRE(error.empty());
    REQUIRE(same(other.edits(), desk.edits()));
    REQUIRE(other.probes() == desk.probes());
    REQUIRE(other.meters() == desk.meters());
    REQUIRE(other.mode() == meter::Mode::dcv);
    REQUIRE(other.channels() == desk.channels());
    REQUIRE(other.rate() == 0.01);
    REQUIRE_FALSE(other.running());
    REQUIRE(other.marks_hidden);
    REQUIRE(other.scope == desk.scope);
    REQUIRE(other.session() == text);
    REQUIRE(other.can_undo());

    // A session of another site, broken text, wrong words: nothing changes, one line says why.
    Desk third(site_named("bench-rig"), false);
    REQUIRE_FALSE(third.restore(text, error));
    REQUIRE(error.find("session") == 0);
    REQUIRE_FALSE(third.restore("kind = ", error));
    REQUIRE(error.find("session:1:") == 0);
    REQUIRE_FALSE(third.restore("kind = \"bench session\"\nmode = \"xyz\"", error));
    REQUIRE(error.find("session:2:") == 0);
    REQUIRE_FALSE(third.restore("kind = \"bench session\"\nmeters = [\"a\", 3]", error));
    REQUIRE(error.find('\n') == std::string::npos);
    REQUIRE(third.edits().faults.empty());
}

TEST_CASE("hold stops time, a step goes to the next switching, a probe still reads") {
    Desk desk(site_named("bench-rig"), false);
    desk.place({"drive.u", "drive.v", ""});
    desk.work(1.5);
    const double running = shown(*desk.snapshot(), 0);
    desk.hold();
    desk.work(0.0);
    const double t = desk.snapshot()->t;
    REQUIRE(desk.snapshot()->running == Running::hold);
    // Other points: read as if it had run on, and time has not moved.
    desk.place({"drive.v", "drive.w", ""});
    desk.work(0.0);
    REQUIRE(desk.snapshot()->t == t);
    REQUIRE(shown(*desk.snapshot(), 0) == approx(running).epsilon(2e-3));
    // Six steps a turn at 50 Hz: from one to the next is a sixth of 20 ms, and the gates have changed.
    desk.step();
    desk.work(0.0);
    const auto first = desk.snapshot();
    desk.step();
    desk.work(0.0);
    const auto second = desk.snapshot();
    REQUIRE(first->t > t);
    REQUIRE(first->t - t < 0.02 / 6 + 1e-9);
    REQUIRE(second->t - first->t == approx(0.02 / 6).margin(1e-9));
    REQUIRE(second->now.nodes.v[0] + second->now.nodes.v[1] + second->now.nodes.v[2] !=
            approx(first->now.nodes.v[0] + first->now.nodes.v[1] + first->now.nodes.v[2]).margin(1.0));
}

TEST_CASE("the same acts give the same figures") {
    std::string csv[2];
    double amps[2];
    for (int n = 0; n < 2; ++n) {
        Desk desk(site_named("stone-fold"), false);
        desk.place({"drive.u", "drive.v", "u"});
        desk.work(1.0);
        desk.plant("high-resistance-splice", "v", 1.0);
        desk.work(0.7);
        csv[n] = waves_to_csv(desk.snapshot()->waves);
        amps[n] = desk.snapshot()->means.current_rms[0];
    }
    REQUIRE(csv[0] == csv[1]);
    REQUIRE(amps[0] == amps[1]);
}

TEST_CASE("waves go out as rows with two values at an edge") {
    Desk desk(site_named("bench-rig"), false);
    desk.show_seconds(0.02);
    desk.choose_channels({"drive.u:drive.v", "speed_rpm"});
    desk.work(0.5);
    std::istringstream in(waves_to_csv(desk.snapshot()->waves));
    std::string line;
    std::getline(in, line);
    REQUIRE(line == "t [s],u-v [V],speed [rpm]");
    double before = -1.0, last = 0.0;
    int rows = 0, edges = 0;
    while (std::getline(in, line)) {
        double t = 0, v = 0, n = 0;
        // Each wave is kept from a break point of its own on: before it the field is empty.
        if (std::sscanf(line.c_str(), "%lf,%lf,%lf", &t, &v, &n) != 3) {
            REQUIRE(rows == 0);
            continue;
        }
        REQUIRE(t >= before);
        if (t == before && std::abs(v - last) > 100.0) ++edges;
        before = t, last = v;
        ++rows;
    }
    REQUIRE(rows > 10);
    REQUIRE(edges >= 8);  // four a turn, more than two turns kept
}

TEST_CASE("still circuits read at once, driven modes say what is wrong on a live one") {
    Desk desk(site_named("hill-orchard"), false);
    desk.act("open", "isolator");
    desk.act("pull", "pump");
    desk.work(0.0);
    desk.choose_mode(meter::Mode::ohm);
    desk.place({"lead.u", "lead.v", ""});
    desk.work(0.6);
    const auto s = desk.snapshot();
    bench::Bench bench(site_named("hill-orchard"), desk.edits());
    bench.advance(0.6);
    const auto r = test::read(bench, meter::find_spec("true-rms"), meter::Mode::ohm, {"lead.u", "lead.v", ""});
    REQUIRE(r.value);
    REQUIRE(shown(*s, 0) == approx(*r.value).epsilon(1e-6));
    // A mode one of the two does not have: the face says so.
    desk.choose_meter(1, "moving-iron");
    desk.work(0.1);
    REQUIRE_FALSE(desk.snapshot()->meters[1].reading);
    REQUIRE_FALSE(desk.snapshot()->meters[1].note.empty());
}

TEST_CASE("points on the array's side are loaded by both meters") {
    // A 10 Mohm meter on a floating pole pulls it: what one meter alone reads is not what two in parallel read.
    Desk desk(site_named("hill-orchard"), false);
    desk.choose_mode(meter::Mode::dcv);
    desk.act("open", "isolator");
    desk.place({"array+", "earth", ""});
    desk.work(6.0);
    const auto floating = desk.snapshot();
    REQUIRE(floating->meters[0].note.empty());
    REQUIRE(floating->meters[0].reading);
    bench::Bench bench(site_named("hill-orchard"), desk.edits());
    bench.advance(6.0);
    REQUIRE(bench.still());
    const auto ohm = [](const char* name) { return meter::input_resistance(meter::find_spec(name), meter::Mode::dcv); };
    const double both = 1.0 / (1.0 / ohm("true-rms") + 1.0 / ohm("average"));
    const double loaded = bench.still_voltage("array+", "earth", both);
    REQUIRE(shown(*floating, 0) == approx(loaded).epsilon(1e-3));
    REQUIRE(std::abs(bench.still_voltage("array+", "earth", ohm("true-rms")) - loaded) > 0.01 * std::abs(loaded));

    Desk running(site_named("hill-orchard"), false);
    running.choose_mode(meter::Mode::dcv);
    running.place({"s1+", "s1-", ""});
    running.work(6.0);
    bench::Bench second(site_named("hill-orchard"));
    second.advance(6.0);
    const auto live = test::read(second, meter::find_spec("true-rms"), meter::Mode::dcv, {"s1+", "s1-", ""});
    REQUIRE(shown(*running.snapshot(), 0) == approx(*live.value).epsilon(0.02));
}
