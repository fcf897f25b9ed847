// A second supply behind a change-over switch: what it feeds, what it reads with nothing wrong, whom it can hurt.
#include <algorithm>

#include "bench/hazards.hpp"
#include "support.hpp"

using namespace sunshaft;
using namespace sunshaft::test;
using bench::Danger;
using meter::Mode;

namespace {

constexpr double mean_V = 1.3504745 * 230;  // 3 sqrt(2)/pi of 230 V
const std::vector<std::string> mains = {"supply.second=mains"}, generator = {"supply.second=generator"};
std::vector<std::string> dark(std::vector<std::string> set) {
    set.push_back("sun.irradiance_W_m2=0");
    return set;
}
const site::Act over{"changeover", "second", 0.0}, isolator_off{"open", "isolator", 0.0};

bool has(const std::vector<bench::Hazard>& list, Danger kind, bool refused = false) {
    return std::any_of(list.begin(), list.end(),
                       [&](const auto& h) { return h.kind == kind && (h.refuse || !refused); });
}

}  // namespace

TEST_CASE("a second supply is live beside the array, and changes nothing while the switch is on the array") {
    bench::Bench plain = at("hill-orchard"), fitted = at("hill-orchard", {.set = mains});
    plain.settle(), fitted.settle();
    CHECK(volts(fitted, "dc+", "dc-") == approx(volts(plain, "dc+", "dc-")).epsilon(1e-3));
    CHECK(volts(fitted, "second+", "second-") == approx(mean_V).epsilon(0.01));
    bench::Bench stands = at("hill-orchard", {.set = generator});
    stands.settle();
    CHECK(std::abs(volts(stands, "second+", "second-")) < 0.5);
}

TEST_CASE("turned to the second supply a site pumps at night, and the array stays dead") {
    bench::Bench b = at("hill-orchard", {.set = dark(mains), .acts = {over}});
    b.settle();
    CHECK(drive::turning(b.state().control.phase));
    CHECK(b.state().x[plant::flow] * 3600 > 5.0);
    const double link = b.plant().look(b.state()).nodes.link;
    CHECK(link < mean_V);
    CHECK(link > 0.95 * mean_V);
    CHECK(std::abs(volts(b, "array+", "array-")) < 1.0);
    CHECK(std::abs(b.plant().energy_gap(b.state())) < 1e-3);
    // A generator that stands still feeds nothing.
    bench::Bench off = at("hill-orchard", {.set = dark(generator), .acts = {over}});
    off.advance(2.0);
    CHECK_FALSE(drive::turning(off.state().control.phase));
    bench::Bench on = at("hill-orchard", {.set = dark(generator), .acts = {over, {"close", "second", 0.0}}});
    on.settle();
    CHECK(drive::turning(on.state().control.phase));
}

TEST_CASE("a welded change-over switch makes a dark array live and drives current back through its modules") {
    bench::Bench b =
        at("hill-orchard", {.set = dark(mains), .faults = {{"changeover-welded", "second", 1.0, 0.0}}, .acts = {over}});
    b.settle();
    CHECK(volts(b, "array+", "array-") > 250.0);
    CHECK(bench::string_currents(b.site()->works, b.plant().look(b.state()).nodes.link)[0] < 0.0);
    // With the isolator open it is dead again.
    bench::Bench apart =
        at("hill-orchard",
           {.set = dark(mains), .faults = {{"changeover-welded", "second", 1.0, 0.0}}, .acts = {over, isolator_off}});
    apart.settle();
    CHECK(std::abs(volts(apart, "array+", "array-")) < 1.0);
}

TEST_CASE("an open isolator does not make a drive dead that a second supply feeds, and who works there is told") {
    Scenario s = site::load_scenario(site::find_scenario("hill-orchard"));
    site::set_keys(s, mains);
    site::Works w = site::set_up(s);
    const bench::Scene rest = bench::scene(w);
    CHECK(has(bench::needs(rest, {"open", "isolator", 0.0}), Danger::two_sources));
    CHECK(has(bench::needs(rest, {"dc+", "dc-", ""}, Mode::dcv), Danger::two_sources));
    site::apply(w, isolator_off);
    CHECK_FALSE(has(bench::needs(bench::scene(w), {"pull", "pump", 0.0}), Danger::live_wires, true));
    site::apply(w, over);
    CHECK(has(bench::needs(bench::scene(w), {"pull", "pump", 0.0}), Danger::pump_running, true));
    CHECK(has(bench::needs(bench::scene(w), {"second+", "dc-", ""}, Mode::ohm), Danger::ohms_on_live, true));
    bench::Scene running = bench::scene(w);
    running.fresh = false, running.running = true, running.link_V = 300;
    CHECK(has(bench::needs(running, {"changeback", "second", 0.0}), Danger::changed_live, true));
    // One that stands higher than the array is the highest voltage.
    site::set_key(s, "supply.second_voltage_V=400");
    CHECK(bench::highest_V(site::set_up(s)) == approx(400 * std::sqrt(2.0)).epsilon(1e-9));
    // A site without an array has no switch to put it behind.
    Scenario bench_fed = site::load_scenario(site::find_scenario("bench-rig"));
    CHECK_THROWS_AS(site::set_key(bench_fed, "supply.second=mains"), site::BadInput);
}
