// What holds a shaft at rest: dry friction as memory, against closed forms; the machine that hums.
#include "site/load.hpp"
#include "support.hpp"

using namespace sunshaft;
using namespace sunshaft::test;

namespace {

// Nothing but its own inertia and dry friction: the pump wires are off.
std::shared_ptr<const site::Site> coasting(double dry, double breakaway, const char* machine = "induction") {
    Scenario s = bare();
    s.supply.kind = "bench";
    s.supply.voltage_V = 100;
    s.motor.kind = machine;
    s.motor.flux_linkage_Wb = 0.02;
    s.motor.inertia_kg_m2 = 2e-3;
    s.motor.dry_friction_N_m = dry;
    s.motor.breakaway_N_m = breakaway;
    return site::compile_site(s, {}, {{"pull", "pump", 0.0}});
}

}  // namespace

// J dw/dt = -D: from w to rest in J w / D, over J w2 / 2 D radians, and there it stays.
TEST_CASE("a shaft with dry friction comes to rest when it must, and stays") {
    for (const char* machine : {"induction", "permanent-magnet"})
        for (const double w : {100.0, -100.0}) {
            Plant plant(coasting(0.4, 0.0, machine));
            State s = plant.start();
            s.x[speed] = w;
            plant.open_account(s);
            const double rest_s = 2e-3 * 100 / 0.4;
            plant.advance(s, 0.6 * rest_s);
            INFO(machine << " " << w);
            CHECK(s.x[speed] == approx(0.4 * w).epsilon(1e-6));
            plant.advance(s, 0.999 * rest_s);
            CHECK(s.x[speed] == approx(1e-3 * w).epsilon(1e-2));
            plant.advance(s, 1.001 * rest_s);
            CHECK(s.x[speed] == 0.0);
            CHECK(s.turning == 0);
            plant.advance(s, 10 * rest_s);
            CHECK(s.x[speed] == 0.0);
            CHECK(s.energy[in_bearing] == approx(0.5 * 2e-3 * 100 * 100).epsilon(1e-5));
        }
}

// A screw pump's rotor rubs on its stator whether or not it lifts: that is the pump's loss. A motor without friction of
// its own has none.
TEST_CASE("what rubs in a screw pump is lost in the pump, not in the motor") {
    Scenario s = bare();
    s.supply.kind = "bench";
    s.supply.voltage_V = 100;
    s.motor.inertia_kg_m2 = 2e-3;
    s.pump.kind = "progressive-cavity";
    s.pump.displacement_L_per_rev = 0.02;
    s.pump.slip_fraction = 0.05;
    s.pump.rated_head_m = 30;
    s.pump.running_friction_N_m = 0.7;
    Plant plant(site::compile_site(s, {}, {{"pull", "pump", 0.0}}));
    State at = plant.start();
    at.x[speed] = 100;
    plant.open_account(at);
    plant.advance(at, 0.05);
    // From 100 rad/s: the friction alone takes 0.7 N m over what it turns, some 4 rad.
    const double turned = 0.05 * 0.5 * (100 + at.x[speed]), rubbed = 0.7 * turned;
    CHECK(at.x[speed] > 30);
    CHECK(at.energy[in_pump] > rubbed);
    CHECK(std::abs(at.energy[in_bearing]) < 1e-3 * rubbed);
}

// From 30 rad/s down J dw/dt = -R (1 - (w/30)2)2: the time to rest from w is J 30/R times the integral of 1/(1 - x2)2
// from 0 to w/30, which is x / 2(1 - x2) + ln((1+x)/(1-x)) / 4.
TEST_CASE("break-away friction falls off with speed as its law says") {
    Plant plant(coasting(0.0, 0.1));
    State s = plant.start();
    s.x[speed] = 15.0;
    const double x = 0.5, rest_s = 2e-3 * 30 / 0.1 * (x / (2 * (1 - x * x)) + std::log((1 + x) / (1 - x)) / 4);
    plant.advance(s, 0.99 * rest_s);
    CHECK(s.x[speed] > 0.0);
    plant.advance(s, 1.002 * rest_s);
    CHECK(s.x[speed] == 0.0);
    // Above 30 rad/s there is none.
    s = plant.start();
    s.x[speed] = 40.0;
    plant.advance(s, 1.0);
    CHECK(s.x[speed] == approx(40.0).epsilon(1e-9));
}

