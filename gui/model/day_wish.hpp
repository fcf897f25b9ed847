// Which day the strip shows, under which sky.
#pragma once

#include <string>

#include "day/weather.hpp"

namespace sunshaft::view {

// The sky of the weather somebody opened.
inline constexpr const char* measured_sky = "measured";

struct DayWish {
    day::Date date{2026, 6, 21};
    std::string sky = "clear";  // of scenarios/skies.toml, or measured
    friend bool operator==(const DayWish&, const DayWish&) = default;
};

}  // namespace sunshaft::view
