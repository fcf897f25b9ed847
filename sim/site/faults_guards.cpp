// Dry-run probe and tank float.
#include "site/fault_groups.hpp"

namespace sunshaft::site {
namespace {

Places dry_place(const Works& works) { return works.guards.dry.fitted ? Places{"dry"} : Places{}; }
Places float_place(const Works& works) { return works.guards.full.fitted ? Places{"float"} : Places{}; }
Places flow_place(const Works& works) { return works.drive.flow_switch > 0.0 ? Places{"flow"} : Places{}; }

}  // namespace

Places guard_places(const Works& works) {
    Places list = dry_place(works);
    for (const std::string& place : float_place(works)) list.push_back(place);
    return list;
}
Guard& guard_at(Works& works, const std::string& place) {
    return place == "dry" ? works.guards.dry : works.guards.full;
}

std::vector<FaultRow> guard_faults() {
    return {
        {"guard-cable-cut", "guards", "guard cable cut", "", 1, 1, 1, guard_places,
         [](Works& w, const std::string& place, double) { guard_at(w, place).wire.open = true; },
         "The two wires to probe or float are interrupted.", "The drive waits for water, or for the tank, for ever.",
         "Isolated and proved dead, guard wires disconnected: ohms of the pair read open. Follow the cable; "
         "repair it.",
         guard_caution},
        {"guard-cable-shorted", "guards", "guard cable shorted", "ohm left between the wires", 0, 1e4, 1, guard_places,
         [](Works& w, const std::string& place, double ohm) { in_parallel(guard_at(w, place).shunt_ohm, ohm); },
         "The two wires touch: the drive can no longer see the sensor.",
         "Nothing, until the well runs dry or the tank runs over.",
         "Isolated and proved dead, guard wires disconnected, sensor off: ohms of the pair still read closed. "
         "Repair the cable.",
         unguarded_caution},
        {"dry-probe-open", "guards", "dry-run probe open inside", "", 1, 1, 1, dry_place,
         [](Works& w, const std::string&, double) { w.guards.wet_ohm = w.guards.dry_ohm = open_circuit; },
         "An electrode has come off its wire.", "The drive waits for water though the well is full.",
         "Dip meter first. Isolated and proved dead, probe wires disconnected: ohms read open. Replace the probe.",
         jumper_caution},
        {"dry-probe-fouled", "guards", "dry-run probe fouled: reads wet for good", "ohm left between the electrodes",
         100, 4e4, 5e3, dry_place,
         [](Works& w, const std::string&, double ohm) { in_parallel(w.guards.dry.shunt_ohm, ohm); },
         "Slime or iron bridges the electrodes.", "Nothing, until the well runs dry.",
         "Isolated and proved dead: lift the probe out of the water; its ohms do not change. Clean it.", dry_pump},
        {"clean-water", "guards", "water so clean that the probe reads as dry", "ohm of the wet probe", 5e4, 1e6, 2e5,
         dry_place, [](Works& w, const std::string&, double ohm) { w.guards.wet_ohm = ohm; },
         "Rain or melt water hardly conducts: the wet probe looks open to the drive.",
         "The drive waits for water though the well is full.",
         "Isolated and proved dead: ohms of the probe in and out of the water. Another probe or another setting.",
         jumper_caution},
        {"dry-probe-high", "guards", "probe hangs above the water", "", 1, 1, 1,
         [](const Works& w) { return w.guards.probe_wet ? dry_place(w) : Places{}; },
         [](Works& w, const std::string&, double) {
             w.guards.probe_depth = w.water.static_level - 1.0;
             w.guards.probe_wet = false;
         },
         "The probe was hung too high or has been lifted. It is out of the water while the pump is still covered.",
         "The drive waits for water.", "Dip meter against the probe's depth. Hang it lower, above the pump.",
         jumper_caution},
        {"float-stuck-up", "guards", "tank float stuck up: reads full", "", 1, 1, 1, float_place,
         [](Works& w, const std::string&, double) { w.guards.float_stuck_up = true; },
         "The float hangs on something and its contact stays open.", "No pumping though the tank is empty.",
         "Look into the tank. Isolated and proved dead, float wires disconnected: ohms read open. Free the float.",
         float_caution},
        {"float-stuck-down", "guards", "tank float stuck down: never reads full", "ohm left across the contact", 0, 100,
         0.2, float_place, [](Works& w, const std::string&, double ohm) { in_parallel(w.guards.full.shunt_ohm, ohm); },
         "The float hangs down or its contact is welded.", "The tank runs over.",
         "Isolated and proved dead: lift the float by hand; its ohms do not change. Replace the float.", float_caution},
        {"flow-switch-open", "guards", "flow switch does not close", "", 1, 1, 1, flow_place,
         [](Works& w, const std::string&, double) { w.drive.flow_stuck = -1; },
         "Its paddle has broken off or its wires are cut.", "The pump stops again and again though water comes.",
         "Watch the outlet while it runs, then read the drive's last stop. Isolated and proved dead: ohms of the "
         "switch.",
         guard_caution},
        {"flow-switch-stuck", "guards", "flow switch stuck closed", "", 1, 1, 1, flow_place,
         [](Works& w, const std::string&, double) { w.drive.flow_stuck = 1; },
         "Grit or scale holds its paddle: it tells of flow for ever.", "Nothing, until the well runs dry.",
         "Isolated and proved dead, water at rest: ohms of the switch read closed. Clean or replace it.",
         unguarded_caution},
        {"jumper-left-in", "guards", "jumper left on a guard", "", 1, 1, 1, guard_places,
         [](Works& w, const std::string& place, double) { guard_at(w, place).jumper = true; },
         "Someone bypassed the guard to test and forgot.", "Nothing, until the well runs dry or the tank runs over.",
         "Isolated and proved dead: look at the guard terminals. Take the jumper out and write it down.",
         unguarded_caution},
    };
}

}  // namespace sunshaft::site
