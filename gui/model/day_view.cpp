#include "model/day_view.hpp"

#include <fmt/format.h>

#include <algorithm>
#include <cmath>
#include <numeric>

#include "day/run.hpp"
#include "model/site_drawing.hpp"
#include "site/keys.hpp"
#include "text/figure.hpp"
#include "text/language.hpp"

namespace sunshaft::view {
namespace {

constexpr double minute_s = 60.0, year_step_s = 600.0;
constexpr double worth = 5.0;  // W/m2: less is night

bool of_the_clock(const std::string& assignment) { return assignment.starts_with("sun."); }

Scenario settled(const DayQuestion& q) {
    Scenario s = q.scenario;
    std::vector<std::string> sets;
    for (const std::string& one : q.edits.set)
        if (!of_the_clock(one)) sets.push_back(one);
    site::set_keys(s, sets);
    return s;
}

// That day's rows, by the clock of the site.
day::Weather of_day(const day::Weather& all, double midnight) {
    day::Weather w;
    w.source = all.source;
    for (const day::Sky& row : all.rows)
        if (row.begin > midnight - 1.0 && row.end < midnight + 86401.0) w.rows.push_back(row);
    return w;
}

// Minutes of a run, from marks of any length: a mark holds until the next one.
DayLine line_of(const day::Result& r, const std::vector<day::Moment>& moments, double midnight) {
    DayLine line;
    const std::size_t count = moments.size();
    line.power_W.assign(count, 0.0), line.flow_m3_h.assign(count, 0.0), line.water_m3.assign(count, 0.0);
    std::vector<double> held(count, 0.0), water(count, 0.0);
    std::size_t k = 0;
    for (std::size_t n = 0; n < r.marks.size(); ++n) {
        const day::Mark& m = r.marks[n];
        const double to = n + 1 < r.marks.size() ? r.marks[n + 1].t : moments.back().end;
        for (double at = m.t; at < to - 1e-6;) {
            while (k + 1 < count && moments[k].end <= at + 1e-6) ++k;
            const double until = k + 1 < count ? std::min(to, moments[k].end) : to;
            const double dt = std::max(until - at, 1e-3);
            held[k] += dt, line.power_W[k] += m.dc_W * dt, line.flow_m3_h[k] += 3600 * m.out * dt;
            water[k] += m.out * dt;
            at += dt;
        }
    }
    double sum = 0.0;
    for (k = 0; k < count; ++k) {
        if (held[k] > 0.0) line.power_W[k] /= held[k], line.flow_m3_h[k] /= held[k];
        line.water_m3[k] = sum += water[k];
    }
    line.dusk_m3 = r.all.water_m3;
    line.starts = r.all.starts;
    std::string last;
    for (const day::Event& e : r.events) {
        if (e.phase == drive::Phase::tripped) last = text::tr(drive::stop_words(e.cause));
        if (e.phase != drive::Phase::locked || !line.locked.empty()) continue;
        line.locked_h = (e.t - midnight) / 3600;
        line.locked = last.empty() ? text::tr("locked out") : text::say("locked out: {}", last);
    }
    return line;
}

template <class Run>
auto tried(const Run& run) -> decltype(run()) {
    try {
        return run();
    } catch (const day::Stopped&) {
        throw;
    } catch (const std::exception& e) {
        decltype(run()) none{};
        none.trouble = e.what();
        return none;
    }
}

struct DaysFound {
    std::vector<day::Day> list;
    std::string trouble;
};

// One question being worked out: the sky of its day, and of its year, over the site and over what it is in health.
class DayRun {
  public:
    DayRun(const DayQuestion& q, const std::function<bool(double)>& told, Scenario s)
        : q_(q),
          told_(told),
          s_(std::move(s)),
          measured_(q.wish.sky == measured_sky && q.weather),
          sky_(measured_ ? day::shipped_skies().skies.front() : day::shipped_skies().sky(q.wish.sky)),
          array_(s_),
          offset_s_(3600 * day::utc_offset_h(s_)),
          midnight_(day::seconds_of(q.wish.date)) {}

    day::Weather weather() const {
        return measured_ ? of_day(*q_.weather, midnight_ - offset_s_)
                         : day::under(sky_, day::clear_sky(s_, q_.wish.date, 1, minute_s));
    }

