// The drive's control: its sensors, its timing, its cooling, and when it hangs.
#include "site/fault_groups.hpp"

#include <numbers>

namespace sunshaft::site {
namespace {

Places controlled(const Works& works) { return works.drive.control == Control::fixed ? Places{} : drive_place(works); }
Places rotor_led(const Works& works) { return self_commutated(works.motor) ? drive_place(works) : Places{}; }
Places current_sensed(const Works& works) {
    return works.drive.current_limit > 0.0 || works.drive.motor_A > 0.0 ? drive_place(works) : Places{};
}
Places on_the_link(const Works& works) { return works.drive.dropout_V > 0.0 ? drive_place(works) : Places{}; }
Places legs(const Works& works) {
    return works.supply.kind == Supply::Kind::mains || works.drive.modulation == Modulation::ideal_sine
               ? Places{}
               : phase_places(works);
}

}  // namespace

std::vector<FaultRow> control_faults() {
    return {
        {"control-latched", "bridge and control", "control latched up until the link is low enough",
         "of the drop-out voltage: lets go below it", 0.01, 1, 1, on_the_link,
         [](Works& w, const std::string&, double share) { w.drive.latches_V = share * w.drive.dropout_V; },
         "A disturbance has thrown the control out of its program. It lets go once the link has fallen below this "
         "share of the voltage at which the lamps go dark. At 1 a restart does it. At 0.01 the link has to be empty.",
         "Full sun, supply lamp lit, nothing moves.",
         "Voltage at the input is right, no output. Restart: isolator off until the lamps are dark, on again. If that "
         "does not "
         "help: isolator off and the array covered until the tester shows an empty link.",
         dark_caution},
        {"voltage-sensor-drift", "bridge and control", "voltage sensor reads wrongly", "times the true voltage shown",
         0.3, 3, 1.25, controlled, [](Works& w, const std::string&, double times) { w.drive.voltage_gain *= times; },
         "The drive believes another link voltage than there is. It starts, tracks and trips by the wrong one.",
         "Starts too early or not at all. Over-voltage trips on cold mornings with the right number of modules.",
         "Open-circuit voltage at the isolator against the drive's own figure. Drive to the workshop; leave the "
         "pump in the well.",
         live_caution},
        {"current-sensor-drift", "bridge and control", "current sensor reads wrongly", "times the true current shown",
         0.1, 5, 1.6, current_sensed, [](Works& w, const std::string&, double times) { w.drive.current_gain *= times; },
         "The drive trips at the wrong current because its own sensors have drifted.",
         "Over-current or overload trips with a healthy pump, or none when they are needed.",
         "Clamp on the lines against the drive's own figure. Drive to the workshop; leave the pump in the well.",
         clamp_caution},
        {"current-sensor-offset", "bridge and control", "current sensor of one line is off its zero",
         "A shown too much", -50, 50, 5, current_sensed,
         [](Works& w, const std::string&, double ampere) { w.drive.current_offset += ampere; },
         "The sensor in line u shows a current where there is none.",
         "Over-current trips at half load. A lost phase u that goes unnoticed.",
         "Pump stopped: the clamp shows 0 A, the drive's own figure does not. Drive to the workshop; leave the "
         "pump in the well.",
         clamp_caution},
        {"commutation-offset", "bridge and control", "commutation off its angle", "degrees electrical", -60, 60, 25,
         rotor_led,
         [](Works& w, const std::string&, double degrees) {
             w.drive.commutation_offset += degrees * std::numbers::pi / 180;
         },
         "A rotor sensor has slipped, or the drive was told another motor. It switches too early or too late.",
         "More current for less water, hot motor, rough start.",
         "Clamp and bucket-and-stopwatch test against the healthy sheet. Check the motor data in the settings. "
         "Leave the pump in the well.",
         clamp_caution},
        {"uneven-dead-time", "bridge and control", "one leg switches on late", "s late", 0, 5e-5, 8e-6, legs,
         [](Works& w, const std::string& place, double s) {
             w.drive.dead_time_extra[static_cast<std::size_t>(place[0] - 'u')] += s;
         },
         "A tired gate driver delays the switching on of one leg. Its voltage is wrong by that much at every "
         "change.",
         "Hums, a warm motor, unequal line currents.",
         "Clamp each line: one is out of line. Dead: winding ohms pair by pair are equal. Drive to the workshop; "
         "leave the pump in the well.",
         clamp_caution},
        {"heat-sink-blocked", "bridge and control", "heat sink blocked or fan stopped", "times its resistance to heat",
         1, 200, 30, drive_place, [](Works& w, const std::string&, double times) { w.heat_sink.K_per_W *= times; },
         "Dust, nests or a dead fan keep the drive's losses in.",
         "Stops in the heat of the day, starts again when it has cooled.",
         "Event log: heat sink. Infrared thermometer on the heat sink, cover on. Isolated and proved dead: clean "
         "it, test the fan.",
         drive_caution},
    };
}

}  // namespace sunshaft::site
