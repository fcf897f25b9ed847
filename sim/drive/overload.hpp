// Whether and when a motor that takes too much will be stopped.
#pragma once

#include "drive/control.hpp"

namespace sunshaft::drive {

// Seconds until the thermal image of the rated current (control.hpp) is full, all else staying as it is; infinite:
// never.
double overload_in_s(const DriveSettings& settings, const ControlState& control);

// Whether each line of a turning output carries the current of a stall (control.hpp), or such a share less.
bool nearly_stalls(const DriveSettings& settings, const ControlState& control, double share);
// Trips as a stall does.
void stop_stalled(const DriveSettings& settings, ControlState& control);

}  // namespace sunshaft::drive
