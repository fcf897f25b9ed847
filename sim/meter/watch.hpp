// A meter watched while it works: the display update by update, its range changing, its extremes kept; and the
// surge of a motor caught by a clamp.
//
// The wave is applied to a meter at rest. At the end of each update interval the detector's quantity (mean, rectified
// mean or mean square) is averaged over as many tenths of a second as it holds, whole periods of 50 and of 60 Hz alike,
// then smoothed so that a step comes to within 1 % in the settling time. Auto range goes up when the range overflows
// and down when nine tenths of the next lower one would do; a change of range costs one update without a value. (Common
// practice, no source; the thresholds differ between meters.)
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
    std::string beside;  // small letters beside the digits: "AC auto", "DC held, over range", "AC auto, range up"
};

struct Watch {
    std::vector<Update> updates;
    std::optional<double> min, max, average;    // of the values shown, rounded as they are: what a min/max memory keeps
    std::optional<double> peak_low, peak_high;  // of the wave behind the filters: what a peak memory keeps
    int range_changes = 0;
    std::optional<double>
        settled_s;    // after the start: from here on the display stays within 3 counts + 0.5 % of its last value
    Reading reading;  // the last display, the truth of the whole stretch, and what there is to say about the course
};
// Throws std::invalid_argument for a mode whose display is not followed over a wave: those with a source of their own,
// hz, duty.
void check_watchable(Mode mode);
// Throws as read() does; the trace must last for at least one update.
Watch watch(const Spec& spec, Mode mode, trace::View wave, const Context& context = {});

// The surge when a motor is switched on: what the clamp's detector makes of the first `window_s` from the instant the
// current exceeds the trigger (an averaging one: rectified mean times its factor; else true rms), and its peak, as the
// clamp's filters see them from rest. One number is shown and kept; the meter waits as long as nothing exceeds the
// trigger.
inline constexpr double surge_window_s = 0.08;  // four turns at 50 Hz; no source
struct Surge {
    double trigger_A = 0.0, window_s = surge_window_s;
    std::optional<double> start_s, value, peak;  // empty: not triggered
    Reading reading;
};
// trigger_A 0: a fiftieth of the smallest range, or of the one set by hand (common practice, no source).
double surge_trigger(const Function& function, const Context& context);
Surge surge(const Spec& spec, Mode mode, trace::View current, const Context& context = {}, double trigger_A = 0.0,
            double window_s = surge_window_s);

}  // namespace sunshaft::meter
