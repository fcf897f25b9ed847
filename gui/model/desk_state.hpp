// What stands on the desk as JSON, for tests that watch the running window from outside.
#pragma once

#include <string>

#include "model/desk.hpp"

namespace sunshaft::view {

// One object: site, t, running, rate, achieved_rate, probes, meters [{spec, shown, value, unit}], clamp {shown, value},
// faults ["kind@place=severity"], acts ["kind@place"], set ["key=value"], can_undo, can_redo, error, lamps {name: on}.
// What does not exist is null.
std::string desk_state(const Desk& desk);

}  // namespace sunshaft::view
