// The report on a site for its owner or a project's file: what it is, how much water month by month, with which margins
// it fits together, what it should read, and the cautions. Two to four pages of A4, or one web page.
//
//     SiteReport report = site_report(scenario, {});
//     std::string pdf = report_pdf(report);
//
// Every figure is computed: water by the day room, margins by day/fit.hpp, readings by the sheet.
#pragma once

#include <array>
#include <optional>
#include <string>
#include <vector>

#include "day/fit.hpp"
#include "teach/sheet.hpp"

namespace sunshaft::teach {

struct SiteReport {
    Sheet sheet;  // without what other readings mean: that is the sheet's own page
    std::vector<std::pair<std::string, std::string>> facts;  // "array", "2 strings of 10 modules, 4.84 kW ..."
    struct Month {
        double least_m3 = 0.0, most_m3 = 0.0;  // a day, on the mean: under haze and under a clear sky; alike by weather
        double days = 0.0;                     // with data
    };
    std::array<Month, 12> months{};
    std::string weather;       // in words, what the months are computed for
    double need_m3_day = 0.0;  // NaN: none given
    double least_year_m3 = 0.0, most_year_m3 = 0.0;
    day::Fit fit;
    std::optional<day::Suggestion> suggestion;
};

// weather: of a year or more; empty: cloudless days, and the same under haze. Throws site::BadInput as day::check()
// does.
SiteReport site_report(const Scenario& scenario, const day::Weather& weather);

std::string report_pdf(const SiteReport& report, std::vector<report::Paper::Placed>* placed = nullptr);
std::string report_html(const SiteReport& report);

}  // namespace sunshaft::teach
