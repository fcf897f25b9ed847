// Recordings as files other programs read: COMTRADE and WAV, both sampled evenly.
//
// Each sample is the mean of the signal over the interval it stands at the middle of: nothing that happens between
// two samples is lost, and a carrier above half the rate is weakened (by sin x / x) instead of folded back unseen.
// What cannot be written throws std::invalid_argument, what goes wrong while writing std::runtime_error, in one line.
#pragma once

#include <string>
#include <vector>

#include "trace/trace.hpp"

namespace sunshaft::report {

// plant::unit_of() a signal; a point alone is read in volts.
std::string signal_unit(const std::string& signal);

// Column by column: the means over 1/rate_Hz, from the recording's start. What does not exist (NaN) stays NaN.
std::vector<std::vector<double>> sampled(const trace::Recording& recording, double rate_Hz);

// IEC 60255-24 / IEEE C37.111-2013 (layout as public readers have it), a configuration `path` ending in .cfg and its
// data beside it in .dat. Data: ASCII text, binary with 16-bit integers, or 32-bit floating point. Times in the file
// count from the start of the year 2000, for a computed wave has no date; its
// time quality is written as not to be relied on.
enum class Comtrade { ascii, binary, float32 };
void write_comtrade(const std::string& path, const trace::Recording& recording, double rate_Hz, Comtrade kind,
                    double line_Hz);

// RIFF/WAVE, one channel a signal. 32-bit floating-point samples, in the signal's own unit (not scaled to 1); or for
// any player 16-bit integers, of a signal within -1 .. 1.
enum class Wav { float32, pcm16 };
void write_wav(const std::string& path, const trace::Recording& recording, double rate_Hz, Wav kind = Wav::float32);

}  // namespace sunshaft::report
