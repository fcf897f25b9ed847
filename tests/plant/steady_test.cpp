// Steady states by shooting, against the same sites run from a start until nothing moves any more.
#include <fmt/format.h>

#include "plant/steady.hpp"
#include "site/keys.hpp"
#include "site/load.hpp"
#include "support.hpp"

using namespace sunshaft;
using namespace sunshaft::plant;

namespace {

std::shared_ptr<const site::Site> site_of(const Scenario& s, const std::vector<site::Fault>& faults = {}) {
    site::Now now;  // as a bench finds it
    now.powered = true;
    now.probe_wet = site::set_up(s).guards.probe_wet;
    now.winding_degC = s.motor.winding_temperature_degC;
    return site::compile_site(s, faults, {}, {}, &now);
}
Scenario shipped(const char* name) { return site::load_scenario(site::find_scenario(name)); }

// A neighbour that runs, and what it found.
struct Running {
    std::shared_ptr<const site::Site> site;
    State state;
    Periodic periodic;
    explicit Running(const Scenario& s) : site(site_of(s)) {
        Plant plant(site);
        state = plant.start();
        REQUIRE(settle(plant, state).settled);
        periodic = plant::periodic(plant, state);
        INFO(periodic.reason);
        REQUIRE(periodic.found);
    }
};

// change(), and how the lines' rectified means differ.
double apart(const Means& a, const Means& b, const X& ref) {
    double worst = change(a, b, ref);
    for (std::size_t k = 0; k < 3; ++k) {
        const double x = a.line_rectified[k], y = b.line_rectified[k];
        worst = std::max(worst, std::abs(x - y) / std::max({std::abs(x), std::abs(y), 0.1 * ref[v_cap]}));
    }
    return worst;
}

}  // namespace

TEST_CASE("a steady state found by shooting is where a long run ends") {
    struct Row {
        const char* site;
        site::Fault edit;
        double within;
    };
    // Where the rotor leads the commutations lie by the windows, not alike in every turn.
    const site::Fault cable{"undersized-cable", "cable", 1.2, 0.0}, splice{"high-resistance-splice", "v", 0.06, 0.0};
    for (const Row& row : {Row{"hill-orchard", cable, 1e-4}, Row{"terrace-pwm", splice, 1e-4},
                           Row{"stone-fold", splice, 1e-3}, Row{"river-meadow", splice, 1e-3}}) {
        INFO(row.site);
        const Running n(shipped(row.site));
        CHECK(n.periodic.multiplier < 1.0);
        CHECK(n.periodic.multiplier > 0.3);  // water and shaft
        // An edit of the motor side; from the healthy state, with its Jacobian.
        auto site = site_of(shipped(row.site), {row.edit});
        REQUIRE(starts_alike(*n.site, *site));
        Plant plant(site);
        State s = plant.start();
        take_up(plant, s, *n.site, n.state);
        State run_on = s;
        const Periodic p = periodic(plant, s, &n.periodic);
        INFO(p.reason);
        REQUIRE(p.found);
        run_on.slow.held = true;
        plant.advance(run_on, run_on.t + 12.0);
        s.slow.held = true;
        const Means found = plant.average_turns(s, 0.2), long_run = plant.average_turns(run_on, 0.2);
        CHECK(apart(found, long_run, reference(*site)) < row.within);
        // and without a neighbour's Jacobian
        State cold = run_on;
        cold.x[flow] *= 0.95;
        const Periodic again = periodic(plant, cold);
        INFO(again.reason);
        REQUIRE(again.found);
        CHECK(apart(plant.average_turns(cold, 0.2), long_run, reference(*site)) < row.within);
    }
}

// Unequal phases make the link's ripple dip below what the link regulator lets pass: no two turns are quite alike.
TEST_CASE("a state that comes back in the mean only is run on to") {
    const Running n(shipped("hill-orchard"));
    auto site = site_of(shipped("hill-orchard"), {{"high-resistance-splice", "v", 0.3, 0.0}});
    Plant plant(site);
    State s = plant.start(), start = s;
    take_up(plant, s, *n.site, n.state);
    REQUIRE(starts_alike(*n.site, *site));
    CHECK_FALSE(periodic(plant, s, &n.periodic).found);
    REQUIRE(runs_on(plant, s) != Stays::no);
    REQUIRE(settle(plant, start).settled);
    s.slow.held = start.slow.held = true;
    CHECK(apart(plant.average_turns(s, 0.5), plant.average_turns(start, 0.5), reference(*site)) < 1e-3);
}

TEST_CASE("what has no period is said with its reason and left as it was") {
    const Running n(shipped("hill-orchard"));
    Plant plant(n.site);
    State s = plant.start();
    CHECK(periodic(plant, s).reason == "the output is off");
    CHECK(s.t == 0.0);
    plant.advance(s, 2.0);  // on its ramp
    const double t = s.t, w = s.x[speed];
    CHECK(periodic(plant, s).reason == "the control still moves the output");
    CHECK(s.t == t);
    CHECK(s.x[speed] == w);
    auto broken = site_of(shipped("hill-orchard"), {{"broken-bars", "motor", 0.3, 0.0}});
    CHECK_FALSE(starts_alike(*n.site, *broken));
    Plant other(broken);
    State b = n.state;
    other.adopt(b);
    CHECK(periodic(other, b).reason == "a broken cage beats with the slip");
}

// At a weak sun the array bends down under the motor before it is up to speed: what a neighbour's state leads to
// there is no place where a start would end, or none at all.
TEST_CASE("a site that cannot hold its neighbour's speed is not said to run") {
    const Running n(shipped("hill-orchard"));
    Scenario weak = shipped("hill-orchard");
    weak.sun.irradiance_W_m2 = 430;
    auto site = site_of(weak);
    Plant plant(site);
    State s = plant.start();
    take_up(plant, s, *n.site, n.state);
    const Periodic p = periodic(plant, s, &n.periodic);
    CHECK_FALSE(p.found);
    CHECK(!p.reason.empty());
}

TEST_CASE("what a neighbour's state gives is what a start gives, over the catalogue") {
    const Scenario scenario = shipped("hill-orchard");
    const Running n(scenario);
    const site::Works healthy = site::set_up(scenario);
    int found = 0;
    for (const site::FaultRow& row : site::fault_catalogue()) {
        const auto places = row.places(healthy);
        if (places.empty() || std::string(row.group) == "operator and meter") continue;
        INFO(row.kind << "@" << places.front());
        const auto site = site_of(scenario, {{row.kind, places.front(), row.usual, 0.0}});
        if (!starts_alike(*n.site, *site)) continue;
        Plant plant(site);
        State s = plant.start(), start = s;
        take_up(plant, s, *n.site, n.state);
        const bool exact = periodic(plant, s, &n.periodic).found;
        if ((!exact && runs_on(plant, s) == Stays::no) || !from_above(site->source, s.control.link_V)) continue;
        ++found;
        s.slow.held = true;
        const Settled by_itself = settle(plant, start);
        CHECK(by_itself.settled);
        CHECK(start.control.phase == s.control.phase);
        start.slow.held = true;
        CHECK(apart(plant.average_turns(s, 0.2), plant.average_turns(start, 0.2), reference(*site)) <
              (exact ? 3e-4 : 1e-3));
    }
    CHECK(found > 20);
}
