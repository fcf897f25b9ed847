// Windings, rotor and bearings.
#include <algorithm>

#include "site/cable.hpp"
#include "site/fault_groups.hpp"
#include "site/keys.hpp"
#include "text/language.hpp"

namespace sunshaft::site {
namespace {

Places single_cage_place(const Works& works) {
    return std::holds_alternative<motor::Induction>(works.motor) ? motor_place(works) : Places{};
}
Places magnet_place(const Works& works) { return has_magnets(works.motor) ? motor_place(works) : Places{}; }

// One loop is all that is followed.
void bridge_turns(Works& w, const std::string& place, double share) {
    const int phase = static_cast<int>(&phase_at(w, place) - w.phases.data());
    if (w.turns.share > 0.0 && w.turns.phase != phase)
        throw BadInput(
            text::tr("winding-partly-shorted: turns of another winding are bridged already, expected one winding"));
    w.turns.phase = phase;
    w.turns.share = std::min(0.9, w.turns.share + share);
}

}  // namespace

std::vector<FaultRow> motor_faults() {
    return {
        {"winding-open", "motor", "winding burnt open", "", 1, 1, 1, phase_places,
         [](Works& w, const std::string& place, double) { phase_at(w, place).winding.open = true; },
         "One winding of the star no longer conducts.", "Hums, does not start. Little or no water.",
         "Wires disconnected at the drive: winding ohms; the two pairs with that phase read open. From above it "
         "looks like a break at the splice. Lift and measure at the motor's lead.",
         lift_caution},
        {"winding-partly-shorted", "motor", "turns of a winding bridged: its resistance is low", "of the turns bridged",
         0, 0.9, 0.15, phase_places, bridge_turns,
         "Insulation between turns has failed. They are a loop that the field drives some ten times the motor's "
         "current round. It burns within seconds to minutes, to the casing or open.",
         "Hums, hot, unequal currents, then trips or is dead.",
         "Clamp on the three lines under load: the faulty phase draws most. Wires disconnected at the drive: winding "
         "ohms pair by pair with a milliohm meter. A few turns do not show there. Replace the motor.",
         lift_caution},
        {"windings-touching", "motor", "two windings in contact", "ohm left between them", 0.01, 1e4, 2, pair_places,
         [](Works& w, const std::string& place, double ohm) { in_parallel(pair_at(w, place).between_leak_ohm, ohm); },
         "Insulation between two phases has failed at the winding ends.", "Trips at once or burns.",
         "Wires disconnected at the drive: winding ohms pair by pair. Lift, repeat at the motor's own lead. "
         "Replace the motor.",
         lift_caution},
        {"motor-earth-fault", "motor", "winding leaks to the casing", "ohm left to the casing", 0.1, 1e7, 1e4,
         phase_places,
         [](Works& w, const std::string& place, double ohm) { in_parallel(phase_at(w, place).earth_leak_ohm, ohm); },
         "Water in the motor, or burnt insulation, ties a winding to the casing.",
         "Earth-fault trips. On a floating array often nothing at first.",
         "Wires disconnected at the drive: insulation test from the top of the drop cable. Lifted: again with the "
         "motor cut off at the splice.",
         lift_caution},
        {"hot-motor", "motor", "motor hot", "degC in the windings", 20, 250, 130, motor_place,
         [](Works& w, const std::string&, double degC) {
             const double ratio = at_temperature(1.0, degC) / at_temperature(1.0, w.winding_degC);
             for (Phase& phase : w.phases) phase.winding.ohm *= ratio;
             std::visit([&](auto& m) { m.warm(ratio, degC - w.winding_degC); }, w.motor);
             w.winding_degC = degC;
         },
         "Overload, poor cooling or low water: windings and cage have risen to this temperature.",
         "Weak after some time, trips.",
         "Winding ohms as soon as the link is proved dead and the shaft stands still; do not hurry. Compare with "
         "the cold value: copper gains 0.39 % a kelvin.",
         warm_caution},
        {"motor-cooling-lost", "motor", "motor no longer cooled: mud, sand or no flow past it", "times warmer", 1, 20,
         4, motor_place, [](Works& w, const std::string&, double times) { w.motor_heat.K_per_W *= times; },
         "The motor sits in mud, above the water or below the screen. The water that should pass it does not.",
         "Pumps well at first, weaker as it gets hot. Trips and comes back after a rest. In the end a burnt "
         "winding.",
         "Let it run long. Winding ohms as soon as the link is proved dead and the shaft stands still; do not hurry. "
         "Compare with the cold value: copper gains 0.39 % a kelvin. Then depth, flow sleeve and bore.",
         warm_caution},
        {"broken-bars", "motor", "broken rotor bars", "of the cage lost", 0, 0.95, 0.4, single_cage_place,
         [](Works& w, const std::string&, double share) {
             auto& machine = std::get<motor::Induction>(w.motor);
             // A break takes conductor away and gives none: the axis it leaves whole keeps its resistance, the other
             // has (1 + a) / (1 - a) of it.
             const double whole = machine.Rr * (1.0 - machine.cage_asymmetry);
             machine.cage_asymmetry = std::min(0.95, machine.cage_asymmetry + share);
             machine.Rr = whole / (1.0 - machine.cage_asymmetry);
         },
         "Bars of the cage are broken: the rotor has a stiff and a weak axis.",
         "Slow to start, pulsating noise, currents that swing with twice the slip.",
         "Clamp on a line under load: the current swings slowly. Spectrum beside the supply frequency. Replace "
         "the motor.",
         clamp_lift_caution},
        {"weak-magnets", "motor", "magnets weakened by heat", "of the flux lost", 0, 0.9, 0.3, magnet_place,
         [](Works& w, const std::string&, double share) {
             auto& machine = std::get<motor::PermanentMagnet>(w.motor);
             machine.flux *= 1 - share;
             machine.flux_20 *= 1 - share;
         },
         "Over-temperature or over-current has demagnetised part of the rotor.",
         "More current for less water. Runs too fast for its voltage.",
         "Line current by clamp at a known load against the data sheet. Replace the motor.", clamp_lift_caution},
        {"seized", "motor", "shaft seized", "", 1, 1, 1, motor_place,
         [](Works& w, const std::string&, double) { w.shaft.held_speed = 0.0; },
         "Sand, swollen rubber or a ruined bearing holds the shaft.", "Hums and trips, no water.",
         "Wires disconnected at the drive: equal winding ohms. Then the clamp at a start: high current, no "
         "rotation. Lift.",
         lift_caution},
        {"dragging-bearing", "motor", "bearing drags", "N m added", 0, 100, 1, motor_place,
         [](Works& w, const std::string&, double torque) { w.shaft.dry_friction += torque; },
         "A worn or dry bearing brakes the shaft.", "Less water, more current, noise.",
         "Line current by clamp at a known flow against the healthy sheet. Lift and turn by hand.", clamp_lift_caution},
    };
}

}  // namespace sunshaft::site
