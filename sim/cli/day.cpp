// sunshaft day: hours or a year at the well, and what faults cost in water.
#include <fmt/format.h>

#include <algorithm>
#include <cmath>
#include <filesystem>

#include "cli/verb.hpp"
#include "day/cost.hpp"
#include "day/run.hpp"
#include "day/skies.hpp"
#include "day/when.hpp"
#include "report/csv.hpp"
#include "report/day_chart.hpp"
#include "report/plot.hpp"
#include "site/keys.hpp"
#include "text/figure.hpp"
#include "text/language.hpp"
#include "text/words.hpp"

namespace sunshaft::cli {
namespace {

using nlohmann::json;
using text::say, text::tr;

struct DayOptions {
    SiteOptions site;
    std::vector<std::string> faults, compare;
    std::string date, weather, sky, mount, cost, out;
    bool year = false, tests = false, as_json = false;
};

constexpr double joule_per_kWh = 3.6e6;

std::string kWh(double joule) { return text::quantity(joule / joule_per_kWh, "kWh", 3); }
std::string m3(double x) { return text::quantity(x, "m3", 3); }
// The clock of the site: "11:05", with the date where there are several.
std::string clock(double t, double offset_h, bool dated) {
    const double local = t + 3600 * offset_h;
    const int minute = static_cast<int>(std::floor(std::fmod(local, 86400.0) / 60));
    const std::string hour = fmt::format("{:02d}:{:02d}", minute / 60, minute % 60);
    return dated ? day::text_of(day::date_of(local)) + " " + hour : hour;
}

struct Job {
    Scenario scenario;
    std::vector<site::Fault> faults, compare;
    day::Weather weather;
    std::vector<day::Moment> moments;
    double step = 60.0, offset_h = 0.0;
    bool many = false;  // days
};

std::vector<site::Fault> parsed(const std::vector<std::string>& texts, const site::Works& works) {
    std::vector<site::Fault> list;
    for (const std::string& text : texts) list.push_back(site::parse_fault(text, works));
    return list;
}

day::Date first_day(const DayOptions& o) {
    if (o.date.empty()) return o.year ? day::Date{2026, 1, 1} : day::Date{2026, 3, 21};
    try {
        return day::parse_date(o.date);
    } catch (const std::invalid_argument& e) {
        throw site::BadInput(fmt::format("--date: {}", e.what()));
    }
}

// What would go unheard beside something else, or fail once all is computed, is refused before the work.
void check_together(const DayOptions& o) {
    const std::string ending = std::filesystem::path(o.out).extension().string();
    const bool costs = !o.compare.empty() || !o.cost.empty();
    if (!o.cost.empty() && o.cost != "all")
        throw site::BadInput(say("--cost: is {}, expected all", site::on_one_line(o.cost, 40)));
    if (!o.cost.empty() && !o.compare.empty())
        throw site::BadInput(tr("--compare: every fault is in --cost all, expected one of the two"));
    if (costs && !o.faults.empty())
        throw site::BadInput(tr("--fault: faults are compared with the healthy site, expected no --fault beside them"));
    if (costs && o.tests) throw site::BadInput(tr("--tests: expected neither --compare nor --cost beside it"));
    if (o.tests && !o.out.empty())
        throw site::BadInput(tr("--out: the hours of tests are not drawn, expected --json or nothing"));
    if (!o.weather.empty() && !o.sky.empty())
        throw site::BadInput(tr("--sky: the weather has its own sky, expected no --sky beside --weather"));
    if (o.out.empty() || report::is_plot(ending)) return;
    if (costs) throw site::BadInput(say("--out: {}: expected .svg, .pdf or .png", site::on_one_line(o.out)));
    if (ending != ".csv")
        throw site::BadInput(say("--out: {}: expected .csv, .svg, .pdf or .png", site::on_one_line(o.out)));
}

Job prepare(const DayOptions& o) {
    check_together(o);
    Job job;
    job.scenario = load(o.site);
    if (!o.mount.empty()) site::set_key(job.scenario, "array.mount=" + o.mount);
    day::check(job.scenario);
    const site::Works works = site::set_up(job.scenario);
    job.faults = site::planted_faults(job.scenario, works);
    for (const site::Fault& f : parsed(o.faults, works)) job.faults.push_back(f);
    job.compare = parsed(o.compare, works);
    job.offset_h = day::utc_offset_h(job.scenario);
    job.step = o.year ? 600.0 : 60.0;
    const day::Date from = first_day(o);
    if (o.weather.empty()) {
        job.weather = day::under(day::shipped_skies().sky(o.sky.empty() ? "clear" : o.sky),
                                 day::clear_sky(job.scenario, from, o.year ? 365 : 1, job.step));
    } else {
        job.weather = day::read_weather(o.weather, job.scenario);
        if (!o.date.empty()) {
            // That day by the clock there.
            const double begin = day::seconds_of(from) - 3600 * job.offset_h, end = begin + 86400;
            std::erase_if(job.weather.rows, [&](const day::Sky& s) { return s.begin < begin - 1 || s.end > end + 1; });
            if (job.weather.rows.empty())
                throw site::BadInput(
                    say("--date: {} has no row in {}", day::text_of(from), site::on_one_line(o.weather)));
            job.weather.gap_s = 0.0;
            for (const day::Sky& s : job.weather.rows) job.weather.gap_s += s.gap() ? s.end - s.begin : 0.0;
            if (job.weather.gap_s >= job.weather.seconds())
                throw site::BadInput(
                    say("--date: {} has no light in {}", day::text_of(from), site::on_one_line(o.weather)));
        }
    }
    job.many = job.weather.seconds() > 1.5 * 86400;
    if (job.weather.seconds() > 40 * 86400) job.step = std::max(job.step, 600.0);
    job.moments = day::moments(job.weather, day::Array(job.scenario), job.step);
    return job;
}

json totals_json(const Scenario& s, const day::Totals& t, double offset_h, bool dated) {
    json hours = json::object(), stops = json::object(), energy = json::object();
    for (std::size_t n = 0; n < day::phases; ++n)
        hours[drive::phase_words(static_cast<drive::Phase>(n))] = t.in_phase_s[n] / 3600;
    for (const auto& [cause, count] : t.stops) stops[drive::stop_words(cause)] = count;
    for (std::size_t n = 0; n < plant::energy_size; ++n)
        if (n != plant::in_splice) energy[plant::energy_name[n]] = t.energy[n];
    return {{"hours", t.seconds / 3600},
            {"hours_without_data", t.gap_s / 3600},
            {"water_m3", t.water_m3},
            {"spilled_m3", t.spilled_m3},
            {"drawn_m3", t.drawn_m3},
            {"lacked_m3", t.lacked_m3},
            {"need_m3_day", number(s.tank.need_m3_day)},
            {"sun_kWh_m2", t.sun_kWh_m2},
            {"offered_kWh", t.offered_J / joule_per_kWh},
            {"taken_kWh", t.taken_J / joule_per_kWh},
            {"not_used_kWh", (t.offered_J - t.taken_J) / joule_per_kWh},
            {"hours_in", hours},
            {"hours_standing", t.standing_s / 3600},
            {"starts", t.starts},
            {"stops", stops},
            {"highest_link_V", t.highest_V},
            {"highest_link_at", clock(t.highest_at, offset_h, dated)},
            {"hottest_winding_degC", t.hottest_degC},
            {"pump_wear", t.damage},
            {"destroyed_after_h", t.destroyed_s ? json(*t.destroyed_s / 3600) : json(nullptr)},
            {"destroyed", t.destroyed_what},
            {"energy_J", energy},
            {"energy_gap", t.energy_gap()}};
}

// A line of the table: what, and how much.
void line(const std::string& what, const std::string& much) { fmt::print("{:<34} {}\n", what, much); }

std::string hours(double seconds, int digits = 3) { return text::quantity(seconds / 3600, "h", digits); }

// Water, energy, what the parts went through.
void print_sums(const Job& job, const day::Totals& t) {
    const Scenario& s = job.scenario;
    if (std::isnan(s.tank.need_m3_day)) line(tr("water into the tank"), m3(t.water_m3));
    else
        line(tr("water into the tank"),
             say("{}; needed {}", m3(t.water_m3), m3(s.tank.need_m3_day * std::max(1.0, t.seconds / 86400))));
    if (t.spilled_m3 > 0.001) line(tr("ran over"), m3(t.spilled_m3));
    if (t.lacked_m3 > 0.001)
        line(tr("tank empty, not drawn"), say("{} of {} wanted", m3(t.lacked_m3), m3(t.lacked_m3 + t.drawn_m3)));
    line(tr("energy taken"), say("{} of {} the array could give", kWh(t.taken_J), kWh(t.offered_J)));
    line(tr("sun not used"), kWh(std::max(0.0, t.offered_J - t.taken_J)));
    line(tr("highest link voltage"),
         fmt::format("{} ({})", text::quantity(t.highest_V, "V", 3), clock(t.highest_at, job.offset_h, job.many)));
    line(tr("hottest winding"), text::quantity(t.hottest_degC, "degC", 3));
    line(tr("starts"), std::to_string(t.starts));
    for (const auto& [cause, count] : t.stops)
        line(tr("stops"), fmt::format("{} x {}", count, tr(drive::stop_words(cause))));
    if (t.destroyed_s) line(tr("DESTROYED"), say("{} after {} of running", t.destroyed_what, hours(*t.destroyed_s, 2)));
    else if (t.damage > 0.001) line(tr("pump worn by"), text::percent(t.damage));
}

void print_days(const Scenario& s, const std::vector<day::Day>& days) {
    double least = 1e9, most = 0.0;
    long short_ = 0;
    for (const day::Day& d : days) {
        if (d.gap_s > 3600) continue;
        least = std::min(least, d.water_m3), most = std::max(most, d.water_m3);
        short_ += d.water_m3 < s.tank.need_m3_day;
    }
    if (std::isnan(s.tank.need_m3_day))
        fmt::print("\n{}\n", say("{} days: {} to {} a day", days.size(), m3(least), m3(most)));
    else
        fmt::print("\n{}\n", say("{} days: {} to {} a day; {} with less than is needed", days.size(), m3(least),
                                 m3(most), short_));
}

void print_totals(const Job& job, const day::Result& r, const std::vector<std::string>& unseen) {
    const day::Totals& t = r.all;
    fmt::print("{}: {}\n", job.scenario.site.name, job.weather.source);
    fmt::print("{}\n", say("array {}; {} in its plane", day::Array(job.scenario).lies(),
                           text::quantity(t.sun_kWh_m2, "kWh/m2", 3)));
    for (const std::string& note : job.weather.notes) fmt::print("{}\n", say("weather: {}", note));
    if (t.gap_s > 0.0)
        fmt::print("{}\n", say("weather: {} without data, stretches: {}. Not filled; nothing is computed for them",
                               hours(t.gap_s), job.weather.gaps));
    for (const std::string& note : unseen) fmt::print("{}\n", say("not shown: {}", note));
    fmt::print("\n");
    print_sums(job, t);
    fmt::print("\n");
    for (std::size_t n = 0; n < day::phases; ++n)
        if (t.in_phase_s[n] >= 1.0) line(tr(drive::phase_words(static_cast<drive::Phase>(n))), hours(t.in_phase_s[n]));
    if (t.standing_s >= 1.0) line(tr("output on, shaft at rest"), hours(t.standing_s));
    if (job.many) print_days(job.scenario, r.days);
    line(tr("energy balance open by"), say("{} of what came in", text::percent(std::abs(t.energy_gap()))));
}

// When each field test can be done.
void print_when(const Job& job, const std::vector<day::When>& list) {
    fmt::print("{}: {}\n", job.scenario.site.name, job.weather.source);
    fmt::print("{}\n\n", tr("Dead tests come first. Cautions stand in: sunshaft read SITE --test ID"));
    for (std::size_t n = 0; n < list.size();) {
        const day::When& w = list[n];
        std::string open;
        for (const day::Open& o : w.open)
            open += (open.empty() ? "" : ", ") +
                    say("{} to {}", clock(o.from, job.offset_h, job.many), clock(o.to, job.offset_h, job.many));
        if (!open.empty() && std::isfinite(w.least_sun)) open += ", " + say("from {:.0f} W/m2 on", w.least_sun);
        fmt::print("{}: {}\n", w.always() ? tr("at any hour") : open.empty() ? tr("not on this day") : open, w.why);
        std::size_t wide = 0;
        for (; n < list.size() && list[n].why == w.why; ++n) {
            if (wide > 90) fmt::print("\n"), wide = 0;
            fmt::print("{}{}", wide == 0 ? "    " : ", ", list[n].id);
            wide += list[n].id.size() + 2;
        }
        fmt::print("\n\n");
    }
}
json when_json(const Job& job, const std::vector<day::When>& list) {
    json tests = json::array();
    for (const day::When& w : list) {
        json open = json::array();
        for (const day::Open& o : w.open)
            open.push_back({{"from", clock(o.from, job.offset_h, true)}, {"to", clock(o.to, job.offset_h, true)}});
        tests.push_back({{"test", w.id},
                         {"name", w.name},
                         {"always", w.always()},
                         {"open", open},
                         {"from_W_m2", number(w.least_sun)},
                         {"why", w.why}});
    }
    return {{"site", job.scenario.site.name}, {"weather", job.weather.source}, {"tests", tests}};
}

void write_csv(const std::string& path, const day::Result& r) {
    std::string text = "time_utc,sun_W_m2,dc_W,link_V,speed_rpm,flow_m3_h,tank_fill,water_m,winding_degC,state\n";
    for (const day::Mark& m : r.marks) {
        const auto second = static_cast<long>(std::floor(std::fmod(m.t, 86400.0)));
        text += fmt::format("{}T{:02d}:{:02d}:{:02d}Z,", day::text_of(day::date_of(m.t)), second / 3600,
                            second / 60 % 60, second % 60);
        if (m.gap) text += ",,,,,,,,no data\n";
        else
            text += fmt::format("{:.2f},{:.2f},{:.2f},{:.2f},{:.4f},{:.5f},{:.3f},{:.2f},{}\n", m.plane, m.dc_W,
                                m.link_V, m.speed * 30 / 3.14159265358979, m.out * 3600, m.tank, m.water_m,
                                m.winding_degC, drive::phase_words(m.phase));
    }
    files::FreshFile file(path);
    file.write(text);
    file.finish();
}

std::string fault_name(const site::Fault& f) {
    const site::FaultRow* row = site::find_fault(f.kind);
    const std::string how = row && row->unit[0] != '\0' ? site::severity_text(*row, f.severity) : "";
    return f.kind + (f.place.empty() ? "" : "@" + f.place) + (how.empty() ? "" : " (" + how + ")");
}

// ---- what faults cost ---------------------------------------------------------------------------------------------

json cost_json(const day::Cost& c) {
    return {{"fault", c.fault.kind},
            {"place", c.fault.place},
            {"severity", number(c.fault.severity)},
            {"dangerous", c.rank() == 3},
            {"people", c.people},
            {"unprotected", c.unprotected},
            {"heat_W", c.heat_W},
            {"heat_where", c.heat_where},
            {"destroyed_after_h", c.destroyed_s ? json(*c.destroyed_s / 3600) : json(nullptr)},
            {"destroyed", c.destroyed_what},
            {"water_m3", c.water_m3},
            {"lost_m3", c.lost_m3},
            {"year_m3", c.year_m3},
            {"year_lost_m3", c.year_lost_m3},
            {"days_short", number(c.short_days)},
            {"price", number(c.price)},
            {"not_shown", c.notes},
            {"failed", c.failed}};
}

void print_costs(const Job& job, const day::Costs& costs, const std::string& date, const day::Year& year) {
    const Scenario& s = job.scenario;
    fmt::print("{}: {}\n", s.site.name, job.weather.source);
    fmt::print("{}\n", say("healthy: {} on {}, {} a year ({})", m3(costs.healthy_m3), date, m3(costs.healthy_year_m3),
                           year.words));
    if (!day::draws(s))
        fmt::print("{}\n", tr("Nobody draws from the tank (tank.use_m3_h is 0): all the water lifted counts."));
    fmt::print("{}\n\n", tr("! = a danger to people, whatever water it costs. Its caution: sunshaft faults KIND"));
    fmt::print("{:>12} {:>12}  {}\n", tr("lost a day"), tr("lost a year"), tr("fault"));
    for (const day::Cost& c : costs.list) {
        if (!c.failed.empty()) {
            fmt::print("{:>12} {:>12}    {}: {}\n", "-", "-", fault_name(c.fault), c.failed);
            continue;
        }
        fmt::print("{:>9} m3 {:>9} m3  {} {}\n", text::column(c.lost_m3, "m3", costs.healthy_m3, 3),
                   text::column(c.year_lost_m3, "m3", costs.healthy_year_m3, 3), c.rank() == 3 ? "!" : " ",
                   fault_name(c.fault));
        const auto under = [](const std::string& words) { fmt::print("{:>28}{}\n", "", words); };
        for (const std::string& p : c.unprotected) under(p);
        for (const std::string& p : c.people) under(p);
        if (c.destroyed_s) under(say("{} after {} of running", c.destroyed_what, hours(*c.destroyed_s, 2)));
        if (c.heat_W >= 10.0) under(say("heat: {} in {}", text::quantity(c.heat_W, "W", 2), c.heat_where));
        if (!std::isnan(c.short_days))
            under(say("{:.0f} days a year with less than is needed; healthy {:.0f}", c.short_days,
                      costs.healthy_short_days));
        if (!std::isnan(c.price)) under(say("price of the lost water a year: {:.0f}", c.price));
        for (const std::string& n : c.notes) under(say("not shown: {}", n));
    }
}

int compare(const DayOptions& o, const Job& job) {
    std::vector<site::Fault> faults = job.compare;
    if (!o.cost.empty()) faults = day::whole_catalogue(job.scenario);
    day::Year year;
    if (job.weather.seconds() > 300 * 86400) {
        year = {job.moments, 365 * 86400 / job.weather.seconds(), tr("of the same weather")};
    } else {
        year = day::twelve_days(job.scenario, first_day(o).year);
    }
    std::vector<day::Moment> one = job.moments;
    if (job.many) {  // a day of the middle of it
        const auto middle = one.begin() + static_cast<std::ptrdiff_t>(one.size() / 2);
        const double begin = std::floor((middle->begin + 3600 * job.offset_h) / 86400) * 86400 - 3600 * job.offset_h;
        std::erase_if(one, [&](const day::Moment& m) { return m.begin < begin - 1 || m.end > begin + 86401; });
    }
    const std::string date = day::text_of(day::date_of(one.front().begin + 3600 * job.offset_h));
    Progress progress(tr("what faults cost"));
    const Interruptible interruptible;
    day::Costs costs;
    try {
        costs = day::costs(job.scenario, faults, one, year, [&](double share) {
            progress(share);
            return interruptible.goes_on();
        });
    } catch (const day::Stopped&) {
        progress.done();
        fmt::print(stderr, "{}\n", tr("Stopped. Nothing was written."));
        return 1;
    }
    progress.done();
    if (!o.out.empty())
        report::write_cost_chart(o.out, say("{}: what faults cost", job.scenario.site.name),
                                 say("{}; a year: {}", job.weather.source, year.words), costs);
    if (o.as_json) {
        json list = json::array();
        for (const day::Cost& c : costs.list) list.push_back(cost_json(c));
        fmt::print("{}\n", json{{"site", job.scenario.site.name},
                                {"weather", job.weather.source},
                                {"date", date},
                                {"year", year.words},
                                {"healthy", {{"water_m3", costs.healthy_m3}, {"year_m3", costs.healthy_year_m3}}},
                                {"faults", list}}
                               .dump(2));
    } else {
        print_costs(job, costs, date, year);
    }
    return 0;
}

std::vector<std::string> not_shown(const Job& job) {
    auto list = day::unseen(job.scenario, job.faults);
    for (std::string& note : day::coarse(job.scenario, job.faults)) list.push_back(std::move(note));
    return list;
}

int run_day(const DayOptions& o) {
    const Job job = prepare(o);
    if (!o.compare.empty() || !o.cost.empty()) return compare(o, job);
    const std::string ending = std::filesystem::path(o.out).extension().string();
    day::Options options;
    options.marks = !o.out.empty() || o.tests;
    Progress progress(tr("through the weather"));
    options.progress = [&progress](double share) { return progress(share); };
    day::Averager averager(job.scenario, job.faults);
    const day::Result result = day::run(averager, job.moments, options);
    progress.done();
    if (o.tests) {
        const auto list = day::when(job.scenario, averager.works(), result);
        if (o.as_json) fmt::print("{}\n", when_json(job, list).dump(2));
        else print_when(job, list);
        return 0;
    }
    const auto unseen = not_shown(job);
    if (ending == ".csv") write_csv(o.out, result);
    else if (!o.out.empty()) {
        std::vector<report::DayLine> lines{{tr("healthy"), &result}};
        day::Result healthy;
        if (!job.faults.empty()) {
            day::Averager without(job.scenario, {});
            healthy = day::run(without, job.moments, options);
            progress.done();
            lines = {{say("with {}", job.faults.front().kind + (job.faults.size() > 1 ? " ..." : "")), &result},
                     {tr("healthy"), &healthy}};
        }
        report::write_day_chart(o.out, job.scenario.site.name,
                                say("{}; {} into the tank, {} of {} taken", job.weather.source, m3(result.all.water_m3),
                                    kWh(result.all.taken_J), kWh(result.all.offered_J)),
                                job.offset_h, lines, job.scenario.tank.volume_m3);
    }
    if (!o.as_json) {
        print_totals(job, result, unseen);
        return 0;
    }
    json days = json::array(), events = json::array();
    for (const day::Day& d : result.days)
        days.push_back({{"date", day::text_of(d.date)},
                        {"water_m3", d.water_m3},
                        {"taken_kWh", d.taken_J / joule_per_kWh},
                        {"offered_kWh", d.offered_J / joule_per_kWh},
                        {"sun_kWh_m2", d.sun_kWh_m2},
                        {"hours_without_data", d.gap_s / 3600},
                        {"starts", d.starts}});
    for (const day::Event& e : result.events)
        events.push_back(
            {{"at", clock(e.t, job.offset_h, true)}, {"words", drive::words({e.t, e.phase, e.cause, e.value})}});
    json out = totals_json(job.scenario, result.all, job.offset_h, job.many);
    out["site"] = job.scenario.site.name;
    out["weather"] = job.weather.source;
    out["weather_notes"] = job.weather.notes;
    out["not_shown"] = unseen;
    out["days"] = days;
    out["events"] = events;
    fmt::print("{}\n", out.dump(2));
    return 0;
}

}  // namespace

Run add_day(CLI::App& app) {
    auto o = std::make_shared<DayOptions>();
    add_site_options(app, o->site);
    add_repeated(app, "--fault", o->faults, "KIND@PLACE=SEVERITY", tr("plant a fault, there all day; may be repeated"));
    app.add_option("--date", o->date, tr("a day by the clock of the site; left out: 2026-03-21"))
        ->type_name("YYYY-MM-DD");
    app.add_option("--weather", o->weather,
                   tr("weather as CSV: time_utc, time_local or month,day,hour_end, the end of each row; ghi_W_m2 "
                      "dni_W_m2 dhi_W_m2 or poa_W_m2; "
                      "air_degC wind_m_s. Left out: a cloudless sky"))
        ->type_name("FILE");
    app.add_option("--sky", o->sky, tr("without weather: clear, hazy, changing, overcast (scenarios/skies.toml)"))
        ->type_name("SKY");
    app.add_option("--mount", o->mount,
                   tr("key array.mount for this run: single-axis, \"single-axis 45\" (most degrees to a side). Or by "
                      "the season, as \"4:10 10:45\" (month:tilt)"))
        ->type_name("MOUNT");
    app.add_flag("--year", o->year, tr("365 days from the first of January, or from --date"));
    add_repeated(app, "--compare", o->compare, "KIND@PLACE=SEVERITY",
                 tr("what this fault costs beside the healthy site; may be repeated"));
    app.add_option("--cost", o->cost, tr("all: what every fault of the catalogue costs, dangerous ones first"))
        ->type_name("all");
    app.add_flag("--tests", o->tests, tr("at which hours each field test of the site can be done and means something"));
    app.add_option("--out", o->out, tr("the course of the day as .csv, or drawn as .svg, .pdf, .png"))
        ->type_name("FILE");
    app.add_flag("--json", o->as_json, tr("print one JSON object"));
    app.footer(
        "Example: sunshaft day hill-orchard --date 2026-06-21 --out day.png\n"
        "         sunshaft day hill-orchard --compare soiled-array --compare string-earth-fault@s1.m3-=0\n" +
        say("The link's ripple, starts within a second and the tracker's hunting are averaged out; the rest is the "
            "live\n"
            "run's own parameters. A cloudless sky is more than any real month gives."));
    return [o] { return run_day(*o); };
}

}  // namespace sunshaft::cli
