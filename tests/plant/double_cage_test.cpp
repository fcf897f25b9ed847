// Two cages in one rotor: the machine of one cage where the other carries nothing, and an account that closes.
#include "support.hpp"

#include <cmath>

using namespace sunshaft;
using namespace sunshaft::test;

namespace {

Scenario rotor(const char* kind, double outer_ohm) {
    Scenario s = bare();
    s.supply.kind = "bench";
    s.supply.voltage_V = 300;
    s.drive.modulation = "six-step-180";
    s.drive.control = "fixed";
    s.drive.frequency_Hz = 50;
    s.motor.kind = kind;
    s.motor.stator_resistance_ohm = 1.35, s.motor.stator_leakage_H = 3.6e-3;
    s.motor.rotor_resistance_ohm = 0.95, s.motor.rotor_leakage_H = 4.4e-3, s.motor.magnetizing_H = 0.105;
    s.motor.second_cage_ohm = outer_ohm, s.motor.second_cage_leakage_H = 1e-3;
    s.solver.tolerance = 1e-5;
    return s;
}
Means held(Scenario s, double rpm, double* gap = nullptr) {
    s.motor.locked_speed_rpm = rpm;
    Plant plant(site::compile_site(s));
    State state = plant.start();
    plant.advance(state, 0.6);
    plant.open_account(state);
    const Means m = plant.average_turns(state, 0.2);
    if (gap) *gap = plant.energy_gap(state);
    return m;
}

}  // namespace

TEST_CASE("an outer cage that carries nothing leaves the machine of one cage") {
    for (const double rpm : {0.0, 2850.0}) {
        const Means one = held(rotor("induction", 4.0), rpm), two = held(rotor("double-cage", 1e3), rpm);
        INFO(rpm << " rpm");
        CHECK(two.current_rms[0] == approx(one.current_rms[0]).epsilon(0.01));
        CHECK(two.torque == approx(one.torque).epsilon(0.02));
    }
}

TEST_CASE("an outer cage starts a motor harder for the same current when it runs, and the account closes") {
    double gap = 1.0;
    const Means one = held(rotor("induction", 4.0), 0.0), two = held(rotor("double-cage", 4.0), 0.0, &gap);
    CHECK(two.torque > 1.2 * one.torque);
    CHECK(std::abs(gap) < 1e-4);
    const Means running = held(rotor("double-cage", 4.0), 2850.0, &gap);
    CHECK(running.torque == approx(held(rotor("induction", 4.0), 2850.0).torque).epsilon(0.3));
    CHECK(std::abs(gap) < 1e-4);
    // Bridged turns are a loop beside either.
    Scenario s = rotor("double-cage", 4.0);
    site::Works works = site::set_up(s);
    s.motor.locked_speed_rpm = 2850;
    Plant plant(site::compile_site(s, {site::parse_fault("winding-partly-shorted@v=0.05", works)}));
    State state = plant.start();
    plant.advance(state, 0.2);
    plant.open_account(state);
    plant.average_turns(state, 0.1);
    CHECK(std::abs(plant.energy_gap(state)) < 1e-4);
}
