// Signatures of a running motor: what single spectral lines in its current, its torque and the link give away.
#pragma once

#include <optional>

#include "trace/harmonics.hpp"
#include "trace/trace.hpp"

namespace sunshaft::trace {

// Phasor (rms) at one frequency through a window whose side lobes lie 92 dB down: a weak line beside a strong one is
// seen.
//   H(f) = sum_k (-1)^k a_k/2 ( X(f - k/T) + X(f + k/T) ) / a_0 with the whole trace as T and the four-term weights of
// F. J. Harris, "On the use of windows for harmonic analysis with the discrete Fourier transform", Proc. IEEE 66
// (1978), Table I. Lines nearer than 4/T to a strong one drown in its main lobe.
Phasor windowed_phasor(View trace, double frequency_Hz);

// Broken rotor bars of an induction motor modulate the stator current at twice the slip frequency:
//   f_sb = f (1 -+ 2 k s), k = 1, 2 ...   W. T. Thomson and M. Fenger, "Current signature analysis to detect induction
//                                         motor
// faults", IEEE Industry Applications Magazine 7 (2001) 26-34.
struct Sidebands {
    double supply_Hz = 0.0, slip = 0.0;
    double lower_Hz = 0.0, upper_Hz = 0.0;
    double lower_dB = 0.0, upper_dB = 0.0;  // against the fundamental; the floor of the window is about -92 dB
    double needed_s = 0.0;                  // trace length for the lines to stand clear of the fundamental: 4 / (2 s f)
};
// Nothing when the trace is shorter than needed_s, or slip or fundamental vanish.
std::optional<Sidebands> sidebands(View current, double supply_Hz, double slip);
double sidebands_need_s(double supply_Hz, double slip);  // infinite where the slip vanishes

// Peak-to-mean of one line, as a share: |line amplitude| / |mean|; 0 for no mean. Whole periods of the fundamental are
// taken.
double ripple(View trace, double fundamental_Hz, int order);

}  // namespace sunshaft::trace
