// The groups the fault catalogue is made of, and the places most rows share. Only for the faults_*.cpp files.
#pragma once

#include <string>
#include <vector>

#include "site/faults.hpp"

namespace sunshaft::site {

std::vector<FaultRow> array_faults();
std::vector<FaultRow> module_faults();
std::vector<FaultRow> dc_faults();
std::vector<FaultRow> drive_faults();
std::vector<FaultRow> control_faults();
std::vector<FaultRow> cable_faults();
std::vector<FaultRow> motor_faults();
std::vector<FaultRow> water_faults();
std::vector<FaultRow> main_faults();
std::vector<FaultRow> guard_faults();
std::vector<FaultRow> meter_faults();

using Places = std::vector<std::string>;
Places string_places(const Works& works);     // "s1" "s2" ...
Places module_places(const Works& works);     // "s1.m1" ...
Places part_places(const Works& works);       // "s1.m1.1" ...: the sub-strings
Places connector_places(const Works& works);  // "s1.m1+" (before the first module) "s1.m1-" (after it) ...
Places array_place(const Works& works);       // "array", where there is one
Places drive_place(const Works& works);       // "drive", unless the motor is on mains
Places phase_places(const Works& works);      // "u" "v" "w"
Places pair_places(const Works& works);       // "u-v" "v-w" "w-u"
Places motor_place(const Works& works);       // "motor"
Places pump_place(const Works& works);        // "pump", where there is one
Places main_place(const Works& works);        // "main", where there is a pump
Places guard_places(const Works& works);      // "dry" "float": those fitted

String& string_at(Works& works, const std::string& place);
Module& module_at(Works& works, const std::string& place);
std::size_t part_at(const std::string& place);  // 0, 1, 2: by the last figure
Joint& connector_at(Works& works, const std::string& place);
double& earth_at(Works& works, const std::string& connector);
Phase& phase_at(Works& works, const std::string& place);  // by its last letter: "u", "splice.u"
Phase& pair_at(Works& works, const std::string& place);   // by its first letter: "u-v"
Guard& guard_at(Works& works, const std::string& place);  // "float" is the tank's, any other the dry-run probe

void in_parallel(double& ohm, double more);  // a leak beside the one that is there

// What protects whoever acts on the row's advice, before it. The hazards of a moment, with their figures:
// bench/hazards.hpp. Every other sentence of a caution is built from these, so that one thing is said in one way.
#define DEAD_FIRST                                                                                                   \
    "Stop, isolate, lock and tag, cover the array. Wait the time on the drive's label. Prove the tester, the link, " \
    "the tester again."
#define UNPLUG "Unplug a connector only after a clamp shows 0 A in it. An open isolator is no proof."
#define LIFT "Isolate, lock and prove dead before lifting. Lift pump and pipe with the right gear, never by the cable."
#define LIVE_WORK                                                                                                    \
    "Live work only if your local code and your authorisation allow it and no dead test will do. Insulating gloves " \
    "rated for this voltage."
#define CLAMP "Clamp insulated conductors only, covers on."
#define FRAME "Treat the frame as live. One touch of the other pole can kill."
#define FLOAT "Bridged float: the tank runs over. Someone stays at the tank; remove it after."
#define DRY "Run dry, the pump is ruined within minutes. Never bypass the dry-run guard to try."
#define BURST "A screw-type pump against a shut valve bursts the pipe: stop it first."

inline constexpr const char* array_caution = "Modules stay live in any light. " UNPLUG " Cover the array first.";
inline constexpr const char* frame_caution = FRAME " Cover the array before you touch either.";
inline constexpr const char* circulating_caution =
    "Current circulates between strings with the isolator open. Cover the array and clamp 0 A before touching a fuse "
    "or "
    "connector.";
inline constexpr const char* fuse_caution =
    "Both sides of a string fuse can be live. Cover the array and clamp 0 A before touching a fuse.";
inline constexpr const char* module_caution = "Do not step on modules. Cold water on hot glass cracks it.";
inline constexpr const char* short_caution =
    "Up to full voltage when broken. Rated link, array covered while fitting and removing. " UNPLUG;
inline constexpr const char* short_circuit_caution =
    "The DC run carries the array's short-circuit current: opened now it arcs. Cover the array and clamp 0 A first. "
    "Then: " DEAD_FIRST;
inline constexpr const char* arrester_caution =
    DEAD_FIRST " An insulation test with the arrester in destroys it or misleads.";
inline constexpr const char* drive_caution = "Licensed work. " DEAD_FIRST " Dark lamps prove nothing.";
inline constexpr const char* bleed_caution =
    "Link will NOT discharge: do not open the drive. With all lamps dark it stays dangerous for hours.";
inline constexpr const char* dark_caution =
    "Dark lamps prove nothing. Keep the drive closed; the pump can start by itself at once. Before it is "
    "opened: " DEAD_FIRST;
inline constexpr const char* settings_caution =
    "Change settings with the pump stopped and the covers on. It can start by itself.";
inline constexpr const char* live_caution =
    LIVE_WORK " Isolate and prove dead, place the leads, refit the cover, then switch on.";
inline constexpr const char* clamp_caution = CLAMP " " LIVE_WORK;
inline constexpr const char* pump_wire_caution = DEAD_FIRST " Wait until the shaft stands still.";
inline constexpr const char* lift_caution = DEAD_FIRST " Wait until the shaft stands still. " LIFT;
inline constexpr const char* clamp_lift_caution = CLAMP " " LIFT;
inline constexpr const char* warm_caution = DEAD_FIRST " Wait until the shaft stands still. Do not hurry.";
inline constexpr const char* spin_caution =
    "Wait until the shaft stands still: water running back puts voltage on the wires and loads the bearing. " LIFT;
inline constexpr const char* screw_caution = BURST " " LIFT;
inline constexpr const char* burst_caution = BURST " A pump that moves no water boils it: keep clear of hot pipes.";
inline constexpr const char* burst_lift_caution = screw_caution;
inline constexpr const char* dry_caution = DRY;
inline constexpr const char* air_caution = "An air-bound pump runs dry inside: do not let it run on.";
inline constexpr const char* jumper_caution =
    "A jumper to test: dip the well first, someone at the switch, a time limit; it comes out again. " DRY;
inline constexpr const char* float_caution = FLOAT " Never climb a wet ladder or tank roof alone.";
inline constexpr const char* guard_caution = DEAD_FIRST " The pump is unprotected meanwhile. " DRY " " FLOAT;
inline constexpr const char* unguarded_caution = "Pump or tank is unprotected now. " DRY " " FLOAT;
inline constexpr const char* prove_caution =
    "A wrong or dead meter shows a live circuit as dead. Prove it on a known source before and after every test.";
inline constexpr const char* ohms_caution =
    "Ohms belong on a dead circuit only: a meter without the right category can burst.";
inline constexpr const char* jack_caution =
    "Leads in the current jack put a short across what they touch: arc and burns. Look at the jacks before every "
    "voltage.";
inline constexpr const char* meter_fuse_caution = "Replace it only with a fuse of the same breaking capacity.";

#undef DEAD_FIRST
#undef UNPLUG
#undef LIFT
#undef LIVE_WORK
#undef CLAMP
#undef FRAME
#undef FLOAT
#undef DRY
#undef BURST

}  // namespace sunshaft::site
