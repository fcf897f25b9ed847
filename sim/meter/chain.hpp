// Between read() and the reasons: the wave's way through a meter, with the numbers found at each stage.
#pragma once

#include <numbers>
#include <optional>

#include "meter/display.hpp"
#include "meter/filter.hpp"
#include "meter/reading.hpp"
#include "trace/statistics.hpp"

namespace sunshaft::meter {

// rms of a sine over its rectified mean: what an average-responding meter multiplies by.
inline constexpr double sine_form = std::numbers::pi / (2.0 * std::numbers::sqrt2);

struct Chain {
    trace::View window;  // whole periods of the wave between the probes, and its statistics
    trace::Statistics wave;
    std::optional<double> f;        // fundamental, Hz
    double fundamental = 0.0;       // rms; 0 when there is none
    Response coupled, banded, out;  // behind the coupling, the bandwidth, the low-pass
    double input_corner_Hz = 0.0;   // of the input capacitance behind the source's resistance; 0: none that matters
    double at_nothing = 0.0;        // share of the time the wave lies within a fiftieth of its peak from zero
    bool dc_blocked = false;
    bool clipped = false;  // the crest exceeds what the range takes
    double value = 0.0;    // behind the detector
    double tolerance = 0.0;
};

// Sentences about a wave: what happened, the number, why, what to do.
void explain_wave(const Spec& spec, Mode mode, const Context& context, const Chain& chain, Reading& reading);
// What the hand that holds the meter does to a reading: leads that keep a share, a battery that has run down. Says
// nothing where both are as they should be.
void explain_hand(const Context& context, Words& say);

// "between u and v": where a voltage is read.
std::string between(const Context& context);

// What a shipped meter (by its file's name) makes of the wave; NaN: no such meter or position.
double shipped_reading(const char* name, Mode mode, trace::View window);

}  // namespace sunshaft::meter
