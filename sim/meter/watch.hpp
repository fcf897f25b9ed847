// A meter watched while it works: the display update by update, its range changing, its extremes kept; and the
// surge of a motor caught by a clamp.
//
// The wave is applied to a meter at rest. Over each update interval the detector's quantity (mean, rectified
// mean or mean square) is averaged, then smoothed so that a step comes to within 1 % in the settling time. Auto
// range goes up when the range overflows and down when nine tenths of the next lower one would do; a change of
// range costs one update without a value. (Common practice, no source; the thresholds differ between meters.)
#pragma once

#include <optional>
#include <string>
#include <vector>

#include "meter/reading.hpp"

namespace sunshaft::meter {

struct Update {
    double t;                     // s, end of the interval
    std::optional<double> value;  // empty: over range, or changing range
    std::string shown;            // "----" while the range changes
    double range;
    bool over_range;
};

struct Watch {
    std::vector<Update> updates;
    std::optional<double> min, max, average;    // of the values shown: what a min/max memory keeps
    std::optional<double> peak_low, peak_high;  // of the wave behind the filters: what a peak memory keeps
    int range_changes = 0;
    std::optional<double>
        settled_s;  // after the start: from here on the display stays within 3 counts + 0.5 % of its last value
};
// Voltage and current modes but hz. Throws as read() does; the trace must last for at least one update.
Watch watch(const Spec& spec, Mode mode, trace::View wave, const Context& context = {});

// The surge when a motor is switched on: true rms over `window_s` from the first instant the current exceeds
// the trigger, and its peak, as a clamp in `aca` or `dca` sees them from rest.
struct Surge {
    double start_s, rms, peak;
};
std::optional<Surge> surge(const Spec& spec, Mode mode, trace::View current, double trigger_A,
                           double window_s = 0.1);

}  // namespace sunshaft::meter