    void day_lines(DayView& v, const day::Weather& weather, double done) const {
        const auto moments = day::moments(weather, array_, minute_s);
        light(v, moments);
        const auto one = [&](const std::vector<site::Fault>& faults, double from, double to) {
            return std::make_shared<const DayLine>(
                tried([&] { return line_of(run(faults, moments, true, from, to), moments, midnight_ - offset_s_); }));
        };
        v.healthy = one({}, 0.0, 0.5 * done);
        v.site = v.faulty ? one(q_.edits.faults, 0.5 * done, done) : v.healthy;
        for (const auto* line : {v.site.get(), v.healthy.get()}) {
            for (const double w : line->power_W) v.most_power = std::max(v.most_power, w);
            for (const double f : line->flow_m3_h) v.most_flow = std::max(v.most_flow, f);
            v.most_water = std::max(v.most_water, line->dusk_m3);
        }
    }

    std::shared_ptr<const std::vector<YearDay>> year(bool faulty, double done) const {
        const day::Date first_day{q_.wish.date.year, 1, 1};
        const day::Weather whole =
            measured_ ? *q_.weather : day::under(sky_, day::clear_sky(s_, first_day, 365, year_step_s));
        const auto all = day::moments(whole, array_, year_step_s);
        const auto days = [&](const std::vector<site::Fault>& faults, double from, double to) {
            return tried([&] { return DaysFound{run(faults, all, false, from, to).days, ""}; });
        };
        const double middle = faulty ? 0.5 * (done + 1.0) : 1.0;
        const DaysFound healthy = days({}, done, middle);
        const DaysFound site = faulty ? days(q_.edits.faults, middle, 1.0) : healthy;
        auto list = std::make_shared<std::vector<YearDay>>();
        for (std::size_t n = 0; n < healthy.list.size(); ++n)
            list->push_back(
                {healthy.list[n].date, n < site.list.size() ? site.list[n].water_m3 : 0.0, healthy.list[n].water_m3});
        return list;
    }

  private:
    void light(DayView& v, const std::vector<day::Moment>& moments) const {
        double first = 24.0, last = 0.0;
        for (const day::Moment& m : moments) {
            const double hour = (0.5 * (m.begin + m.end) + offset_s_ - midnight_) / 3600;
            v.hour.push_back(hour);
            v.sun_W_m2.push_back(m.cells), v.module_degC.push_back(m.cell_degC), v.air_degC.push_back(m.air_degC);
            v.most_sun = std::max(v.most_sun, m.cells);
            if (m.cells > worth) first = std::min(first, hour), last = std::max(last, hour);
        }
        if (first < last) v.dawn_h = std::floor(first), v.dusk_h = std::ceil(last);
    }

    day::Result run(const std::vector<site::Fault>& faults, const std::vector<day::Moment>& over, bool marks,
                    double from, double to) const {
        day::Averager averager(s_, faults, q_.edits.acts);
        day::Options o;
        o.longest_step = marks ? minute_s : year_step_s;
        o.marks = marks;
        o.progress = [&](double share) { return told_(from + (to - from) * share); };
        if (!o.progress(0.0)) throw day::Stopped();
        return day::run(averager, over, o);
    }

