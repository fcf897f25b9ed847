// Pump cable and splice.
#include <utility>

#include "site/fault_groups.hpp"

namespace sunshaft::site {

std::vector<FaultRow> cable_faults() {
    return {
        {"lost-phase", "cable and splice", "lost phase: one conductor of the pump cable open", "", 1, 1, 1,
         [](const Works& w) {
             Places list;
             for (const char* stem : {"drive.", "cable.", "splice.", "motor."})
                 for (const std::string& phase : phase_places(w)) list.push_back(stem + phase);
             return list;
         },
         [](Works& w, const std::string& place, double) {
             Phase& phase = phase_at(w, place);
             Joint& joint = place[0] == 'd'   ? phase.terminal
                            : place[0] == 'c' ? phase.cable
                            : place[0] == 's' ? phase.splice
                                              : phase.winding;
             joint.open = true;
             joint.leak_ohm = open_circuit;
         },
         "One of the three conductors is interrupted: at the drive's terminal, in the drop cable, at the "
         "splice or in the motor's lead.",
         "The motor hums and does not start, or runs on weakly and hot; little or no water.",
         "Clamp the three lines while running, or measure the winding pair by pair from the top of the drop "
         "cable, wires off "
         "the drive; core capacitance tells how far down the break is; then mend terminal, cable or splice.",
         pump_wire_caution},
        {"core-broken", "cable and splice", "core of the pump cable broken part of the way down", "share of the way down",
         0.0, 1.0, 0.4, phase_places,
         [](Works& w, const std::string& place, double share) {
             Phase& phase = phase_at(w, place);
             phase.cable.open = true;
             phase.cable.leak_ohm = open_circuit;
             phase.core_above = share;
         },
         "A core has parted inside sound insulation, pulled or crushed.",
         "As with a lost phase: hums, runs weakly and hot, or does not start.",
         "Wires off the drive: ohms tell which core; its capacitance to earth against the other two tells how far down.",
         pump_wire_caution},
        {"high-resistance-splice", "cable and splice", "bad splice: resistance in the joint above the motor",
         "ohm", 0, open_circuit, 3, phase_places,
         [](Works& w, const std::string& place, double ohm) { phase_at(w, place).splice.ohm = ohm; },
         "The crimp or solder of one core at the splice makes poor contact and gets hot.",
         "Less speed and water than usual, a rough sound, later no start at all.",
         "Winding ohms pair by pair from the top of the drop cable (the two readings with the bad core are "
         "high), clamp on the "
         "three lines; pull the pump and make the splice anew.",
         lift_caution},
        {"splice-opens-when-warm", "cable and splice", "wire broken inside its sleeve: conducts when cold, opens when warm", "ohm when cold",
         0.05, 20, 0.6, phase_places,
         [](Works& w, const std::string& place, double ohm) {
             phase_at(w, place).splice.ohm += ohm;
             phase_at(w, place).splice_opens_degC = 60.0;  // common practice, no source
         },
         "Strands touch inside sound insulation at the splice. Cold, and at a meter's few milliamperes, it reads nearly good; the pump's "
         "current warms it until it parts, and when it has cooled it touches again.",
         "Starts and pumps, stops or hums after some minutes, is well again after a rest.",
         "Cold ohms are blind to it: run it warm, then measure at once, winding pair by pair; or clamp the three lines until one fails; lift "
         "and make the splice anew.",
         lift_caution},
        {"high-resistance-core", "cable and splice", "strands of one core broken", "ohm", 0, 1e4, 2,
         phase_places,
         [](Works& w, const std::string& place, double ohm) { phase_at(w, place).cable.ohm += ohm; },
         "Most strands of a core are broken where the cable was bent or crushed.",
         "As with a bad splice, worse when the cable moves.",
         "Winding ohms pair by pair while someone moves the cable; replace the cable.", pump_wire_caution},
        {"undersized-cable", "cable and splice", "pump cable too thin or too long", "times its resistance", 1,
         50, 4, [](const Works&) { return Places{"cable"}; },
         [](Works& w, const std::string&, double times) {
             for (Phase& phase : w.phases) phase.cable.ohm *= times;
         },
         "All three cores lose too much voltage.", "Weak from the first day, trips while starting.",
         "Length and section against the table; winding ohms pair by pair are equal but high.",
         pump_wire_caution},
        {"phases-shorted", "cable and splice", "two cores of the pump cable touch", "ohm", 0.01, 1000, 0.5,
         pair_places,
         [](Works& w, const std::string& place, double ohm) {
             in_parallel(pair_at(w, place).between_leak_ohm, ohm);
         },
         "The insulation between two cores is through, near the splice.",
         "Trips at once, or a humming motor that gets hot.",
         "Winding ohms pair by pair: one pair is low; lift, cut and splice anew.", lift_caution},
        {"wet-splice", "cable and splice", "water in the splice: leakage from phase to phase", "ohm", 100, 1e7,
         5e3, pair_places,
         [](Works& w, const std::string& place, double ohm) {
             in_parallel(pair_at(w, place).between_leak_ohm, ohm);
             pair_at(w, place).between_cell_V = 0.4;  // unlike metals in water; common practice, no source
         },
         "Water has crept into the splice: it conducts, and is a cell as well.",
         "Often nothing at first; later corrosion and a lost phase.",
         "Dead wires show some tenths of a volt; ohms differ with the probes swapped; insulation test of the "
         "cable; make the splice anew.",
         lift_caution},
        {"cable-earth-leakage", "cable and splice", "leakage of one core to earth", "ohm", 10, 1e8, 1e5,
         phase_places,
         [](Works& w, const std::string& place, double ohm) {
             in_parallel(phase_at(w, place).earth_leak_ohm, ohm);
         },
         "The insulation of a core is damaged and wet.", "Earth-fault trips, or nothing on a floating array.",
         "Insulation test of the cable, drive disconnected, and again with the motor cut off; replace what "
         "leaks.",
         pump_wire_caution},
        {"phases-swapped", "cable and splice", "two pump wires exchanged: the motor turns backwards", "", 1, 1,
         1, pair_places,
         [](Works& w, const std::string& place, double) {
             const auto a = static_cast<std::size_t>(place[0] - 'u');
             std::swap(w.core_at[a], w.core_at[(a + 1) % 3]);
         },
         "Two of the three wires are exchanged at the drive's terminals.",
         "Runs and draws balanced currents, but gives less water or none.",
         "Bucket and watch, then exchange any two wires and compare; keep the better.", pump_wire_caution},
    };
}

}  // namespace sunshaft::site
