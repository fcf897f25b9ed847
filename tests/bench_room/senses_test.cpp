// What eyes and ears tell, and the valve that a hand shuts.
#include <fmt/format.h>

#include <numbers>

#include "bench/field_tests.hpp"
#include "bench/senses.hpp"
#include "site/faults.hpp"
#include "support.hpp"
#include "text/figure.hpp"
#include "trace/statistics.hpp"

using namespace sunshaft;
using test::approx;

namespace {

std::string says(bench::Bench& b, const char* sense) { return b.gauge(sense).says; }

// Of the current in line u, by its crossings of zero.
double line_Hz(bench::Bench b) {
    const trace::Trace line = test::recorded(b, {"around.u"}, 0.5)[0];
    double first = -1.0, last = -1.0;
    int turns = -1;
    for (const trace::Segment& s : line)
        if (s.y0 < 0.0 && s.y1 >= 0.0) {
            last = s.t0 + (s.t1 - s.t0) * s.y0 / (s.y0 - s.y1);
            if (first < 0.0) first = last;
            ++turns;
        }
    REQUIRE(turns > 5);
    return turns / (last - first);
}

}  // namespace

TEST_CASE("a healthy site runs evenly, its lamps say so and water flows") {
    bench::Bench b = test::at("hill-orchard");
    b.advance(8.0);
    CHECK(says(b, "sound") == "runs evenly");
    CHECK(says(b, "lamps") == "supply, running");
    CHECK(says(b, "outlet") == "water flows");
    b.edit({.acts = {{"stop", "drive", b.time()}}});
    b.advance(20.0);
    CHECK(says(b, "sound") == "silent");
    CHECK(says(b, "lamps") == "supply");
    CHECK(says(b, "outlet") == "no water");
}

TEST_CASE("with a line lost before the start the motor hums and stands; lost on the way it runs on with a hum") {
    bench::Bench stands = test::at("hill-orchard", {.faults = {{"lost-phase", "splice.v", 1.0, 0.0}}});
    stands.advance(3.0);
    // Described, not judged.
    const std::string heard = says(stands, "sound");
    INFO(heard);
    REQUIRE(heard.starts_with("steady hum at "));
    CHECK(std::stod(heard.substr(14)) == approx(2.0 * line_Hz(stands)).epsilon(0.03));  // the drive still feels its way
    CHECK(heard.find(" Hz, no pump heard") != std::string::npos);
    CHECK(heard.find("turn") == std::string::npos);
    CHECK(says(stands, "outlet") == "no water");

    bench::Bench on = test::at("hill-orchard", {.faults = {{"lost-phase", "splice.v", 1.0, 10.0}}});
    on.advance(12.0);
    const std::string sound = says(on, "sound");
    // A field that only comes and goes pulls twice a period (any text on the hum of machines).
    CHECK(sound == fmt::format("runs with a hum at {}", text::quantity(2.0 * line_Hz(on), "Hz", 3)));
}

TEST_CASE("a chopped wave whines at its carrier where an ear hears that") {
    bench::Bench b = test::at("terrace-pwm");
    b.advance(6.0);
    CHECK(says(b, "sound") == "runs evenly, a whine at 8 kHz");
    Scenario quiet = site::load_scenario(site::find_scenario("terrace-pwm"));
    site::set_key(quiet, "drive.carrier_Hz=18000");
    bench::Bench above(quiet);
    above.advance(6.0);
    CHECK(says(above, "sound") == "runs evenly");
}

TEST_CASE("a valve shut by hand lifts the gauge to what the pump makes without flow, and opens again") {
    for (const char* name : {"hill-orchard", "river-meadow"}) {
        bench::Bench open = test::at(name);
        open.advance(8.0);
        bench::Bench b = bench::at_station(open.scenario(), {}, bench::Station::shut);
        const trace::Trace made = test::recorded(b, {"head_m"}, 0.2)[0];
        INFO(name);
        CHECK(b.gauge("flow").value < 0.02 * open.gauge("flow").value);
        const double gauge = b.gauge("head").value;
        CHECK(gauge > open.gauge("head").value);
        // No flow, no friction: the pump's head less the way from the water up to the gauge.
        CHECK(gauge == approx(trace::statistics(made).mean - b.gauge("water", false).value).epsilon(0.02));
        bench::Edits again = b.edits();
        again.acts.push_back({"reopen", "valve", b.time()});
        b.edit(again);
        b.advance(5.0);
        CHECK(b.gauge("flow").value == approx(open.gauge("flow").value).epsilon(0.05));
    }
}

