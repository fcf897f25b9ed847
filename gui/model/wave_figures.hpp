// A wave's own figures, whatever a meter makes of it: what stands in the row under the chains, and what of the drawn
// wave each figure tells of.
#pragma once

#include <optional>
#include <string>
#include <string_view>
#include <vector>

#include "meter/reading.hpp"

namespace sunshaft::view {

struct WaveFigure {
    const char* figure;       // its name among the figures of reasons (meter/sources.hpp)
    const char *name, *hint;  // in the language spoken
    std::optional<double> value;
    std::string unit;
};
// In the order of what matters. Empty: the reading looked at no wave.
std::vector<WaveFigure> wave_figures(const meter::Reading& reading);

// What of the wave a figure tells of, V or A.
struct WaveMark {
    std::vector<double> levels = {};  // steady lines
    bool peak = false;                // from nothing to where it is furthest away
    bool fundamental = false;         // the sine in it
    bool turn = false;                // how long it takes until it repeats
    bool empty() const { return levels.empty() && !peak && !fundamental && !turn; }
};
// Empty: it tells of nothing that could be drawn over the wave.
WaveMark wave_mark(std::string_view figure, const meter::Reading& reading);

}  // namespace sunshaft::view
