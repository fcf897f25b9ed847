// Names of signals on the screen.
#pragma once

#include <string>
#include <vector>

#include "site/site.hpp"

namespace sunshaft::view {

struct SignalWords {
    std::string label, unit;
};
// "drive.u:drive.v" -> {"u-v", "V"}; "around.u" -> {"u", "A"}; "speed_rpm" -> {"speed", "rpm"}.
SignalWords signal_words(const std::string& name);

// What a scope channel can be on this site besides two points, in the order of a menu.
std::vector<std::string> channel_choices(const site::Site& site);

}  // namespace sunshaft::view
