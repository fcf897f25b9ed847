// Which day the strip shows, under which sky.
#pragma once

#include <string>

#include "day/weather.hpp"

namespace sunshaft::view {

struct DayWish {
    day::Date date{2026, 6, 21};
    std::string sky = "clear";  // of scenarios/skies.toml
    friend bool operator==(const DayWish&, const DayWish&) = default;
};

}  // namespace sunshaft::view
