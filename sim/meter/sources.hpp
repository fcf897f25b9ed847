// Where a figure of a reason comes from: what lights up in the window where a hand lies on it. One table, by the
// figure's name.
#pragma once

#include <array>
#include <string_view>

#include "meter/reading.hpp"

namespace sunshaft::meter {

// Of the site's drawing: where the leads lie or the clamp is closed, the link, the drive.
enum class Part { none, leads, link, drive };

struct Source {
    std::string_view figure;
    // The first of these that a reading's chain has: a stage's name, or what its number is. "display" it always has.
    std::array<std::string_view, 5> stages;
    Part part = Part::none;
    std::string_view meter_key = {}, site_key = {};  // what was read from the meter's file, from the site's
    std::string_view standard = {};                  // ... from a standard
};

// Null: nobody knows.
const Source* source_of(std::string_view figure);
// The stage of this reading's chain that the figure comes from, by its name; empty: it comes from none.
std::string_view stage_of(const Source& source, const Reading& reading);

}  // namespace sunshaft::meter
