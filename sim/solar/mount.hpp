// How modules are mounted: fixed, tilted by the season, or turned about one axis through the day.
#pragma once

#include <string>
#include <vector>

#include "solar/tracking.hpp"

namespace sunshaft::solar {

struct Mount {
    struct Season {
        int month;  // from its first day on
        double tilt_deg;
    };
    std::vector<Season> seasons;  // in order of the year; empty: not by the season
    bool tracks = false;
    Axis axis{};
    bool still() const { return seasons.empty() && !tracks; }
    // Where the modules face. fixed: what of it is not turned.
    Plane plane(const Plane& fixed, const SunPosition& sun, int month) const;
};

// "fixed"; "4:10 10:45": so tilted from those months on, the last of the year up to the first; "single-axis",
// "single-axis 45": so far to either side (60 if left out), about a level axis from north to south. Throws
// std::invalid_argument, in words what was expected.
Mount parse_mount(const std::string& text);
std::string words_of(const Mount& mount);  // "" if still

}  // namespace sunshaft::solar
