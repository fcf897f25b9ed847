// Weather: what the sky sends, as a series of means; and what of it reaches the cells of one array.
//
// A file is CSV with '#' comments and one line of column names in any order:
//
//   time_utc       2016-01-01T13:05Z        the END of the step the row is the mean of, as stations write it;
//   time_local     2016-01-01T13:05         or by the clock of the site (site.utc_offset_h);
//   month, day, hour_end                    or of a typical year without a date: whole hours by the clock
//   ghi_W_m2       on the ground; dni_W_m2 to the sun; dhi_W_m2 from the sky: two of the three, or ghi alone (then
//                  split by D. G. Erbs, S. A. Klein, J. A. Duffie, Solar Energy 28 (1982) 293)
//   poa_W_m2       or in the plane of the array, as an in-plane meter reads it, instead of these
//   air_degC, wind_m_s                      may be left out
//
// An empty field is missing. A row without light, or a row that is not there, is a gap: it stays one, is counted and
// reported, and nothing is computed for it.
#pragma once

#include <limits>
#include <string>
#include <vector>

#include "site/scenario.hpp"
#include "solar/mount.hpp"
#include "solar/sky.hpp"

namespace sunshaft::day {

inline constexpr double missing = std::numeric_limits<double>::quiet_NaN();

// A day of the Gregorian calendar.
struct Date {
    int year = 2026, month = 6, day = 21;
    bool operator==(const Date&) const = default;
};
// "2026-06-21". Throws std::invalid_argument in words.
Date parse_date(const std::string& text);
std::string text_of(const Date& date);
const char* month_word(int month);  // 1: "Jan", in English
// Seconds since 1970 began, UTC, at midnight UTC of a date; and back.
double seconds_of(const Date& date);
Date date_of(double seconds);

// Means over [begin, end), seconds since 1970, UTC. W/m2, degC, m/s; NaN: missing.
struct Sky {
    double begin = 0.0, end = 0.0;
    double ghi = missing, dni = missing, dhi = missing, poa = missing, air = missing, wind = missing;
    bool gap() const;  // no light is known
};

struct Weather {
    std::string source;              // in words, for the head of what is printed
    std::vector<Sky> rows;           // rising in time, what is missing between them as rows that are gaps
    double gap_s = 0.0;              // of all rows
    long gaps = 0;                   // stretches of them
    std::vector<std::string> notes;  // what was not there and what is used instead
    Date from = {};                  // of a computed sky
    int days = 0;                    // of a computed sky; 0: measured
    double seconds() const { return rows.empty() ? 0.0 : rows.back().end - rows.front().begin; }
};

// Hours the clock of the site is ahead of UTC.
double utc_offset_h(const Scenario& scenario);

// Throws site::BadInput `file:line: column: what is wrong`.
Weather read_weather(const std::string& file, const Scenario& scenario);
Weather parse_weather(const std::string& text, const std::string& file, const Scenario& scenario);
// A cloudless day, or the days of a year, by the clock of the site: R. E. Bird's sky (solar/sun.hpp) at the site's
// height, the air warmest at 15 h and then as warm as the scenario says, 12 K cooler before sunrise (common
// practice, no source).
Weather clear_sky(const Scenario& scenario, const Date& from, int days, double step_s);
// The source of a computed sky: "haze, 2026-06-21", "haze every day".
std::string computed_words(const std::string& sky, const Date& from, int days);

// What reaches one array, over [begin, end).
struct Moment {
    double begin = 0.0, end = 0.0;
    double plane = 0.0;  // W/m2 in its plane, as a meter there reads
    double cells = 0.0;  // W/m2 that gets into the cells, less what slanting light loses in the glass
    double cell_degC = 25.0, air_degC = 25.0;
    double incidence_deg = 90.0;
    bool gap = false;
    double seconds() const { return end - begin; }
};

// How an array lies, or turns (solar/mount.hpp). Weather in its plane is of the plane there is.
class Array {
  public:
    // Throws site::BadInput for a horizon or a transposition that is none.
    explicit Array(const Scenario& scenario);
    Moment moment(const Sky& sky) const;  // the sun in its middle
    std::string lies() const;             // "tilted 34 deg, facing 180 deg"

  private:
    double latitude_, longitude_, albedo_, air_degC_, noct_;
    solar::Air air_;
    solar::Plane fixed_;
    solar::Mount mount_;
    solar::Transposition transposition_;
    double offset_s_;
    solar::Horizon horizon_;
};
// Rows of more than `longest` seconds in parts, each with its own sun; the sky's figures stay the row's.
std::vector<Moment> moments(const Weather& weather, const Array& array, double longest);

}  // namespace sunshaft::day
