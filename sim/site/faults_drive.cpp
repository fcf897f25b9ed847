// Bridge and control.
#include "site/fault_groups.hpp"

namespace sunshaft::site {
namespace {

Places device_places(const Works& works) {
    if (works.supply.kind == Supply::Kind::mains) return {};
    Places list;
    for (const std::string& phase : phase_places(works))
        for (const char* side : {".upper", ".lower"}) list.push_back(phase + side);
    return list;
}
drive::Device& device_at(Works& works, const std::string& place) {
    drive::LegParts& leg = works.bridge.legs[static_cast<std::size_t>(place[0] - 'u')];
    return place.find("upper") != std::string::npos ? leg.upper : leg.lower;
}
Places leg_places(const Works& works) {
    return works.supply.kind == Supply::Kind::mains ? Places{} : phase_places(works);
}
bool has_frequency_line(const Works& works) {
    return works.supply.kind != Supply::Kind::mains && works.drive.control != Control::fixed &&
           !self_commutated(works.motor);
}

}  // namespace

std::vector<FaultRow> drive_faults() {
    return {
        {"device-open", "bridge and control", "switching device never conducts", "", 1, 1, 1, device_places,
         [](Works& w, const std::string& place, double) { device_at(w, place) = drive::Device::open; },
         "One device of the bridge is burnt open or gets no gate signal. Its free-wheel diode is still there.",
         "Rough, hot, weak running, or no start.",
         "The dead diode test is blind to it. Clamp the three lines while running: unequal, with a DC share. "
         "Drive to the workshop; leave the pump in the well.",
         drive_caution},
        {"leg-dead", "bridge and control", "both devices of a leg never conduct", "", 1, 1, 1, leg_places,
         [](Works& w, const std::string& place, double) {
             auto& leg = w.bridge.legs[static_cast<std::size_t>(place[0] - 'u')];
             leg.upper = leg.lower = drive::Device::open;
         },
         "A gate driver has failed: the leg's terminal is driven by its diodes alone.",
         "The motor hums and does not start, or runs on weakly.",
         "Dead first: winding ohms pair by pair are equal, so the wires are whole. Clamp the three lines while "
         "running. Drive to the workshop; leave the pump in the well.",
         drive_caution},
        {"device-shorted", "bridge and control", "switching device shorted", "", 1, 1, 1, device_places,
         [](Works& w, const std::string& place, double) { device_at(w, place) = drive::Device::shorted; },
         "A device has melted through and always conducts.",
         "Trips at once, blown fuses, a motor that is held and heats.",
         "Dead: diode test from each output terminal to both poles of the link. One way reads nearly nothing. "
         "Drive to the workshop; leave the pump in the well.",
         drive_caution},
        {"input-stage-killed", "bridge and control", "input stage destroyed by over-voltage",
         "ohm left across the input", 0.01, 100, 0.5, drive_place,
         [](Works& w, const std::string&, double ohm) { in_parallel(w.link.bleed_ohm, ohm); },
         "Too many modules in series or a surge: the link's capacitor and input parts are a short.",
         "Drive dark in full sun. The DC run carries the short-circuit current.",
         "Clamp the DC conductor. Cover the array, clamp 0 A, open the isolator. Dead: ohms across the input. "
         "Check the module count before fitting another drive. Leave the pump in the well.",
         short_circuit_caution},
        {"output-terminal-loose", "bridge and control", "loose output terminal", "ohm in the contact", 0, 1e4, 5,
         [](const Works& w) {
             Places list;
             for (const std::string& phase : phase_places(w)) list.push_back("drive." + phase);
             return list;
         },
         [](Works& w, const std::string& place, double ohm) { phase_at(w, place).terminal.ohm = ohm; },
         "A screw or lug at the drive's output makes poor contact and gets hot.",
         "Rough running, a hot or discoloured terminal.",
         "Thermal camera on the terminals under load, cover on. Dead: tighten with the maker's torque, replace "
         "what is burnt.",
         pump_wire_caution},
        {"drive-dead", "bridge and control", "auxiliary supply dead: the electronics do nothing", "", 1, 1, 1,
         drive_place,
         [](Works& w, const std::string&, double) {
             w.drive.on = false;
             w.link.electronics_W = 0.0;
         },
         "The small supply that feeds the drive's electronics has failed.",
         "Dark lamps with full voltage at the input.",
         "Check that the isolator is on and the array lit; no lamp, no output. Drive to the workshop; leave the "
         "pump in the well.",
         dark_caution},
        {"tracker-stuck", "bridge and control", "maximum-power tracker stuck",
         "of the voltage at the start, which it keeps", 0.62, 0.95, 0.93,
         [](const Works& w) { return w.drive.control == Control::mppt ? drive_place(w) : Places{}; },
         [](Works& w, const std::string&, double share) { w.drive.tracker_stuck = share; },
         "The drive holds one working voltage, away from the array's best, whatever the sun does.",
         "Pumps, but less than the sun would give.",
         "Read the link voltage in the drive's own display over a day: it does not follow the sun. Restart it, "
         "then ask the maker.",
         drive_caution},
        {"wrong-motor-voltage", "bridge and control", "motor's rated voltage set wrongly", "times the right value", 0.2,
         3, 0.6, [](const Works& w) { return has_frequency_line(w) ? drive_place(w) : Places{}; },
         [](Works& w, const std::string&, double times) { w.drive.nominal_V *= times; },
         "The voltage that belongs to the rated frequency does not fit the motor. Too little torque, or "
         "saturation and heat.",
         "Stalls or runs hot since the drive was set up or replaced.",
         "Read the name-plate, correct the setting. Leave the pump in the well.", settings_caution},
        {"wrong-boost", "bridge and control", "starting boost set wrongly", "times the right value", 0, 20, 6,
         [](const Works& w) { return has_frequency_line(w) && w.drive.boost_V > 0 ? drive_place(w) : Places{}; },
         [](Works& w, const std::string&, double times) { w.drive.boost_V *= times; },
         "The voltage added at low frequency is too small to break away, or so large that the motor overheats.",
         "No start, or trips while starting.", "Correct the setting by the name-plate. Leave the pump in the well.",
         settings_caution},
        {"phase-loss-detection-off", "bridge and control", "phase-loss detection switched off", "", 1, 1, 1,
         [](const Works& w) { return w.drive.phase_loss_detection ? drive_place(w) : Places{}; },
         [](Works& w, const std::string&, double) { w.drive.phase_loss_detection = false; },
         "The drive no longer stops when one line carries no current.",
         "Nothing, until a phase is lost: then the motor hums and burns.", "Read the settings; switch it on again.",
         settings_caution},
    };
}

}  // namespace sunshaft::site
