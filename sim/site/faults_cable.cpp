// Pump cable and splice.
#include <utility>

#include "site/fault_groups.hpp"

namespace sunshaft::site {
namespace {

// Copper against iron in water: standard electrode potentials +0.342 V (Cu2+) and -0.447 V (Fe2+), CRC Handbook of
// Chemistry and Physics, from memory. Rust and scale leave less in a well.
constexpr double copper_on_iron_V = 0.342 + 0.447;

}  // namespace

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
         "One of the three conductors is open: at the drive, in the cable, at the splice or at the motor.",
         "The motor hums and does not start, or runs on weakly and hot. Little or no water.",
         "Wires disconnected at the drive: winding ohms pair by pair. Core capacitance tells how far down the "
         "break is. Repair terminal, cable or splice.",
         pump_wire_caution},
        {"core-broken", "cable and splice", "core of the pump cable broken part of the way down", "of the way down",
         0.0, 1.0, 0.4, phase_places,
         [](Works& w, const std::string& place, double share) {
             Phase& phase = phase_at(w, place);
             phase.cable.open = true;
             phase.cable.leak_ohm = open_circuit;
             phase.core_above = share;
         },
         "A core has broken inside sound insulation, stretched or crushed.",
         "As with a lost phase: hums, runs weakly and hot, or does not start.",
         "Wires disconnected at the drive: ohms tell which core. Its capacitance to earth against the other two "
         "tells how far down.",
         pump_wire_caution},
        {"high-resistance-splice", "cable and splice", "bad splice: resistance in the joint above the motor",
         "ohm in the joint", 0, open_circuit, 3, phase_places,
         [](Works& w, const std::string& place, double ohm) { phase_at(w, place).splice.ohm = ohm; },
         "The crimp or solder of one core at the splice makes poor contact and gets hot.",
         "Less speed and water than usual, a rough sound, later no start at all.",
         "Wires disconnected at the drive: winding ohms pair by pair; the two with the bad core are high. Lift "
         "the pump and make the splice again.",
         lift_caution},
        {"splice-opens-when-warm", "cable and splice",
         "wire broken inside its sleeve: conducts when cold, opens when warm", "ohm in the joint when cold", 0.05, 20,
         0.6, phase_places,
         [](Works& w, const std::string& place, double ohm) {
             phase_at(w, place).splice.ohm += ohm;
             phase_at(w, place).splice_opens_degC = 60.0;  // common practice, no source
         },
         "Strands touch inside sound insulation at the splice. Cold it reads nearly good. The pump's current "
         "warms it until it opens. Cooled down it touches again.",
         "Starts and pumps, stops or hums after some minutes, is well again after a rest.",
         "Cold ohms are blind to it. Clamp the three lines until one fails. Or run it warm. Then ohms as soon as the "
         "link is proved dead and the shaft stands still; do not hurry. Lift the pump and make the splice "
         "again.",
         warm_caution},
        {"high-resistance-core", "cable and splice", "strands of one core broken", "ohm added", 0, 1e4, 2, phase_places,
         [](Works& w, const std::string& place, double ohm) { phase_at(w, place).cable.ohm += ohm; },
         "Most strands of a core are broken where the cable was bent or crushed.",
         "As with a bad splice, worse when the cable moves.",
         "Wires disconnected at the drive: winding ohms pair by pair while someone moves the cable. Replace the "
         "cable.",
         pump_wire_caution},
        {"undersized-cable", "cable and splice", "pump cable too thin or too long", "times its resistance", 1, 50, 4,
         [](const Works&) { return Places{"cable"}; },
         [](Works& w, const std::string&, double times) {
             for (Phase& phase : w.phases) phase.cable.ohm *= times;
         },
         "All three cores lose too much voltage.", "Weak from the first day, trips while starting.",
         "Length and section against the table. Winding ohms pair by pair are equal but high. Fit a thicker "
         "cable.",
         pump_wire_caution},
        {"phases-shorted", "cable and splice", "two cores of the pump cable touch", "ohm left between them", 0.01, 1000,
         0.5, pair_places,
         [](Works& w, const std::string& place, double ohm) { in_parallel(pair_at(w, place).between_leak_ohm, ohm); },
         "The insulation between two cores is through, near the splice.",
         "Trips at once, or a humming motor that gets hot.",
         "Wires disconnected at the drive: winding ohms pair by pair; one pair is low. Lift the pump and make the "
         "splice again.",
         lift_caution},
        {"wet-splice", "cable and splice", "water in the splice, phase to phase", "ohm left between them", 100, 1e7,
         5e3, pair_places,
         [](Works& w, const std::string& place, double ohm) {
             in_parallel(pair_at(w, place).between_leak_ohm, ohm);
             pair_at(w, place).between_cell_V = 0.4;  // unlike metals in water; common practice, no source
         },
         "Water has crept into the splice: it conducts, and is a cell as well.",
         "Often nothing at first. Later corrosion and a lost phase.",
         "Wires disconnected at the drive, shaft at rest: DC volts pair by pair show some tenths of a volt. Ohms "
         "differ with the leads swapped. Lift the pump and make the splice again.",
         lift_caution},
        {"wet-splice-to-earth", "cable and splice", "water in the splice, to earth", "ohm left to earth", 100, 1e7, 2e4,
         phase_places,
         [](Works& w, const std::string& place, double ohm) {
             in_parallel(phase_at(w, place).earth_cell_ohm, ohm);
             phase_at(w, place).earth_cell_V = copper_on_iron_V;
         },
         "Water has crept into the splice and ties the core to the casing. Copper and iron in water are a cell: the "
         "core "
         "is its plus.",
         "Often nothing on a floating array. Earth-fault trips, later corrosion.",
         "Wires disconnected at the drive, shaft at rest: DC volts from core to earth. Ohms to earth differ with the "
         "leads swapped. Lift the pump and make the splice again.",
         lift_caution},
        {"cable-earth-leakage", "cable and splice", "leakage of one core to earth", "ohm left to earth", 10, 1e8, 1e5,
         phase_places,
         [](Works& w, const std::string& place, double ohm) { in_parallel(phase_at(w, place).earth_leak_ohm, ohm); },
         "The insulation of a core is damaged and wet.", "Earth-fault trips, or nothing on a floating array.",
         "Wires disconnected at the drive: insulation test of each core to earth. Lifted: again with the motor "
         "cut off. Replace what leaks.",
         lift_caution},
        {"phases-swapped", "cable and splice", "two pump wires exchanged: the motor turns backwards", "", 1, 1, 1,
         pair_places,
         [](Works& w, const std::string& place, double) {
             const auto a = static_cast<std::size_t>(place[0] - 'u');
             std::swap(w.core_at[a], w.core_at[(a + 1) % 3]);
         },
         "Two of the three wires are exchanged at the drive's terminals.",
         "Runs and draws balanced currents, but gives less water or none.",
         "Bucket test. Isolate, prove dead, exchange two wires, test again. Keep runs short: reverse running can "
         "unscrew the pipe.",
         pump_wire_caution},
    };
}

}  // namespace sunshaft::site
