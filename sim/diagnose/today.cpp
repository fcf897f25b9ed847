#include "diagnose/today.hpp"

#include <fmt/format.h>

#include <algorithm>
#include <cmath>

#include "day/skies.hpp"
#include "day/when.hpp"
#include "site/keys.hpp"
#include "text/figure.hpp"
#include "text/language.hpp"
#include "text/words.hpp"

namespace sunshaft::diagnose {
namespace {

using text::say, text::tr;

constexpr double minutes_10 = 600.0;

struct Hour {
    day::Date date;
    double hour;
};

// "2026-11-28 07:05", or with a T and seconds. A clock without a date tells no sun.
std::optional<Hour> hour_in(const std::string& at) {
    if (at.size() < 16 || (at[10] != ' ' && at[10] != 'T') || at[13] != ':') return {};
    for (const std::size_t n : {11, 12, 14, 15})
        if (at[n] < '0' || at[n] > '9') return {};
    const double hour = std::stoi(at.substr(11, 2)) + std::stoi(at.substr(14, 2)) / 60.0;
    if (hour >= 24.0) return {};
    try {
        return Hour{day::parse_date(at.substr(0, 10)), hour};
    } catch (const std::invalid_argument&) {
        return {};
    }
}
std::optional<Hour> hour_of(const Case& c) {
    if (!c.sky_at.empty()) return hour_in(c.sky_at);
    for (auto s = c.seen.rbegin(); s != c.seen.rend(); ++s)
        if (const auto hour = hour_in(s->at)) return hour;
    return {};
}

// What is named for the sky; where clouds pass, what is between them.
const day::NamedSky* sky_named(const Case& c) {
    const day::Skies& all = day::shipped_skies();
    const std::string& id = all.source(c.sky_source).sky;
    return id.empty() ? nullptr : &all.sky(id);
}

// No sun gives so much more than a cloudless sky's, at clouds' edges or by what a clock is off.
bool too_bright(const Case& c, double cloudless) { return c.irradiance > 1.5 * cloudless + 100.0; }

double cloudless_at(const Scenario& s, const Hour& h) {
    return day::moment_at(s, h.date, h.hour, day::shipped_skies().skies.front()).plane;
}

const char* what_waits(day::Needs needs) {
    switch (needs) {
        case day::Needs::light: return text::id("Volts and currents of the array");
        case day::Needs::water: return text::id("Water, pressure and sounds");
        case day::Needs::current: return text::id("Clamps and meters while the pump runs");
        case day::Needs::has_run: return text::id("What is read after a run");
        case day::Needs::daylight: return text::id("What is looked at by daylight");
        case day::Needs::nothing: break;
    }
    return "";
}

void open(Opening& o, const std::vector<day::Open>& stretches, double midnight, double now) {
    for (const day::Open& s : stretches) {
        // What holds on the mean of ten minutes holds from their middle on. To ten minutes, on the safe side.
        const double from = (s.from + 0.5 * minutes_10 - midnight) / 3600, to = (s.to - midnight) / 3600;
        if (to <= now) continue;
        o.now = from <= now;
        o.from_h = std::ceil(6 * from - 1e-6) / 6, o.to_h = std::floor(6 * to + 1e-6) / 6;
        return;
    }
}

}  // namespace

const Opening* Today::of(const std::string& test) const {
    for (const Opening& o : openings)
        if (std::find(o.tests.begin(), o.tests.end(), test) != o.tests.end()) return &o;
    return nullptr;
}

std::optional<Today> today_of(const Case& c, const Scenario& s) {
    const auto at = hour_of(c);
    if (!at || s.supply.kind != "array") return {};
    try {
        day::check(s);
        const double cloudless = cloudless_at(s, *at);
        if (too_bright(c, cloudless)) return {};
        Today today{day::text_of(at->date),
                    at->hour,
                    cloudless,
                    tr("The hours below are those of a cloudless sky and a pump with nothing wrong."),
                    {}};
        day::Weather weather = day::clear_sky(s, at->date, 1, minutes_10);
        const day::NamedSky* named = sky_named(c);
        if (named && named->passes()) {
            today.sky = tr("The hours below hold between clouds, for a pump with nothing wrong.");
        } else if (named) {
            weather = day::under(*named, std::move(weather));
            if (named->beam < 1.0)
                today.sky = say("The hours below hold under such a sky all day: {}. The pump has nothing wrong.",
                                text::lower(tr(named->title)));
            today.sun_W_m2 = day::moment_at(s, at->date, at->hour, *named).plane;
        } else if (constexpr double well_up = 150.0; std::isfinite(c.irradiance) && cloudless >= well_up) {
            const double share = c.irradiance / cloudless;
            for (day::Sky& row : weather.rows) row.ghi *= share, row.dni *= share, row.dhi *= share;
            today.sky = tr("The hours below hold while the sky stays as it is, for a pump with nothing wrong.");
        }
        if (std::isfinite(c.irradiance)) today.sun_W_m2 = c.irradiance;
        day::Averager averager(s, {});
        day::Options options;
        options.longest_step = minutes_10, options.marks = true;
        const day::Result run = day::run(averager, day::moments(weather, day::Array(s), minutes_10), options);
        const double midnight = day::seconds_of(at->date) - 3600 * day::utc_offset_h(s);
        for (const day::When& w : day::when(s, averager.works(), run)) {
            if (w.always()) continue;
            Opening o{what_waits(w.needs), {w.id}};
            const auto same = std::find_if(today.openings.begin(), today.openings.end(),
                                           [&](const Opening& x) { return x.what == o.what; });
            if (same != today.openings.end()) {
                same->tests.push_back(w.id);
                continue;
            }
            open(o, w.open, midnight, at->hour);
            o.array = w.needs == day::Needs::light;
            o.from_W_m2 = o.array ? day::bright : w.least_sun;
            today.openings.push_back(std::move(o));
        }
        return today;
    } catch (const site::BadInput&) {  // no day here
        return {};
    }
}

Case with_its_light(Case c) {
    const auto at = hour_in(c.sky_at);
    const day::NamedSky* named = sky_named(c);
    if (std::isfinite(c.irradiance) || !at || !named) return c;
    const Scenario s = site_of(c);
    if (s.supply.kind != "array") return c;
    const day::Moment m = day::moment_at(s, at->date, at->hour, *named);
    c.irradiance = std::round(m.cells);
    if (!std::isfinite(c.module_degC)) c.module_degC = std::round(m.cell_degC);
    return c;
}

bool hour_amiss(const Case& c, const Scenario& s) {
    const auto at = hour_in(c.sky_at);
    return at && std::isfinite(c.irradiance) && s.supply.kind == "array" && too_bright(c, cloudless_at(s, *at));
}

std::string clock_of(double hour) {
    const auto minute = static_cast<int>(std::lround(hour * 60));
    return fmt::format("{:02d}:{:02d}", minute / 60, minute % 60);
}

std::vector<std::string> words(const Today& today) {
    constexpr double soon_h = 2.0;
    const auto settled = [&](const Opening& o) { return o.now && o.to_h - today.hour > soon_h; };
    if (std::all_of(today.openings.begin(), today.openings.end(), settled)) return {};
    std::vector<std::string> out;
    out.push_back(say("It is {} on {}, with about {} in the module plane. Asking, looking and dead tests work now.",
                      clock_of(today.hour), today.date, text::quantity(today.sun_W_m2, "W/m2", 2)));
    out.push_back(today.sky);
    for (const Opening& o : today.openings) {
        if (settled(o)) continue;
        if (o.now) out.push_back(say("{}: now, until {}.", tr(o.what), clock_of(o.to_h)));
        else if (!std::isfinite(o.from_h)) out.push_back(say("{}: not again on this day.", tr(o.what)));
        else if (std::isfinite(o.from_W_m2))
            out.push_back(say("{}: from {} to {}, from {} in the module plane on.", tr(o.what), clock_of(o.from_h),
                              clock_of(o.to_h), text::quantity(o.from_W_m2, "W/m2", 2)));
        else out.push_back(say("{}: from {} to {}.", tr(o.what), clock_of(o.from_h), clock_of(o.to_h)));
        if (o.array && !o.now) out.push_back(tr("Good volts in weak light are no proof of a good array."));
    }
    return out;
}

}  // namespace sunshaft::diagnose
