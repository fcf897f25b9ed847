// Where a line of words may end: at a space, but not between a figure and its unit.
#pragma once

#include <algorithm>
#include <array>
#include <string_view>

namespace sunshaft::text {

// A unit as figure.hpp and the window write it, alone or behind a prefix.
inline bool is_unit(std::string_view word) {
    constexpr std::array<std::string_view, 26> units{"V",   "A",  "W",   "J",   "F",    "K",    "N",  "m",   "s",
                                                     "h",   "C",  "ohm", "Ω",   "Hz",   "kWh",  "VA", "%",   "°C",
                                                     "min", "dB", "bar", "rpm", "m³/h", "m3/h", "m³", "W/m²"};
    const auto known = [&](std::string_view w) { return std::ranges::find(units, w) != units.end(); };
    if (known(word) || word == "L/min") return true;
    for (const std::string_view prefix : {"k", "M", "G", "m", "u", "µ", "n", "p"})
        if (word.starts_with(prefix) && known(word.substr(prefix.size()))) return true;
    return false;
}

// `space`: where one stands in these words.
inline bool line_may_end(std::string_view words, std::size_t space) {
    if (space == 0 || words[space - 1] < '0' || words[space - 1] > '9') return true;
    const std::string_view rest = words.substr(space + 1);
    return !is_unit(rest.substr(0, rest.find_first_of(" \n.,;:)")));
}

}  // namespace sunshaft::text
