// A meter's linear filters as one bank of modes, exact on straight segments.
//
// A cascade of first-order high-passes and Butterworth low-passes, H(s) = G s^h / prod (s - p_k), is split into
// partial fractions, H = d + sum w_k / (s - p_k): each mode is v' = p v + w u on its own. Over a segment from u0 to u1
// it is
//     v(t) = (v0 + A) exp(p t) - A - (w/p) u' t,  A = (w/p) u0 + (w/p^2) u'
// where |p| dt is not small, and the same as a power series where it is: with that no segment is too short and no
// pole too slow. The input is taken as one period (or several) of a periodic wave: the v that repeat are solved
// for; nothing is stepped and nothing has to settle.
#pragma once

#include <complex>
#include <vector>

#include "trace/trace.hpp"

namespace sunshaft::meter {

// Of the filtered wave over the trace.
struct Response {
    double mean = 0.0, rms = 0.0;
    double rectified_mean = 0.0;  // mean |y|: pieces between sign changes, located by root finding
    double min = 0.0, max = 0.0;  // at break points and at the steps in between
    // Of k times the wave, k >= 0.
    Response times(double k) const { return {k * mean, k * rms, k * rectified_mean, k * min, k * max}; }
};

// Of the filtered wave against two levels, low <= high, round and round its period.
struct Crossings {
    int rising = 0;      // times it rises through `high` having been below `low` since the time before
    double above = 0.0;  // share of the time above `high`
};

class Filter {
  public:
    // Corners in Hz, > 0; order 1 .. 4. A corner of 0 or infinity adds nothing. A high-pass below 0.01 Hz takes
    // the mean off and nothing else.
    Filter& high_pass(double corner_Hz);
    Filter& low_pass(double corner_Hz, int order = 1);
    bool passes_all() const { return poles_.empty() && !no_mean_; }
    std::complex<double> gain(double frequency_Hz) const;

    Response respond(trace::View periodic) const;
    Crossings cross(trace::View periodic, double low, double high) const;
    // The same response from the moment the wave is applied to a filter at rest, window by window: edges[k] to edges[k
    // + 1], s, rising, within the trace. (A coupling below 0.01 Hz passes everything here: it has not begun to
    // charge.)
    std::vector<Response> respond_from_rest(trace::View wave, const std::vector<double>& edges) const;
    // The filtered wave itself as straight pieces, within about `tolerance` times its largest value.
    trace::Trace wave(trace::View periodic, double tolerance = 1e-3) const;

  private:
    struct Bank;
    std::vector<std::complex<double>> poles_;  // rad/s, one of each conjugate pair beside its twin
    int zeros_ = 0;                            // at s = 0
    bool no_mean_ = false;
    double scale_ = 1.0;  // G
};

}  // namespace sunshaft::meter
