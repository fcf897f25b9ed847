#include "site/fault_groups.hpp"

namespace sunshaft::site {

std::vector<FaultRow> cable_faults() {
    return {
        {"lost-phase", "cable and splice", "lost phase: one conductor of the pump cable open", "", 1, 1, 1,
         [](const Works&) -> Places {
             return {"drive.u", "drive.v", "drive.w", "cable.u", "cable.v", "cable.w", "splice.u", "splice.v", "splice.w"};
         },
         [](Works& works, const std::string& place, double) {
             Phase& phase = phase_at(works, place);
             (place[0] == 'd' ? phase.terminal : place[0] == 'c' ? phase.cable : phase.splice).open = true;
         },
         "One of the three conductors is interrupted: at the drive terminal, in the drop cable, or at the splice.",
         "The motor hums and does not start, or runs on weakly and hot; little or no water.",
         "Clamp the three lines while running, or measure the winding resistance pair by pair from the top of the drop "
         "cable with the wires off the drive; then mend terminal, cable or splice.",
         "Isolate, wait for the link to discharge and prove dead before touching the terminals or pulling wires."},
        {"high-resistance-splice", "cable and splice", "bad splice: resistance in the joint above the motor", "ohm", 0,
         open_circuit, 3, phase_places,
         [](Works& works, const std::string& place, double ohm) { phase_at(works, place).splice.ohm = ohm; },
         "The crimp or solder of one core at the splice makes poor contact and gets hot.",
         "Less speed and water than usual, a rough sound, later no start at all.",
         "Measure the windings pair by pair from the top of the drop cable (the two readings with the bad core are high), "
         "clamp the three lines; pull the pump and make the splice anew.",
         "Isolate, wait for the link to discharge and prove dead before pulling wires; lift the pump only with the right gear."},
    };
}

}  // namespace sunshaft::site
