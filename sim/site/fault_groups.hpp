// The groups the fault catalogue is made of, and the places most rows share. Only for the faults_*.cpp files.
#pragma once

#include <string>
#include <vector>

#include "site/faults.hpp"

namespace sunshaft::site {

std::vector<FaultRow> array_faults();
std::vector<FaultRow> cable_faults();

using Places = std::vector<std::string>;
Places string_places(const Works& works);     // "s1" "s2" ...
Places module_places(const Works& works);     // "s1.m1" ...
Places connector_places(const Works& works);  // "s1.m1+" (before the first module) "s1.m1-" (after it) ...
Places phase_places(const Works& works);      // "u" "v" "w"

String& string_at(Works& works, const std::string& place);
Module& module_at(Works& works, const std::string& place);
Joint& connector_at(Works& works, const std::string& place);
Phase& phase_at(Works& works, const std::string& place);  // by its last letter: "u", "splice.u"

}  // namespace sunshaft::site
