// The day at the well as the window shows it: sun, power, flow and water of one day by the clock of the site, for this
// site and for its healthy twin, and the days of a year. Worked out by the day room (day/run.hpp) from the scenario's
// own parameters, with what the user has set, done and planted, all day long; immutable. Panels scale, project and
// colour these figures, nothing else.
#pragma once

#include <functional>
#include <memory>
#include <optional>
#include <string>
#include <vector>

#include "bench/bench.hpp"
#include "day/skies.hpp"
#include "model/day_wish.hpp"
#include "model/snapshot.hpp"

namespace sunshaft::view {

struct DayQuestion {
    Scenario scenario;   // as its file has it
    bench::Edits edits;  // sun and clock among what is set are left out: the day has its own
    DayWish wish;
    bool year = false;                                 // the days of the year are wanted too
    std::shared_ptr<const day::Weather> weather = {};  // for the measured sky; null: none was opened
};
// Two questions with the same key have the same answer.
std::string key_of(const DayQuestion& q, bool year);

// Of one site, minute by minute.
struct DayLine {
    std::vector<double> power_W, flow_m3_h, water_m3;  // the last: since midnight
    double dusk_m3 = 0.0;                              // of the whole day
    long starts = 0;
    double locked_h = 0.0;  // when the drive locked itself out,
    std::string locked;     // and why; empty: it did not
    std::string trouble;    // why there is none; empty: there is
};
struct YearDay {
    day::Date date;
    double site_m3 = 0.0, healthy_m3 = 0.0;
};
struct MonthWater {
    double site_m3 = 0.0, healthy_m3 = 0.0;
};

struct DayView {
    DayWish of;
    std::string words;                                          // "cloudless sky, 2026-06-21"
    std::vector<double> hour, sun_W_m2, module_degC, air_degC;  // of the clock, rising
    double dawn_h = 6.0, dusk_h = 18.0;  // of light worth the name; both round hours, the strip's ends
    double most_sun = 0.0, most_power = 0.0, most_flow = 0.0, most_water = 0.0;
    std::shared_ptr<const DayLine> site, healthy;  // the same where nothing is planted; null: not known yet
    bool faulty = false;                           // they differ
    bool hidden = false;                           // faults are: only what the site should do is here (seen.hpp)
    bool open = false;                             // still worked at
    double progress = 0.0;
    std::string missing;  // why there is nothing of this day though the site has days; empty: there is
    std::string trouble;  // why this site has no day: no sun to run on; empty: it has
    std::shared_ptr<const std::vector<YearDay>> year;  // null: not known
    std::vector<MonthWater> months;                    // of it
    double year_most_m3 = 0.0;
};

// Works it out. told(share done, what is known by now) may return false: nothing, and whatever it was is forgotten.
// `before` has the year of an earlier answer, taken over where that is the same.
std::optional<DayView> day_view(const DayQuestion& q, std::shared_ptr<const std::vector<YearDay>> year_before,
                                const std::function<bool(double)>& told);

// What stands at one hour.
struct DayMoment {
    double hour = 12.0;
    double sun_W_m2 = 0.0, module_degC = 25.0, air_degC = 25.0;
    struct One {
        double power_W = 0.0, flow_m3_h = 0.0, water_m3 = 0.0;
    };
    std::optional<One> site, healthy;
};
std::optional<DayMoment> moment_of(const DayView& view, double hour);

// Where the live run stands in the day: by its clock, and whether its sun, modules and air are that moment's.
struct DayNow {
    DayMoment at;
    bool taken = false;
    double live_W_m2 = 0.0;
};
std::optional<DayNow> now_of(const DayView& view, const Snapshot& s);

// Keys to be set for the live run to take the conditions of an hour.
std::vector<std::pair<std::string, std::string>> keys_at(const DayMoment& moment);

// "13:20"; "21 June 2026", "21 June".
std::string hour_text(double hour);
std::string date_text(const day::Date& date, bool with_year = true);
const char* month_name(int month);                    // 1 .. 12
day::Date next_day(const day::Date& date, int days);  // negative: before

}  // namespace sunshaft::view
