// What a scope's owner wants to know of a recording: harmonics, sequence components, space vector, signatures of the
// motor.
//
// Works on recordings of our own plant and on measured ones alike; what the signals' names do not tell stays empty.
#pragma once

#include <array>
#include <nlohmann/json.hpp>
#include <optional>
#include <string>
#include <vector>

#include "trace/harmonics.hpp"
#include "trace/sequence.hpp"
#include "trace/signature.hpp"
#include "trace/statistics.hpp"
#include "trace/trace.hpp"

namespace sunshaft::report {

struct Analysis {
    struct Wave {
        std::string name, unit;
        trace::Statistics statistics;          // over the whole periods analysed
        std::vector<trace::Phasor> harmonics;  // rms, orders 1 .. 50; phases against the window's start
        double thd = 0.0, total = 0.0;         // orders 2 .. 40, and everything, over the fundamental
        trace::Groups groups;                  // IEC 61000-4-7
        trace::Trace two_periods;              // the last ones, to be drawn
    };
    // Three waves that belong together.
    struct ThreePhase {
        std::string name, unit;
        trace::Sequence sequence;
        double deviation = 0.0;                                      // NEMA MG 1, of the true rms values
        double factor = 0.0;                                         // negative over positive sequence
        double radius_low = 0.0, radius_high = 0.0, zero_rms = 0.0;  // of the space vector (amplitudes)
        trace::Trace alpha, beta;                                    // its path over one period
    };
    // One line of a quantity that ought to be steady.
    struct Ripple {
        std::string name, unit;
        double mean = 0.0;
        std::array<double, 3> share{};  // amplitude over mean at 1, 2 and 6 times the fundamental
        double peak_to_peak = 0.0;
    };
    double frequency_Hz = 0.0;  // 0: no wave has a fundamental; then only statistics are filled
    int periods = 0;
    std::vector<Wave> waves;
    std::vector<ThreePhase> three;
    std::vector<Ripple> ripples;
    std::optional<double> slip;  // of an induction motor
    double sidebands_need_s = 0.0;
    std::optional<trace::Sidebands> sidebands;  // nothing: the recording is shorter than that
};

// frequency_Hz: known from the drive, or 0 to find it. pole_pairs: of an induction motor whose speed_rpm is among the
// signals, else 0. At most ten (below 55 Hz) or twelve whole periods of the steady end are analysed, the last ones;
// sidebands take the whole recording. Signals holding values that do not exist are left out. Throws
// std::invalid_argument when none is left.
Analysis analyse(const trace::Recording& recording, const std::vector<std::string>& units, double frequency_Hz,
                 int pole_pairs);

nlohmann::json analysis_json(const Analysis& analysis);

}  // namespace sunshaft::report
