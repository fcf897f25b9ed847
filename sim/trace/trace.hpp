// A trace: a signal over time as straight segments whose ends need not meet.
//
// A switched wave is smooth between events and jumps at them. A Segment runs from (t0, y0) to (t1, y1); the
// next one starts at the same time but perhaps at another value: that is an edge, with no width. Everything
// computed from a trace is exact on it: no sampling rate, no aliasing.
//
// - statistics.hpp: mean, rms, rectified mean, extremes
// - harmonics.hpp: Fourier coefficients, distortion, groups
// - period.hpp: fundamental frequency, whole periods
// - sequence.hpp: symmetrical components, unbalance
// - space_vector.hpp: alpha, beta, zero
// - signature.hpp: single lines that give a fault away
// - overlay.hpp: measured waves over computed ones
// - waves.hpp: standard waves to try things on
#pragma once

#include <cstddef>
#include <span>
#include <string>
#include <vector>

namespace sunshaft::trace {

struct Segment {
    double t0, t1;  // s, t1 > t0
    double y0, y1;  // value at either end, in the signal's SI unit
};

using Trace = std::vector<Segment>;  // contiguous and rising in time: [i].t1 == [i+1].t0
using View = std::span<const Segment>;

// Several signals over the same break points, as the solver writes them: columns of ends.
struct Recording {
    std::vector<std::string> names;
    std::vector<double> t0, t1;               // one row a segment
    std::vector<std::vector<double>> y0, y1;  // [signal][row]

    std::size_t rows() const { return t0.size(); }
    Trace signal(std::size_t index) const;
    // The difference of two recorded potentials is again exact.
    Trace difference(std::size_t red, std::size_t black) const;
};

double start(View trace);     // s; an empty trace: 0
double finish(View trace);    // s
double duration(View trace);  // s
// The part between two times; segments that straddle an end are cut, values interpolated.
Trace slice(View trace, double from, double to);
// Value just after t (an edge counts as passed). Outside the trace: the nearest end.
double value_at(View trace, double t);
Trace scaled(View trace, double factor, double offset = 0.0);
// a + weight_b * b over the time both cover, with the break points of both: a difference is sum(a, b, -1).
Trace sum(View a, View b, double weight_b = 1.0);
// Throws std::invalid_argument unless every value is finite and the segments are contiguous and rise in time.
void check(View trace);

}  // namespace sunshaft::trace
