#include "day/weather.hpp"

#include <fmt/format.h>

#include <algorithm>
#include <array>
#include <charconv>
#include <cmath>
#include <map>
#include <numbers>
#include <optional>
#include <sstream>
#include <stdexcept>

#include "files/input.hpp"
#include "files/text.hpp"
#include "site/keys.hpp"
#include "site/load.hpp"
#include "site/works.hpp"
#include "text/figure.hpp"
#include "text/language.hpp"
#include "text/words.hpp"

namespace sunshaft::day {
namespace {

using text::say, text::tr;

using solar::degree;
constexpr double day_s = 86400.0;
constexpr double epoch_jd = 2440587.5;  // Julian day of 1970 begins

double pressure_at(double metres) { return 101325 * std::pow(1 - 2.25577e-5 * metres, 5.25588); }  // ISO 2533

// Share of the light on the ground that comes from the sky. D. G. Erbs, S. A. Klein, J. A. Duffie (1982).
double diffuse_share(double clearness) {
    const double k = std::clamp(clearness, 0.0, 1.0);
    if (k <= 0.22) return 1 - 0.09 * k;
    if (k <= 0.80) return 0.9511 + k * (-0.1604 + k * (4.388 + k * (-16.638 + k * 12.336)));
    return 0.165;
}

// A cell may stand in quotes; a comma within them is none that parts.
std::vector<std::string> cells(const std::string& line) {
    std::vector<std::string> list;
    std::string cell;
    bool quoted = false;
    for (const char c : line + ",") {
        if (c == '"') {
            quoted = !quoted;
        } else if (c == ',' && !quoted) {
            const auto first = cell.find_first_not_of(" \t"), last = cell.find_last_not_of(" \t");
            list.push_back(first == std::string::npos ? "" : cell.substr(first, last - first + 1));
            cell.clear();
        } else {
            cell += c;
        }
    }
    return list;
}

template <class T>
std::optional<T> whole(const std::string& text) {
    T value{};
    const auto [end, error] = std::from_chars(text.data(), text.data() + text.size(), value);
    if (error != std::errc() || end != text.data() + text.size() || text.empty()) return {};
    return value;
}

enum Column { time_utc, time_local, month, day_, hour_end, ghi, dni, dhi, poa, air, wind, columns };
constexpr std::array<const char*, columns> names = {"time_utc", "time_local", "month",    "day",
                                                    "hour_end", "ghi_W_m2",   "dni_W_m2", "dhi_W_m2",
                                                    "poa_W_m2", "air_degC",   "wind_m_s"};
struct Bounds {
    double low, high;
};
constexpr std::array<Bounds, columns> bounds = {{{0, 0},
                                                 {0, 0},
                                                 {1, 12},
                                                 {1, 31},
                                                 {0, 24},
                                                 {-50, 2000},
                                                 {-50, 1500},
                                                 {-50, 1200},
                                                 {-50, 2000},
                                                 {-60, 70},
                                                 {0, 100}}};

// "2016-01-01T13:05", seconds may follow.
std::optional<double> stamp(const std::string& text) {
    if (text.size() < 16 || text[4] != '-' || text[7] != '-' || (text[10] != 'T' && text[10] != ' ') || text[13] != ':')
        return {};
    const auto year = whole<int>(text.substr(0, 4)), mon = whole<int>(text.substr(5, 2)),
               dom = whole<int>(text.substr(8, 2)), hour = whole<int>(text.substr(11, 2)),
               minute = whole<int>(text.substr(14, 2));
    int second = 0;
    if (text.size() > 16) {
        if (text.size() != 19 || text[16] != ':' || !whole<int>(text.substr(17, 2))) return {};
        second = *whole<int>(text.substr(17, 2));
    }
    if (!year || !mon || !dom || !hour || !minute || *hour > 24 || *minute > 59 || second > 59) return {};
    try {
        return seconds_of({*year, *mon, *dom}) + 3600.0 * *hour + 60.0 * *minute + second;
    } catch (const std::invalid_argument&) {
        return {};
    }
}

struct Table {
    std::string file;
    std::array<int, columns> at{};
    bool has(Column c) const { return at[c] >= 0; }
};

[[noreturn]] void bad(const Table& t, std::size_t line, const std::string& what) {
    throw site::BadInput(fmt::format("{}:{}: {}", t.file, line, what));
}

Table head(const std::string& file, std::size_t line, const std::vector<std::string>& found, Weather& w) {
    Table t{file, {}};
    t.at.fill(-1);
    for (std::size_t n = 0; n < found.size(); ++n) {
        const auto known = std::find(names.begin(), names.end(), found[n]);
        if (known == names.end()) {
            w.notes.push_back(say("column {} is not used", site::on_one_line(found[n], 40)));
            continue;
        }
        int& where = t.at[static_cast<std::size_t>(known - names.begin())];
        if (where >= 0) bad(t, line, say("{}: is there twice, expected once", found[n]));
        where = static_cast<int>(n);
    }
    const bool date = t.has(month) && t.has(day_) && t.has(hour_end);
    if (found.size() == 1 && found.front().find_first_of(";\t") != std::string::npos)
        bad(t, line, say("header: is {}, expected commas between the columns", site::on_one_line(found.front(), 60)));
    if (t.has(time_utc) + t.has(time_local) + date != 1)
        bad(t, line,
            say("header: is {}, expected one of time_utc, time_local, or month, day and hour_end",
                site::on_one_line(text::spaced(found), 60)));
    if (!t.has(poa) && !t.has(ghi) && !(t.has(dni) && t.has(dhi)))
        bad(t, line,
            say("header: is {}, no light, expected poa_W_m2, ghi_W_m2, or dni_W_m2 and dhi_W_m2",
                site::on_one_line(text::spaced(found), 60)));
    return t;
}

double field(const Table& t, std::size_t line, const std::vector<std::string>& row, Column c) {
    if (!t.has(c) || static_cast<std::size_t>(t.at[c]) >= row.size()) return missing;
    const std::string& text = row[static_cast<std::size_t>(t.at[c])];
    if (text.empty()) return missing;
    const auto value = whole<double>(text);
    if (!value || !(*value >= bounds[c].low && *value <= bounds[c].high))
        bad(t, line,
            say("{}: is {}, expected {} to {} or nothing", names[c], site::on_one_line(text, 40), bounds[c].low,
                bounds[c].high));
    return *value;
}

double time_of(const Table& t, std::size_t line, const std::vector<std::string>& row, double offset_s) {
    if (!t.has(time_utc) && !t.has(time_local)) {
        const double m = field(t, line, row, month), d = field(t, line, row, day_), h = field(t, line, row, hour_end);
        if (std::isnan(m) || std::isnan(d) || std::isnan(h)) bad(t, line, tr("month, day, hour_end: one is missing"));
        try {  // a year without a leap day
            return seconds_of({2026, static_cast<int>(m), static_cast<int>(d)}) + 3600 * h - offset_s;
        } catch (const std::invalid_argument&) {
            bad(t, line, tr("day: the month has not so many"));
        }
    }
    const Column c = t.has(time_utc) ? time_utc : time_local;
    const std::string text =
        static_cast<std::size_t>(t.at[c]) < row.size() ? row[static_cast<std::size_t>(t.at[c])] : "";
    const bool zulu = !text.empty() && text.back() == 'Z';
    const auto at = stamp(zulu ? text.substr(0, text.size() - 1) : text);
    if (!at || zulu != (c == time_utc))
        bad(t, line,
            say("{}: is {}, expected a time as 2016-01-01T13:05{}", names[c], site::on_one_line(text, 40),
                c == time_utc ? "Z" : ""));
    return c == time_utc ? *at : *at - offset_s;
}

// What is known of the light: the most of it that was measured.
double strongest(const Sky& sky) {
    double most = 0.0;
    for (const double x : {sky.ghi, sky.poa, sky.dni, sky.dhi})
        if (!std::isnan(x)) most = std::max(most, x);
    return most;
}

// Weather of another place or clock shows: light while the sun is down here, days of none while it is up.
void doubt(Weather& w, const Scenario& s) {
    // Twilight gives less than 20 W/m2, the darkest cloud leaves more than 3 % of what falls outside the atmosphere
    // (common practice, no source).
    constexpr double bright = 50.0, dark_share = 0.03, worth_s = 1800.0, high_deg = 10.0;
    const double offset_s = 3600 * utc_offset_h(s);
    double night_s = 0.0, most = 0.0;
    struct Up {
        double seconds = 0.0, light = 0.0, outside = 0.0;
    };
    std::map<long, Up> days;
    for (const Sky& sky : w.rows) {
        if (sky.gap()) continue;
        const double middle = 0.5 * (sky.begin + sky.end), seconds = sky.end - sky.begin, light = strongest(sky);
        const double height =
            90.0 - solar::sun_position(middle / day_s + epoch_jd, s.site.latitude_deg, s.site.longitude_deg).zenith_deg;
        // Down for all of the row: the sun moves a degree in four minutes at most.
        if (height < -1.0 - 0.5 * seconds / 240.0 && light > bright) night_s += seconds, most = std::max(most, light);
        if (height < high_deg) continue;
        Up& up = days[static_cast<long>(std::floor((middle + offset_s) / day_s))];
        up.seconds += seconds, up.light += light * seconds;
        up.outside += 1367 * std::sin(height * degree) * seconds;
    }
    if (night_s >= worth_s)
        w.notes.push_back(say("up to {} while the sun is down here, {} in all. Check place, column of time and zone.",
                              text::quantity(most, "W/m2", 3), text::quantity(night_s / 3600, "h", 2)));
    const auto dark = std::count_if(days.begin(), days.end(), [&](const auto& d) {
        return d.second.seconds > 3 * 3600.0 && d.second.light < dark_share * d.second.outside;
    });
    if (dark >= 2 || (dark == 1 && days.size() == 1))
        w.notes.push_back(
            say("{} days with next to no light while the sun is up here. Check place, zone and sensor.", dark));
}

}  // namespace

bool Sky::gap() const { return std::isnan(poa) && std::isnan(ghi) && (std::isnan(dni) || std::isnan(dhi)); }

double seconds_of(const Date& d) { return (solar::julian_day(d.year, d.month, d.day, 0.0) - epoch_jd) * day_s; }

Date date_of(double seconds) {
    // J. Meeus, "Astronomical Algorithms", 2nd ed. (1998), ch. 7.
    const double z = std::floor(std::floor(seconds / day_s) + epoch_jd + 0.5),
                 alpha = std::floor((z - 1867216.25) / 36524.25);
    const double a = z + 1 + alpha - std::floor(alpha / 4), b = a + 1524, c = std::floor((b - 122.1) / 365.25);
    const double d = std::floor(365.25 * c), e = std::floor((b - d) / 30.6001);
    const int mon = static_cast<int>(e < 14 ? e - 1 : e - 13);
    return {static_cast<int>(mon > 2 ? c - 4716 : c - 4715), mon, static_cast<int>(b - d - std::floor(30.6001 * e))};
}

double utc_offset_h(const Scenario& s) {
    return std::isnan(s.site.utc_offset_h) ? std::round(s.site.longitude_deg / 15) : s.site.utc_offset_h;
}

namespace {

struct Measured {
    double end;  // s
    Sky sky;
};

Sky sky_of(const Table& table, std::size_t line, const std::vector<std::string>& row) {
    Sky sky;
    sky.ghi = field(table, line, row, ghi), sky.dni = field(table, line, row, dni);
    sky.dhi = field(table, line, row, dhi), sky.poa = field(table, line, row, poa);
    sky.air = field(table, line, row, air), sky.wind = field(table, line, row, wind);
    for (double* x : {&sky.ghi, &sky.dni, &sky.dhi, &sky.poa}) *x = std::max(*x, 0.0);  // NaN stays: it is first
    return sky;
}

// All rows of the file; line: how many it has. Columns that are not used are noted.
std::vector<Measured> rows_of(const std::string& text, const std::string& file, double offset_s, Weather& w,
                              std::size_t& line) {
    std::istringstream in(text);
    std::optional<Table> table;
    std::vector<Measured> rows;
    for (std::string l; std::getline(in, l);) {
        ++line;
        if (!l.empty() && l.back() == '\r') l.pop_back();
        if (line == 1 && l.starts_with("\xEF\xBB\xBF")) l.erase(0, 3);  // a byte-order mark
        if (l.find_first_not_of(" \t,") == std::string::npos || l[0] == '#') continue;
        const std::vector<std::string> row = cells(l);
        if (!table) {
            table = head(file, line, row, w);
            continue;
        }
        const Sky sky = sky_of(*table, line, row);
        const double end = time_of(*table, line, row, offset_s);
        if (!rows.empty() && end <= rows.back().end)
            bad(*table, line,
                table->has(time_local) ? tr("time_local: not after the row before it, expected rising times; where "
                                            "clocks were put back, time_utc")
                                       : tr("time: not after the row before it"));
        rows.push_back({end, sky});
    }
    if (!table) throw site::BadInput(say("{}:1: header: no line of column names", file));
    if (table->has(time_local))
        w.notes.push_back(say("time_local is read as UTC{:+g} h all the year, without summer time", offset_s / 3600));
    if (rows.size() < 2) throw site::BadInput(say("{}:{}: rows: expected at least two", file, line));
    return rows;
}

// The step most rows keep, s.
double usual_step(const std::vector<Measured>& rows) {
    std::vector<double> steps;
    for (std::size_t n = 1; n < rows.size(); ++n) steps.push_back(rows[n].end - rows[n - 1].end);
    std::nth_element(steps.begin(), steps.begin() + static_cast<std::ptrdiff_t>(steps.size() / 2), steps.end());
    return steps[steps.size() / 2];
}

// One after the other without a break: where rows are missing, a gap.
std::vector<Sky> unbroken(const std::vector<Measured>& rows, double step) {
    std::vector<Sky> list;
    for (const Measured& r : rows) {
        Sky sky = r.sky;
        sky.begin = r.end - step, sky.end = r.end;
        if (!list.empty() && sky.begin > list.back().end + 1e-3) {
            Sky hole;
            hole.begin = list.back().end, hole.end = sky.begin;
            list.push_back(hole);
        } else if (!list.empty()) {
            sky.begin = list.back().end;
        }
        list.push_back(sky);
    }
    return list;
}

void count_gaps(Weather& w) {
    bool before = false;
    for (const Sky& sky : w.rows) {
        const bool gap = sky.gap();
        if (gap) w.gap_s += sky.end - sky.begin, w.gaps += !before;
        before = gap;
    }
}

// What is taken in place of what the file has not got.
void note_what_is_missing(Weather& w, const Scenario& scenario) {
    bool no_air = false, split = false;
    for (const Sky& sky : w.rows) {
        if (sky.gap()) continue;
        no_air = no_air || std::isnan(sky.air);
        split = split || (std::isnan(sky.poa) && std::isnan(sky.dni) && std::isnan(sky.dhi));
    }
    if (no_air)
        w.notes.push_back(say("air temperature missing: {} of the scenario taken there",
                              text::quantity(scenario.sun.air_temperature_degC, "degC")));
    if (split)
        w.notes.push_back(tr("light on the ground alone: split into beam and sky by Erbs, Klein and Duffie (1982)"));
}

}  // namespace

Weather parse_weather(const std::string& text, const std::string& file, const Scenario& scenario) {
    Weather w;
    w.source = file;
    std::size_t line = 0;
    const std::vector<Measured> rows = rows_of(text, file, 3600 * utc_offset_h(scenario), w, line);
    const double step = usual_step(rows);
    if (step > 3 * 3600.0)
        throw site::BadInput(say("{}:{}: time: rows lie {} apart, expected 3 h at most", file, line,
                                 text::quantity(step / 3600, "h", 3)));
    w.rows = unbroken(rows, step);
    count_gaps(w);
    if (w.gap_s >= w.seconds() - 1e-3)
        throw site::BadInput(say("{}:{}: light: no row has any, expected a figure in some of them", file, line));
    doubt(w, scenario);
    note_what_is_missing(w, scenario);
    return w;
}

Weather read_weather(const std::string& file, const Scenario& scenario) {
    try {
        return parse_weather(files::read_whole(file, files::most_waves / 8), files::one_line(file), scenario);
    } catch (const files::Unreadable& e) {
        throw site::BadInput(say("{}:0: file: {}, expected weather as CSV", files::one_line(file), e.what()));
    }
}

std::string computed_words(const std::string& sky, const Date& from, int days) {
    return days == 1 ? fmt::format("{}, {}", sky, text_of(from)) : say("{} every day", sky);
}

Weather clear_sky(const Scenario& s, const Date& from, int days, double step_s) {
    Weather w;
    w.source = computed_words(tr("cloudless sky"), from, days);
    w.from = from, w.days = days;
    const double offset_s = 3600 * utc_offset_h(s), begin = seconds_of(from) - offset_s;
    const auto count = static_cast<long>(days * day_s / step_s);
    solar::ClearAir clear;
    clear.pressure_Pa = pressure_at(s.site.elevation_m);
    for (long n = 0; n < count; ++n) {
        Sky sky;
        sky.begin = begin + step_s * static_cast<double>(n), sky.end = sky.begin + step_s;
        const double middle = sky.begin + 0.5 * step_s;
        const Date today = date_of(middle);
        const solar::SunPosition sun =
            solar::sun_position(middle / day_s + epoch_jd, s.site.latitude_deg, s.site.longitude_deg,
                                {clear.pressure_Pa, s.sun.air_temperature_degC});
        const solar::Irradiance light = solar::bird_clear_sky(
            sun.zenith_deg, solar::extraterrestrial_normal(solar::day_of_year(today.year, today.month, today.day)),
            clear);
        sky.ghi = light.global_horizontal, sky.dni = light.direct_normal, sky.dhi = light.diffuse_horizontal;
        const double hour = std::fmod(middle + offset_s, day_s) / 3600;
        sky.air = s.sun.air_temperature_degC - 6 * (1 - std::cos((hour - 15) * std::numbers::pi / 12));
        w.rows.push_back(sky);
    }
    return w;
}

Array::Array(const Scenario& s)
    : latitude_(s.site.latitude_deg),
      longitude_(s.site.longitude_deg),
      albedo_(s.array.ground_albedo),
      air_degC_(s.sun.air_temperature_degC),
      noct_(s.array.module.empty() ? s.array.module_noct_degC : 0.0),
      air_{pressure_at(s.site.elevation_m), s.sun.air_temperature_degC},
      offset_s_(3600 * utc_offset_h(s)) {
    fixed_.tilt_deg = std::isnan(s.array.tilt_deg) ? std::min(std::abs(latitude_), 90.0) : s.array.tilt_deg;
    fixed_.azimuth_deg = std::isnan(s.array.azimuth_deg) ? (latitude_ < 0 ? 0.0 : 180.0) : s.array.azimuth_deg;
    mount_ = solar::parse_mount(s.array.mount);
    transposition_ = solar::parse_transposition(s.array.transposition);
    if (!s.array.module.empty()) {
        const site::Works works = site::set_up(s);
        noct_ = works.array.strings.front().modules.front().data.noct_degC;
    }
    try {
        horizon_ = solar::Horizon(s.array.horizon);
    } catch (const std::invalid_argument& e) {
        throw site::bad_key(s, "array.horizon", say("{}, expected azimuth:height pairs in deg", e.what()));
    }
}

std::string Array::lies() const {
    if (mount_.still()) return text::say("tilted {:.0f} deg, facing {:.0f} deg", fixed_.tilt_deg, fixed_.azimuth_deg);
    const std::string facing = mount_.tracks ? "" : text::say(", facing {:.0f} deg", fixed_.azimuth_deg);
    return solar::words_of(mount_) + facing;
}

Moment Array::moment(const Sky& sky) const {
    Moment m;
    m.begin = sky.begin, m.end = sky.end;
    m.air_degC = m.cell_degC = std::isnan(sky.air) ? air_degC_ : sky.air;
    m.gap = sky.gap();
    if (m.gap) return m;
    if (!(sky.poa > 0.0) && !(sky.ghi > 0.0) && !(sky.dhi > 0.0)) return m;  // night
    const double middle = 0.5 * (sky.begin + sky.end);
    const solar::SunPosition sun = solar::sun_position(middle / day_s + epoch_jd, latitude_, longitude_, air_);
    const solar::Plane plane = mount_.still() ? fixed_ : mount_.plane(fixed_, sun, date_of(middle + offset_s_).month);
    if (std::isnan(sky.poa)) {
        const double cos = std::cos(sun.zenith_deg * degree);
        const Date today = date_of(middle);
        const double outside = solar::extraterrestrial_normal(solar::day_of_year(today.year, today.month, today.day));
        solar::Irradiance light{sky.dni, sky.dhi, sky.ghi};
        if (std::isnan(light.diffuse_horizontal) && std::isnan(light.direct_normal))
            light.diffuse_horizontal =
                light.global_horizontal * (cos > 0.02 ? diffuse_share(light.global_horizontal / (outside * cos)) : 1.0);
        if (std::isnan(light.diffuse_horizontal))
            light.diffuse_horizontal =
                std::max(0.0, light.global_horizontal - light.direct_normal * std::max(cos, 0.0));
        if (std::isnan(light.direct_normal))
            light.direct_normal =
                cos > 0.02 ? std::clamp((light.global_horizontal - light.diffuse_horizontal) / cos, 0.0, outside) : 0.0;
        if (std::isnan(light.global_horizontal))
            light.global_horizontal = light.diffuse_horizontal + light.direct_normal * std::max(cos, 0.0);
        if (!horizon_.flat() && horizon_.hides(sun)) light.direct_normal = 0.0;
        if (sun.zenith_deg >= 90) light.direct_normal = 0.0;
        const solar::PlaneIrradiance on = solar::transposed(transposition_, light, sun, outside, plane, albedo_);
        m.incidence_deg = on.incidence_deg;
        m.plane = on.total();
        // Sky and ground as seen from the angles that stand for them: M. J. Brandemuehl, W. A. Beckman, Solar Energy 24
        // (1980); J. A. Duffie, W. A. Beckman, "Solar Engineering of Thermal Processes", eq. 5.4.1 and 5.4.2.
        const double tilt = plane.tilt_deg;
        m.cells = on.beam * solar::incidence_modifier(on.incidence_deg) +
                  on.sky * solar::incidence_modifier(59.7 - 0.1388 * tilt + 0.001497 * tilt * tilt) +
                  on.ground * solar::incidence_modifier(90 - 0.5788 * tilt + 0.002693 * tilt * tilt);
    } else {
        // An in-plane meter of glass over silicon has lost it already.
        m.plane = m.cells = sky.poa;
        m.incidence_deg = solar::plane_of_array({}, sun, plane).incidence_deg;
    }
    // NOCT is told at 1 m/s; Faiman's law says how much more wind cools.
    m.cell_degC = solar::noct_temperature(m.air_degC, m.plane, noct_);
    if (!std::isnan(sky.wind)) {
        const double at_one = solar::faiman_temperature(0.0, m.plane, 1.0);
        if (at_one > 0.0)
            m.cell_degC =
                m.air_degC + (m.cell_degC - m.air_degC) * solar::faiman_temperature(0.0, m.plane, sky.wind) / at_one;
    }
    return m;
}

std::vector<Moment> moments(const Weather& weather, const Array& array, double longest) {
    std::vector<Moment> list;
    for (const Sky& row : weather.rows) {
        const double width = row.end - row.begin;
        const int parts = std::max(1, static_cast<int>(std::ceil(width / longest - 1e-9)));
        for (int n = 0; n < parts; ++n) {
            Sky part = row;
            part.begin = row.begin + width * n / parts;
            part.end = row.begin + width * (n + 1) / parts;
            list.push_back(array.moment(part));
        }
    }
    return list;
}

}  // namespace sunshaft::day
