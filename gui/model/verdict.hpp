// Two meters on the same two points, in a few words for a back row: are both in order, and if not, what differs.
#pragma once

#include <optional>
#include <string>

#include "meter/reading.hpp"

namespace sunshaft::view {

// What a perfect meter of this reading's kind (its detector and coupling) would show of the wave at its terminals;
// nothing where the mode looks at no wave.
std::optional<double> wanted(const meter::Reading& reading, meter::Mode mode);
// That lies within what the meter's own accuracy allows.
bool in_own_band(const meter::Reading& reading, meter::Mode mode);

struct Judged {
    std::string name;  // "True-rms"
    const meter::Reading* reading = nullptr;
};
// "Neither is faulty" only where both lie in their own band and still show different figures; else who agrees, or who
// is off and by what of its chain. Empty: nothing to say.
std::string verdict(const Judged& first, const Judged& second, meter::Mode mode);

}  // namespace sunshaft::view