// A motor on the mains whose rotor stands: torque settles at the locked-rotor value of its equivalent circuit, found by
// holding it, behind a transient that pulsates about it. Held by more than the highest of these it stands, by less it
// starts.
TEST_CASE("a motor starts when it pulls more than holds it, and not before") {
    const auto most_torque = [] {
        auto seen = watch([](const auto& chain, const Point& p) { return std::array<double, 1>{chain.torque(p.x)}; });
        const auto site = site::compile_site(at_slip(on_mains(hp3), 1.0));
        Driver<motor::Induction> driver(*site, std::get<motor::Induction>(site->works.motor));
        State s = fresh(*site);
        driver.advance(s, 0.5, seen);
        double most = 0.0;
        for (const auto& piece : seen.traces[0]) most = std::max({most, std::abs(piece.y0), std::abs(piece.y1)});
        return most;
    }();
    for (const double share : {1.01, 0.99}) {
        Scenario s = on_mains(hp3);
        s.motor.breakaway_N_m = share * most_torque;
        Plant plant(site::compile_site(s));
        State state = plant.start();
        double fastest = 0.0;
        while (state.t < 0.5) {
            plant.advance(state, state.t + 1e-3);
            fastest = std::max(fastest, std::abs(state.x[speed]));
        }
        INFO(share << " of " << most_torque << " N m");
        CHECK((fastest > 0.0) == (share < 1.0));
    }
}

// One line open: the two windings in series make a field that stands still in space and pulsates. At rest it has no
// torque (any text on single-phase machines); turning, it has. So the motor hums with a large current, at rest, on
// every site.
TEST_CASE("with one line open no induction motor starts from rest") {
    for (const char* name : {"hill-orchard", "terrace-pwm", "bench-rig"})
        for (const char* place : {"drive.u", "cable.v", "splice.w"}) {
            const Scenario scenario = site::load_scenario(site::find_scenario(name));
            Plant healthy(site::compile_site(scenario)),
                lost(site::compile_site(scenario, {{"lost-phase", place, 1, 0}}));
            State h = healthy.start(), l = lost.start();
            healthy.advance(h, 6.0);
            double most = 0.0;
            for (int n = 0; n < 60; ++n) {
                const Means m = lost.average(l, 0.1);
                most = std::max({most, m.current_rms[0], m.current_rms[1]});
                REQUIRE(l.x[speed] == 0.0);
            }
            INFO(name << " " << place);
            CHECK(h.x[speed] > 50.0);
            const Means running = healthy.average(h, 0.1);
            CHECK(most > 1.3 * running.current_rms[0]);  // before the drive trips, if it does
        }
}

// A magnet rotor at rest across the field of two windings: torque follows the current, 50 times a second this way and
// that, with no mean. Held by more than its peak it does not creep; held by less it rocks.
TEST_CASE("a torque that swings about nothing moves a held shaft not at all") {
    for (const bool held : {true, false}) {
        Scenario s = bare();
        s.supply.kind = "mains";
        s.supply.voltage_V = 20;
        s.motor.kind = "permanent-magnet";
        s.motor.pole_pairs = 2, s.motor.flux_linkage_Wb = 0.05;
        s.motor.stator_resistance_ohm = 2, s.motor.d_inductance_H = s.motor.q_inductance_H = 5e-3;
        s.motor.inertia_kg_m2 = 1e-3;
        // Peak current 20 sqrt 2 / |2 (2 + j 1.57)|, over the angle of the field: torque at most 1.5 p flux i_beta.
        s.motor.breakaway_N_m = held ? 2.0 : 0.05;
        Plant plant(site::compile_site(s, {{"lost-phase", "cable.u", 1, 0}}));
        State state = plant.start();
        double far = 0.0;
        for (int n = 0; n < 400; ++n) {
            plant.advance(state, state.t + 2.5e-3);
            far = std::max(far, std::abs(state.x[speed]));
        }
        CHECK((far == 0.0) == held);
        CHECK(plant.average(state, 0.1).current_rms[1] ==
              approx(20 / (2 * std::hypot(2.0, 2 * pi * 50 * 5e-3))).epsilon(held ? 1e-4 : 0.2));
    }
}
