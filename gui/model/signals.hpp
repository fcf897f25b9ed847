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

// What a scope channel can be on this site, in the order of a menu: first these, as far as they are not in it by
// themselves. Any two points can: those the leads are on, those that are on the scope already.
std::vector<std::string> channel_choices(const site::Site& site, const std::vector<std::string>& also);

}  // namespace sunshaft::view
