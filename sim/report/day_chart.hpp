// A day on one page: sun, power, speed, flow, tank and lamps over the hours of the clock; and a ranking of what faults
// cost. SVG, PNG or PDF.
#pragma once

#include <string>
#include <vector>

#include "day/cost.hpp"
#include "day/run.hpp"

namespace sunshaft::report {

struct DayLine {
    std::string name;
    const day::Result* result;
};
// The first is drawn full, others beside it dashed. All over the same hours, with marks. offset_h: of the clock.
// Throws as write_plot() does.
void write_day_chart(const std::string& path, const std::string& title, const std::string& under, double offset_h,
                     const std::vector<DayLine>& lines, double tank_m3);
void write_cost_chart(const std::string& path, const std::string& title, const std::string& under,
                      const day::Costs& costs);

}  // namespace sunshaft::report
