// When can it be tested: at which hours of a day each field test of a site can be done and means something.
//
//   dead, covered      at any hour
//   lit, shorted       while the modules are in light; a good voltage in weak light is no proof of a good array, so
//                      from 200 W/m2 on (common practice, no source; who compares currents wants more)
//   running, shut      while the drive runs and what is clamped is a quarter of the motor's rated current or more:
//                      below, a clamp's own error hides what is looked for (common practice, no source); bucket, gauge
//                      and ears: while water comes
//                      what eyes and noses find without that (modules, lamps, display; tank, smell): by daylight, or
//                      at any hour
//   freed              in light, as the drive stands: it is to start
//   bled, warm         after it has run so
#pragma once

#include <string>
#include <vector>

#include "day/run.hpp"

namespace sunshaft::day {

inline constexpr double bright = 200.0;  // W/m2: see above

struct Open {
    double from = 0.0, to = 0.0;  // s since 1970, UTC
};
// What of a day a test waits for.
enum class Needs { nothing, daylight, light, water, current, has_run };
struct When {
    std::string id, name, why;
    Needs needs = Needs::nothing;
    std::vector<Open> open;      // none: not on this day
    double least_sun = missing;  // W/m2, of what needs the pump to run: the weakest light in which it did that day
    bool always() const { return needs == Needs::nothing; }
};
// A result with marks.
std::vector<When> when(const Scenario& scenario, const site::Works& works, const Result& result);

}  // namespace sunshaft::day