TEST_CASE("a screw-type pump at work is never shut off") {
    const site::Works screw = site::set_up(site::load_scenario(site::find_scenario("stone-fold")));
    bench::Scene now = bench::scene(screw);
    now.running = true;
    CHECK(bench::refused(bench::needs(now, site::Act{"shut", "valve", 0.0})));
    const site::Works wheel = site::set_up(site::load_scenario(site::find_scenario("hill-orchard")));
    now.works = &wheel;
    CHECK_FALSE(bench::refused(bench::needs(now, site::Act{"shut", "valve", 0.0})));
    CHECK(bench::find_test("shut-head")->observations(screw).empty());
    CHECK_FALSE(bench::find_test("shut-head")->observations(wheel).empty());
}

TEST_CASE("the drive's own display tells what its sensors believe") {
    bench::Bench b = test::at("hill-orchard");
    b.advance(10.0);
    const auto shows = [](bench::Bench& bench, const char* what) { return bench.gauge(what).value; };
    const auto meter = [](const bench::Bench& bench, meter::Mode mode, bench::Probes probes) {
        return *test::read(bench, meter::find_spec(meter::takes_clamp(mode) ? "clamp-hall" : "true-rms"), mode, probes)
                    .value;
    };
    CHECK(shows(b, "drive_V") == approx(meter(b, meter::Mode::dcv, {"dc+", "dc-", ""})).epsilon(0.02));
    CHECK(shows(b, "drive_A") == approx(meter(b, meter::Mode::aca, {"", "", "u"})).epsilon(0.03));
    CHECK(shows(b, "drive_Hz") == approx(meter(b, meter::Mode::hz, {"drive.u", "drive.v", ""})).epsilon(0.01));
    CHECK(says(b, "drive_stop") == "no stop yet");

    // A drifted current sensor: the display and the clamp disagree by just that.
    bench::Bench drifted = test::at("hill-orchard", {.faults = {{"current-sensor-drift", "drive", 0.8, 0.0}}});
    drifted.advance(10.0);
    CHECK(shows(drifted, "drive_A") == approx(0.8 * meter(drifted, meter::Mode::aca, {"", "", "u"})).epsilon(0.03));

    bench::Bench tripped =
        test::at("hill-orchard", {{"drive.phase_loss_detection=true"}, {{"winding-open", "v", 1.0, 20.0}}, {}});
    tripped.advance(26.0);
    CHECK(says(tripped, "drive_stop") == "phase loss");
    tripped.edit({.acts = {{"open", "isolator", tripped.time()}}});
    tripped.advance(60.0);
    CHECK(says(tripped, "drive_V") == "dark");
}

TEST_CASE("a coupling that breaks under way: the motor turns on, no water comes") {
    bench::Bench b = test::at("hill-orchard", {.faults = {{"broken-coupling", "pump", 1.0, 8.0}}});
    b.advance(7.9);
    CHECK(says(b, "outlet") == "water flows");
    const double loaded = b.gauge("drive_A").value;
    b.advance(6.0);
    CHECK(says(b, "outlet") == "no water");
    CHECK(b.gauge("flow").value == 0.0);
    CHECK(b.state().x[plant::speed] > 0.9 * plant::reference(*b.site())[plant::speed]);
    CHECK(b.gauge("drive_A").value < 0.9 * loaded);
}

TEST_CASE("a screen nearly blocked lets a pump cavitate: less head than the screen alone costs, and a crackle") {
    const std::vector<site::Fault> blocked = {{"blocked-intake", "pump", 0.97, 0.0}};
    bench::Bench plain = test::at("hill-orchard", {.faults = blocked}),
                 needs = test::at("hill-orchard", {.set = {"pump.npsh_m=7"}, .faults = blocked}),
                 healthy = test::at("hill-orchard", {.set = {"pump.npsh_m=7"}});
    for (bench::Bench* b : {&plain, &needs, &healthy}) b->advance(12.0);
    CHECK(says(plain, "sound") == "runs evenly");
    CHECK(says(needs, "sound") == "runs evenly, a crackle as of gravel");
    CHECK(says(healthy, "sound") == "runs evenly");
    CHECK(healthy.state().slow.lift == 1.0);
    CHECK(needs.state().slow.lift < 0.97);
    CHECK(needs.gauge("flow").value < 0.98 * plain.gauge("flow").value);
    // What is left by the formulas of water/pump.hpp, from the state as it is.
    const site::Hydraulics& h = needs.site()->works.water;
    const double flow = needs.state().x[plant::flow], velocity = flow / h.main.area();
    const double available = 101325 / (h.main.density * water::gravity) - h.vapour_head + h.pump_depth -
                             needs.state().water_level - h.suction_loss * velocity * velocity / (2 * water::gravity);
    const double required = water::npsh_required(7, needs.state().x[plant::speed] / h.rated_speed, flow / h.best_flow);
    CHECK(needs.state().slow.lift == approx(water::cavitating(available, required)).epsilon(0.02));
}

