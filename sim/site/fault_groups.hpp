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

}  // namespace sunshaft::site
