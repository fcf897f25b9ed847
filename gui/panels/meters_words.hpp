#pragma once
// What stands on the meters, in words: names of modes and meters, the parts of a reading's display.
#include <string>
#include <string_view>
#include <vector>

#include "model/snapshot.hpp"
#include "teach/words.hpp"

namespace sunshaft::panels {

using teach::mode_words;                       // short enough for a key
std::string_view mode_hint(meter::Mode mode);  // one sentence for a first-year apprentice
/// Keys of the row: what either meter can do, in the order of the switch. The low-pass and the low impedance are
/// no keys of their own but switches beside volts AC.
std::vector<meter::Mode> mode_keys(const std::array<view::MeterFace, 2>& faces);
/// The key that is down in a mode: volts AC for its low-pass and low impedance too.
meter::Mode key_of(meter::Mode mode);
bool either_has(const std::array<view::MeterFace, 2>& faces, meter::Mode mode);

/// "true-rms multimeter for switched drives" is "True-rms for switched drives".
std::string short_name(std::string_view name);
/// Units as they are written by hand: "Mohm" is "MΩ", "uA" is "µA"; "ohmmeter" stays.
std::string with_symbols(std::string_view words);

/// The display's text taken apart: "-237.1 mV" is minus, "237.1", "mV".
struct Shown {
    bool minus = false;
    std::string figures, unit;
    bool segments = false;  // figures can be shown by segments: digits, a point, OL, dashes
};
Shown taken_apart(const meter::Reading& reading);
/// "min 249.9  max 250.7  peak 308.8" in the reading's unit; `brief` leaves the peak out.
std::string kept_words(const view::Memory& memory, const meter::Reading& reading, bool brief);
/// "could be 258.4 to 264.2"; empty when the reading has no band. `brief` leaves the first two words out.
std::string band_words(const meter::Reading& reading, bool brief);

}  // namespace sunshaft::panels
