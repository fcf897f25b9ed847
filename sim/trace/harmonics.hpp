// Exact Fourier coefficients of a trace: the integral of a straight segment times a rotating phasor in closed
// form.
//
// With x = omega dt / 2 and t_m the segment's midpoint,
//   integral of y exp(-i omega t) = exp(-i omega t_m) dt [ (y0 + y1)/2 sin(x)/x  -  i (y1 - y0)/2 (sin x - x
//   cos x)/x^2 ]
// which has no cancellation that matters, and a series stands in for the second bracket where x is small.
//
// Phasors are rms values: y(t) = mean + sum_n sqrt(2) Re( C_n exp(i n omega (t - start)) ). Their phase is
// referred to the start of the trace given. The trace should span whole periods (period.hpp); nothing is
// windowed.
#pragma once

#include <complex>
#include <vector>

#include "trace/trace.hpp"

namespace sunshaft::trace {

using Phasor = std::complex<double>;

// Phasor at one frequency, Hz > 0. Empty trace: 0.
Phasor phasor(View trace, double frequency_Hz);
// Phasors at frequency_Hz * (1 .. count); result[0] is the fundamental. By recurrence: about 5 ns a segment and
// harmonic.
std::vector<Phasor> harmonics(View trace, double frequency_Hz, int count);

// Total harmonic distortion as IEC 61000-4-7 has it: harmonics 2 .. up_to over the fundamental. 0 for no
// fundamental.
double thd(const std::vector<Phasor>& harmonics, int up_to = 40);
// Everything that is neither DC nor fundamental, over the fundamental, without limit of order: sqrt(rms_ac^2 -
// F^2) / F. IEC 61000-4-7 calls it the total distortion ratio. 0 for no fundamental.
double total_distortion(double rms_ac, double fundamental_rms);

// Grouping after IEC 61000-4-7:2002, clause 5: spectral lines every f/N over a window of N periods (10 at 50
// Hz, 12 at 60 Hz: about 200 ms), gathered around each harmonic n (index n - 1).
struct Groups {
    int periods = 0;  // N
    std::vector<double>
        harmonic_group;  // the lines nearer to n than to its neighbours, the two halfway ones at half power
    std::vector<double> harmonic_subgroup;  // n and its two next lines
    std::vector<double> interharmonic;      // the centred subgroup between n and n + 1: all lines but the next two
};
// Uses the last N whole periods. Throws std::invalid_argument when the trace is shorter than one period.
Groups iec_groups(View trace, double frequency_Hz, int count = 40);

}  // namespace sunshaft::trace