TEST_CASE("a shaft that drags grinds, a cage that is not whole swells and fades, and a healthy site does neither") {
    bench::Bench drags = test::at("hill-orchard", {.faults = {{"dragging-bearing", "motor", 1.0, 0.0}}});
    drags.advance(12.0);
    CHECK(says(drags, "sound") == "runs evenly, a grinding");
    for (const double share : {0.2, 0.4, 0.6}) {
        bench::Bench broken = test::at("hill-orchard", {.faults = {{"broken-bars", "motor", share, 0.0}}});
        for (const double later : {12.0, 8.0, 5.3}) {
            broken.advance(later);
            INFO(share << " at " << broken.time());
            CHECK(says(broken, "sound") == "runs, swells and fades");
        }
    }
    for (const char* name : {"hill-orchard", "river-meadow", "stone-fold"}) {
        INFO(name);
        bench::Bench healthy = test::at(name);
        healthy.advance(12.0);
        for (int n = 0; n < 5; ++n) {  // also while its tracker is on its way
            CHECK(says(healthy, "sound").starts_with("runs evenly"));
            CHECK(says(healthy, "sound").find("grinding") == std::string::npos);
            healthy.advance(0.7);
        }
    }
}

TEST_CASE("sand lies in the bucket, and nowhere else") {
    bench::Bench healthy = test::at("hill-orchard"),
                 sandy = test::at("hill-orchard", {.faults = {{"sand", "pump", 0.3, 0.0}}}),
                 worn = test::at("hill-orchard", {.faults = {{"worn-pump", "pump", 0.3, 0.0}}}),
                 grit = test::at("hill-orchard", {.set = {"well.sand_mg_L=30"}});
    for (bench::Bench* b : {&healthy, &sandy, &worn, &grit}) b->advance(12.0);
    CHECK(says(healthy, "settles") == "clear, nothing settles");
    CHECK(says(worn, "settles") == "clear, nothing settles");
    CHECK(says(grit, "settles") == "a pinch of grit settles");
    CHECK(says(sandy, "settles") == "a layer of sand settles");
    healthy.edit({.acts = {{"stop", "drive", healthy.time()}}});
    healthy.advance(20.0);
    CHECK(says(healthy, "settles") == "no water");
}

TEST_CASE("a sound told in words has the number that was heard, with or without what is heard in the pipe") {
    for (const char* words :
         {"silent", "steady hum, no pump heard", "a drone, no hum", "runs evenly", "runs, swells and fades",
          "runs with a hum, a grinding", "runs evenly, a gurgle of air"}) {
        INFO(words);
        const auto number = bench::sense_told("sound", words);
        REQUIRE(number);
        CHECK(bench::sense_words("sound", *number) == words);
    }
    CHECK(bench::sense_told("sound", "runs with a hum at 100 Hz, a whine at 8 kHz") ==
          bench::sense_told("sound", "runs with a hum"));
    CHECK(bench::sense_told("sound", "steady hum at 94.1 Hz, no pump heard, a whine at 8 kHz") ==
          bench::sense_told("sound", "steady hum, no pump heard"));
    // What was said of them before: notes and journals keep it.
    CHECK(bench::sense_told("sound", "hums and does not turn") ==
          bench::sense_told("sound", "steady hum, no pump heard"));
    CHECK(bench::sense_told("sound", "zumba y no gira, un zumbido agudo") ==
          bench::sense_told("sound", "zumbido constante, no se oye la bomba"));
    CHECK(bench::sense_told("sound", "turns on by itself, no hum") == bench::sense_told("sound", "a drone, no hum"));
    CHECK(bench::sense_told("sound", "a grinding") == bench::sense_told("sound", "runs evenly, a grinding"));
    CHECK_FALSE(bench::sense_told("sound", "like a goat"));
}

TEST_CASE("air in the pump gurgles") {
    const auto heard = [](const bench::Edits& edits) {
        return test::at("hill-orchard", edits).gauge("sound", false).says;
    };
    CHECK(heard({.faults = {{"air-locked", "pump", 0.25, 0.0}}}).starts_with("runs evenly, a gurgle of air"));
    CHECK(heard({}).find("gurgle") == std::string::npos);
}

TEST_CASE("water at rest stands where the well has it, however deep it is drawn while pumping") {
    bench::Bench rest = bench::at_station(site::load_scenario(site::find_scenario("hill-orchard")),
                                          {.faults = {{"encrusted-screen", "well", 6.0, 0.0}}}, bench::Station::dead),
                 runs = test::at("hill-orchard", {.faults = {{"encrusted-screen", "well", 6.0, 0.0}}});
    runs.advance(600.0);
    CHECK(rest.gauge("water", false).value == approx(rest.scenario().well.static_level_m));
    CHECK(runs.gauge("water", false).value > rest.scenario().well.static_level_m + 1.0);
}
