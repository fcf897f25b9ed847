// Waves that were measured laid over the same waves computed: turned to where they agree best, residual, harmonics side
// by side.
//
// Both are read in turns of their own fundamental, so a machine that runs a little faster than computed is compared by
// the shape of its waves and the difference in frequency is said apart. One turn of the computed waves serves all of
// them together:
// the turn phi at which the correlation
//   C(phi) = sum over waves of  sum_n Re( conj(M_n) S_n exp(i 2 pi n phi) ) / (rms of M, rms of S),  n = 1 .. 50
// is greatest (cross-correlation theorem, A. V. Oppenheim and R. W. Schafer, "Discrete-Time Signal Processing", from
// memory).
#pragma once

#include <vector>

#include "trace/harmonics.hpp"
#include "trace/statistics.hpp"
#include "trace/trace.hpp"

namespace sunshaft::trace {

struct Overlay {
    struct Wave {
        // over the same whole periods, on the measured time axis; empty: no common period
        Trace measured, computed, residual;
        Statistics of_measured, of_computed;
        double residual_rms = 0.0;                                   // measured - computed
        std::vector<Phasor> harmonics_measured, harmonics_computed;  // [0] is the fundamental
    };
    // of the first wave that alternates and is steady at its end on both sides; 0: none, and waves hold statistics
    // alone
    double measured_Hz = 0.0, computed_Hz = 0.0;
    int periods = 0;
    double turn = 0.0;  // 0 .. 1: how far into their own period the computed waves are where the measured ones begin
    std::vector<Wave> waves;
};

// Pairs of waves, each side recorded together; of either the steady end is taken (period.hpp). An evenly sampled
// measured wave (no jumps, equal steps) is compared with the computed one as a recorder with that rate would draw it:
// its mean over each sampling interval. Throws std::invalid_argument when there is no pair or a trace is empty, is not
// finite or does not run forward.
Overlay overlay(const std::vector<Trace>& measured, const std::vector<Trace>& computed, int most_periods = 10,
                int orders = 50);

// The mean over `step` around each of `count` instants from `first` on, drawn as straight lines between them.
Trace as_sampled(View trace, double first, double step, std::size_t count);

}  // namespace sunshaft::trace
