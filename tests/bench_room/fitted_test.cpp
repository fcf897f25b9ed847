// What is fitted besides: a choke at the output, capacitors and a monitor from the poles to earth, a flow switch.
#include "bench/hazards.hpp"
#include "plant/surges.hpp"
#include "support.hpp"
#include "trace/statistics.hpp"

using namespace sunshaft;
using namespace sunshaft::test;
using meter::Mode;

TEST_CASE("a choke at the drive makes the edges long enough for the cable") {
    const bench::Bench plain = at("terrace-pwm"), choked = at("terrace-pwm", {.set = {"drive.output_choke_H=2e-4"}});
    const auto peak = [](const bench::Bench& b) {
        const site::Works& w = b.site()->works;
        const auto line = plant::surge_line(w);
        REQUIRE(line);
        return line->peak(plant::edge_s(w, *line)) / line->settled();
    };
    CHECK(peak(plain) > 1.7);
    CHECK(peak(choked) < 1.3);
    const site::Works& w = choked.site()->works;
    CHECK(plant::edge_s(w, *plant::surge_line(w)) == approx(2.2 * 2e-4 / 50).epsilon(1e-3));
}

TEST_CASE("an earth monitor's resistors halve the volts between the poles, and an insulation test finds them") {
    const bench::Edits off{.acts = {{"open", "isolator", 0.0}}};
    bench::Bench b = at("hill-orchard", {.set = {"link.earth_monitor_ohm=2e5"}});
    b.settle();
    const double link = b.plant().look(b.state()).nodes.link;
    CHECK(volts(b, "dc+", "earth") == approx(link / 2).epsilon(0.03));
    CHECK(volts(b, "dc-", "earth") == approx(-link / 2).epsilon(0.03));
}

TEST_CASE("capacitors from the poles to earth bring the cores' charge back at the drive, past the clamp on the poles") {
    const auto clamp = [](const char* farad, const char* around) {
        bench::Bench b = at("terrace-pwm", {.set = {std::string("link.earth_capacitance_F=") + farad}});
        b.settle();
        return trace::statistics(recorded(b, {std::string("around.") + around}, 0.1)[0]).rms;
    };
    const double uvw = clamp("1e-6", "uvw"), dc = clamp("1e-6", "dc"), bare = clamp("0", "dc");
    CHECK(uvw > 0.01);
    // Two capacitances in parallel share it: the array's 1.8 uF and the fitted one.
    CHECK(dc / uvw == approx(1.8 / 2.8).epsilon(0.02));
    CHECK(bare == approx(clamp("0", "uvw")).epsilon(0.02));
}

TEST_CASE("a flow switch stops a pump whose coupling has broken, and leaves a healthy one alone") {
    const std::vector<std::string> fitted = {"drive.flow_switch_m3_h=1", "drive.flow_delay_s=10"};
    bench::Bench healthy = at("hill-orchard", {.set = fitted}),
                 alone = at("hill-orchard", {.set = fitted, .faults = {{"broken-coupling", "pump", 1.0, 0.0}}}),
                 blind =
                     at("hill-orchard",
                        {.set = fitted,
                         .faults = {{"broken-coupling", "pump", 1.0, 0.0}, {"flow-switch-stuck", "flow", 1.0, 0.0}}});
    for (bench::Bench* b : {&healthy, &alone, &blind}) b->advance(20.0);
    CHECK(drive::turning(healthy.state().control.phase));
    CHECK(alone.state().control.phase == drive::Phase::dry_hold);
    CHECK(alone.gauge("drive_stop").says == "no flow");
    CHECK(drive::turning(blind.state().control.phase));
}

TEST_CASE("capacitors to earth bring a caution that says what they hold and what they do") {
    const auto told = [](const char* capacitance) {
        const bench::Bench b = at("hill-orchard", {.set = {std::string("link.earth_capacitance_F=") + capacitance}});
        std::string all;
        for (const std::string& line : bench::words(bench::needs(bench::scene(*b.site(), b.plant().look(b.state())),
                                                                 {"dc+", "earth", ""}, meter::Mode::dcv)))
            all += line + "\n";
        return all;
    };
    CHECK(told("0").find("Capacitors from both poles") == std::string::npos);
    const std::string words = told("2e-6");
    CHECK(words.find("Capacitors from both poles to earth are fitted here.") != std::string::npos);
    CHECK(words.find("leakage current with nothing wrong") != std::string::npos);
}

TEST_CASE("an earth monitor that stops the drive sees leaks of the array, and the motor's once it runs") {
    const std::vector<std::string> monitor = {"link.earth_monitor_ohm=100e3", "link.earth_monitor_trip_ohm=50e3"};
    const auto stop = [&](const std::vector<site::Fault>& faults) {
        bench::Bench b = at("hill-orchard", {.set = monitor, .faults = faults});
        b.advance(20.0);
        return drive::display(b.state().control).last_stop;
    };
    CHECK(stop({}) == drive::Cause::none);
    CHECK(stop({{"wet-connector", "s1.m5-", 20e3, 0.0}}) == drive::Cause::low_insulation);
    CHECK(stop({{"wet-connector", "s1.m5-", 200e3, 0.0}}) == drive::Cause::none);
    CHECK(stop({{"cable-earth-leakage", "w", 20e3, 0.0}}) == drive::Cause::low_insulation);
}
