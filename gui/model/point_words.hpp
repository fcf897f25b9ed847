// What stands at a test point or in a conductor right now, in a few words; empty when nothing is known.
#pragma once

#include <string>

#include "model/snapshot.hpp"

namespace sunshaft::view {

std::string volts_at(const Snapshot& s, const std::string& point);         // "308 V above link−, this instant"
std::string amps_around(const Snapshot& s, const std::string& conductor);  // "8.37 A rms", "9.4 A"

}  // namespace sunshaft::view
