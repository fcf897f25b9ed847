// Know your own meter: waves to be played from a headphone socket, and from what its AC position showed of each the
// meter's detector and corners.
//
//   harmless   a few hundred millivolts; leads in the volt socket, never in the current socket, never on a site
//   waves      sums of whole harmonics below 18 kHz, so that the socket adds none; all of one rms, so that a sound
//              true-rms meter shows the same for each that its corners let pass
//   fit        sines tell the two corners, which no detector moves; the shapes at 50 Hz then tell the detector, because
//              each detector expects another figure of them. The socket's own corners cannot be told from the meter's.
#pragma once

#include <optional>
#include <string>
#include <string_view>
#include <vector>

#include "meter/meter.hpp"
#include "trace/trace.hpp"

namespace sunshaft::teach {

struct Tone {
    struct Harmonic {
        int order;
        double cosine, sine;
    };
    std::string name;  // "sine-1000", "square"
    double Hz = 50.0;
    std::vector<Harmonic> harmonics;  // of rms 1 all together
    bool pure() const { return harmonics.size() == 1; }
    double at(double seconds) const;
};
const std::vector<Tone>& tones();
inline constexpr double tone_rate_Hz = 48e3;
// A second of it to be played over and over, its end fitting its beginning; 1 is full scale. A fifth of that is its
// rms, which leaves room for the peaks of all of them.
std::vector<float> loop(const Tone& tone);
// What must be known before a lead touches the plug.
inline constexpr const char* own_meter_caution =
    "Leads in the volt socket, never in the current socket. Never on a site, only on the plug of a headphone lead.";
// Some turns of it as straight pieces, for a meter of ours: `rms` volts.
trace::Trace played(const Tone& tone, double rms, int turns = 4);
// WAV files, a table of what they are and a form to write down what was shown: seen.csv. Throws as FreshFile does.
void write_tones(const std::string& folder);

struct Shown {
    std::string name;
    double volt, step;  // as shown, and the display's last digit
};
// "name, shown" a line; "counts, 2000": the largest figure the display shows. Throws site::BadInput,
// `file:line:column: key: ...`.
struct SeenFile {
    double counts = 2000.0;
    std::vector<Shown> shown;
    std::vector<std::string> left_out;  // names whose display was over range or not read
};
SeenFile parse_seen(std::string_view text, const std::string& file);

struct Corner {
    double Hz, low, high;         // best, and what fits nearly as well (twice the noise)
    bool from_below, from_above;  // it may lie anywhere below `high`, above `low`
};
struct OwnMeter {
    bool reachable = false;                   // false: too few digits, or a reading is amiss
    std::optional<meter::Detector> detector;  // none: cannot be told
    Corner coupling, bandwidth;
    int order = 1;       // of the bandwidth
    double worst = 0.0;  // largest share by which a reading misses the fit
    double counts = 2000.0;
    std::vector<std::string> says;  // sentences
    std::string toml() const;       // a meter's file
};
OwnMeter fitted(const SeenFile& seen);

}  // namespace sunshaft::teach
