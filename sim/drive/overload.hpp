// When a motor that takes too much will be stopped.
#pragma once

#include "drive/control.hpp"

namespace sunshaft::drive {

// Seconds until the thermal image of the rated current (control.hpp) is full, all else staying as it is; infinite:
// never.
double overload_in_s(const DriveSettings& settings, const ControlState& control);

}  // namespace sunshaft::drive
