// The fundamental frequency of a trace, and the part of it that spans whole periods.
#pragma once

#include <optional>

#include "trace/trace.hpp"

namespace sunshaft::trace {

// Fundamental frequency, Hz, of a wave whose frequency is not known, switched or smooth: rising crossings of
// the wave's integral (which weighs the n-th harmonic by 1/n, so that a carrier does not win over what it
// carries), refined by the advance of the fundamental's phase between the two halves of the trace. Nothing when
// the trace has no alternating part, spans less than one and a half periods, or its crossings do not come at
// regular intervals.
std::optional<double> fundamental_Hz(View trace);

// The steady end of a recording that begins with a start or another change: the longest of the whole, its last half,
// quarter ... sixty-fourth whose fundamental is found and keeps its size and phase from period to period.
struct Steady {
    Trace tail;
    double frequency_Hz;
};
std::optional<Steady> steady_end(View trace);

// How many whole periods fit (an end missing by rounding counts as there).
int whole_periods(View trace, double frequency_Hz);
// The last whole periods, at most `at_most`. Empty when there is not even one.
Trace last_periods(View trace, double frequency_Hz, int at_most = 1 << 20);

}  // namespace sunshaft::trace
