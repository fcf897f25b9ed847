// Modules that do not lie still: tilted by the season, or turned about one axis through the day.
#pragma once

#include <string>
#include <vector>

#include "day/weather.hpp"
#include "solar/tracking.hpp"

namespace sunshaft::day {

struct Mount {
    struct Season {
        int month;  // from its first day on
        double tilt_deg;
    };
    std::vector<Season> seasons;  // in order of the year; empty: not by the season
    bool tracks = false;
    solar::Axis axis{};
    bool still() const { return seasons.empty() && !tracks; }
};

// "fixed"; "4:10 10:45": so tilted from those months on; "single-axis", "single-axis 45": so far to either side, about
// a level axis from north to south. Throws std::invalid_argument in words.
Mount parse_mount(const std::string& text);
std::string words_of(const Mount& mount);

// moments() of weather.hpp for an array so mounted: what is not turned is as the scenario has it. Weather in the plane
// of the array is of the plane there is: it stays as it is.
std::vector<Moment> moments(const Weather& weather, const Scenario& scenario, const Mount& mount, double longest);

}  // namespace sunshaft::day