    const DayQuestion& q_;
    const std::function<bool(double)>& told_;
    Scenario s_;
    bool measured_;
    const day::NamedSky& sky_;
    day::Array array_;
    double offset_s_, midnight_;
};

void months_of(DayView& v) {
    v.months.assign(12, {});
    if (!v.year) return;
    for (const YearDay& d : *v.year) {
        MonthWater& m = v.months[static_cast<std::size_t>(std::clamp(d.date.month, 1, 12) - 1)];
        m.site_m3 += d.site_m3, m.healthy_m3 += d.healthy_m3;
        v.year_most_m3 = std::max({v.year_most_m3, d.site_m3, d.healthy_m3});
    }
}

}  // namespace

std::string key_of(const DayQuestion& q, bool year) {
    std::string key = q.scenario.file + "\n" + q.wish.sky + "\n";
    if (q.wish.sky == measured_sky && q.weather) key += q.weather->source + "\n";
    if (!year) key += day::text_of(q.wish.date) + "\n";
    else key += fmt::format("{}\n", q.wish.date.year);
    for (const std::string& one : q.edits.set)
        if (!of_the_clock(one)) key += one + "\n";
    for (const site::Fault& f : q.edits.faults) key += fmt::format("{}@{}={}\n", f.kind, f.place, f.severity);
    for (const site::Act& a : q.edits.acts) key += fmt::format("do {}@{}\n", a.kind, a.place);
    return key;
}

std::optional<DayView> day_view(const DayQuestion& q, std::shared_ptr<const std::vector<YearDay>> year_before,
                                const std::function<bool(double)>& told) {
    DayView v;
    v.of = q.wish;
    v.faulty = !q.edits.faults.empty();
    v.progress = 1.0;
    try {
        Scenario s = settled(q);
        if (s.supply.kind != "array") {
            v.trouble = text::tr("A day needs a sun to run on, and this site has no array.");
            return v;
        }
        day::check(s);
        const DayRun work(q, told, std::move(s));
        const day::Weather weather = work.weather();
        v.words = weather.source;
        if (weather.rows.empty()) {
            v.missing = text::say("{} holds nothing of {}.", weather.source, date_text(q.wish.date));
            v.year = year_before;
            return v;
        }
        const bool wants_year = q.year && !year_before;
        const double day_done = wants_year ? 0.15 : 1.0;
        work.day_lines(v, weather, day_done);
        v.year = wants_year ? work.year(v.faulty, day_done) : std::move(year_before);
        months_of(v);
    } catch (const day::Stopped&) {
        return std::nullopt;
    } catch (const std::exception& e) {
        v.trouble = e.what();
    }
    return v;
}

std::optional<DayMoment> moment_of(const DayView& v, double hour) {
    if (v.hour.empty()) return {};
    const auto at = std::ranges::lower_bound(v.hour, hour - 1e-6);
    const auto n = std::min(v.hour.size() - 1, static_cast<std::size_t>(at - v.hour.begin()));
    DayMoment m;
    m.hour = hour;
    m.sun_W_m2 = v.sun_W_m2[n], m.module_degC = v.module_degC[n], m.air_degC = v.air_degC[n];
    const auto of = [n](const std::shared_ptr<const DayLine>& line) -> std::optional<DayMoment::One> {
        if (!line || line->power_W.size() <= n) return {};
        return DayMoment::One{line->power_W[n], line->flow_m3_h[n], line->water_m3[n]};
    };
    m.site = of(v.site), m.healthy = of(v.healthy);
    return m;
}

std::optional<DayNow> now_of(const DayView& v, const Snapshot& s) {
    const auto& sun = s.site->scenario.sun;
    auto at = moment_of(v, hours_of(sun.time_of_day));
    if (!at) return {};
    DayNow now{*at, false, sun.irradiance_W_m2};
    const auto near = [](double a, double b) { return std::abs(a - b) < 0.6; };
    now.taken = near(sun.irradiance_W_m2, at->sun_W_m2) && near(sun.air_temperature_degC, at->air_degC);
    return now;
}

std::vector<std::pair<std::string, std::string>> keys_at(const DayMoment& m) {
    return {{"sun.time_of_day", time_of_day(m.hour)},
            {"sun.irradiance_W_m2", fmt::format("{:.0f}", m.sun_W_m2)},
            {"sun.module_temperature_degC", fmt::format("{:.1f}", m.module_degC)},
            {"sun.air_temperature_degC", fmt::format("{:.1f}", m.air_degC)}};
}

std::string hour_text(double hour) {
    const int minute = static_cast<int>(std::lround(std::clamp(hour, 0.0, 23.99) * 60.0));
    return fmt::format("{:02d}:{:02d}", minute / 60, minute % 60);
}

const char* month_name(int month) {
    const char* const names[] = {text::tr("January"), text::tr("February"), text::tr("March"),
                                 text::tr("April"),   text::tr("May"),      text::tr("June"),
                                 text::tr("July"),    text::tr("August"),   text::tr("September"),
                                 text::tr("October"), text::tr("November"), text::tr("December")};
    return names[std::clamp(month, 1, 12) - 1];
}

std::string date_text(const day::Date& d, bool with_year) {
    const char* month = month_name(d.month);
    return with_year ? text::say("{} {} {}", d.day, month, d.year) : text::say("{} {}", d.day, month);
}

day::Date next_day(const day::Date& d, int days) { return day::date_of(day::seconds_of(d) + 86400.0 * (days + 0.5)); }

}  // namespace sunshaft::view
