// A meter's settings one by one: what there is, change one with a check, write the whole as a meter's file.
#pragma once

#include <string>
#include <vector>

#include "meter/meter.hpp"

namespace sunshaft::meter {

struct Setting {
    std::string key;                 // "acv.bandwidth_Hz", "counts"
    std::string unit;                // "Hz"; empty: a pure number or a word
    std::string value;               // as it would stand in the file, a word without quotes
    std::string meaning;             // one line
    double low, high;                // of a number
    std::vector<std::string> words;  // what a word may be; empty: a number
};
// The single values a mode's chain consists of, and the display's. Ranges, accuracy and sources are the file's alone.
// Throws std::invalid_argument when the meter has no such mode.
std::vector<Setting> settings(const Spec& spec, Mode mode);

// The meter with one value changed, checked as its file would be. Throws std::invalid_argument in one line, "key: what
// is wrong, what was expected", and then nothing has changed.
Spec changed(const Spec& spec, const std::string& key, const std::string& value);

// A file that reads back as the same meter.
std::string to_toml(const Spec& spec);

}  // namespace sunshaft::meter
