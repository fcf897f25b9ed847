#include "day/cost.hpp"

#include <fmt/format.h>

#include <algorithm>
#include <atomic>
#include <cmath>
#include <mutex>
#include <thread>

#include "bench/hazards.hpp"
#include "bench/marks.hpp"
#include "site/keys.hpp"
#include "site/wiring.hpp"
#include "text/figure.hpp"
#include "text/language.hpp"

namespace sunshaft::day {
namespace {

using bench::in_a_list, bench::Lasting;
using text::say, text::tr;

constexpr double tied_ohm = 1e5;  // less than this ties a pole to metal so that a touch can kill
constexpr double arc_A = 1.0;     // parted at an array's volts, more than this burns on (common practice, no source)

double short_days(const Scenario& s, const Result& r, double days_each) {
    if (std::isnan(s.tank.need_m3_day)) return missing;
    double count = 0.0;
    for (const Day& d : r.days) count += d.gap_s < 3600 && d.water_m3 < s.tank.need_m3_day ? days_each : 0.0;
    return count;
}

// Where nobody draws from the tank a full one would end every count: what is lifted counts then.
double useful(const Scenario& s, const Totals& t) { return t.water_m3 - (draws(s) ? t.spilled_m3 + t.cycle_m3 : 0.0); }
double lost(double healthy, double faulty) {
    return std::abs(healthy - faulty) < healthy / 500 ? 0.0 : healthy - faulty;
}

// Guards that would no longer stop the pump.
std::vector<std::string> unprotected(const site::Works& healthy, const site::Works& w) {
    const auto dry = [](site::Guards g) {
        g.probe_wet = false;
        return g.says_dry();
    };
    const auto full = [](site::Guards g) {
        g.float_up = true;
        return g.says_full();
    };
    std::vector<std::string> list;
    if (dry(healthy.guards) && !dry(w.guards)) list.push_back(in_a_list(Lasting::no_dry_guard));
    if (full(healthy.guards) && !full(w.guards)) list.push_back(in_a_list(Lasting::no_float));
    return list;
}

// The same in this light.
site::Works in_sun(site::Works w, const Totals& all) {
    w.array.irradiance = std::max(all.most_plane, 1.0);
    w.array.module_degC = all.most_plane_degC;
    return w;
}

// The most that any string carries with the isolator open, A.
double circulates(const site::Works& w) {
    double most = 0.0;
    for (const double i : bench::string_currents(w, std::nan(""))) most = std::max(most, std::abs(i));
    return most;
}

// The wiring with the isolator closed and no leg switching: what flows into the drive then nothing but the isolator
// stops, A, and what stands across the link, V.
struct Idle {
    double ampere = 0.0, link_V = 0.0;
};
Idle idle(const site::Works& w) {
    if (w.supply.kind != site::Supply::Kind::array) return {};
    circuit::Circuit c;
    site::wire_dc(w, c);
    site::wire_ac(w, c);
    site::wire_bridge(w, c);
    const circuit::Solution found = circuit::solve(c);
    const auto into = c.find_branch("dc+");
    const double ampere = into ? std::abs(found.current(*into)) : 0.0;
    const double volt = found.voltage(c.node("link+"), c.node("link-"));
    return {std::isfinite(ampere) ? ampere : 0.0, std::isfinite(volt) ? volt : 0.0};
}

// What of the works can hurt someone and was not there before, in the day's best light.
std::vector<std::string> people(const site::Works& healthy, const site::Works& w) {
    std::vector<std::string> list;
    const double volts = bench::highest_V(w), before = bench::highest_V(healthy);
    const auto add = [&](Lasting what, double figure) { list.push_back(in_a_list(what, figure)); };
    const auto ties = [](const site::Works& x) {
        double least = std::min(
            {x.array.leak_plus_ohm, x.array.leak_minus_ohm, x.array.arrester.plus_ohm, x.array.arrester.minus_ohm});
        for (const site::String& s : x.array.strings)
            for (const double ohm : s.earth_ohm) least = std::min(least, ohm);
        return least;
    };
    const auto leaks = [](const site::Works& x) {
        double least = site::open_circuit;
        for (const site::Phase& p : x.phases) least = std::min({least, p.earth_leak_ohm, p.earth_cell_ohm});
        return least;
    };
    if (ties(w) < tied_ohm && ties(w) < ties(healthy)) add(Lasting::frame_live, volts);
    if (leaks(w) < tied_ohm && leaks(w) < leaks(healthy)) add(Lasting::casing_live, volts);
    if (w.link.bleed_ohm > 20 * healthy.link.bleed_ohm ||
        (std::isinf(w.link.bleed_ohm) && std::isfinite(healthy.link.bleed_ohm)))
        add(Lasting::charged, volts);
    if (volts > 1.05 * before) add(Lasting::above_rating, volts);
    if (const double amps = circulates(w); amps > arc_A && amps > 2 * circulates(healthy))
        add(Lasting::circulating, amps);
    if (const double amps = idle(w).ampere; amps > arc_A && amps > 2 * idle(healthy).ampere)
        add(Lasting::through_drive, amps);
    if (w.array.plus.contact.leak_ohm < healthy.array.plus.contact.leak_ohm ||
        w.array.minus.contact.leak_ohm < healthy.array.minus.contact.leak_ohm)
        add(Lasting::behind_isolator, volts);
    return list;
}

// The hottest place that is hotter than in the healthy site.
struct Heat {
    double watt = 0.0;
    std::string where;
    void offer(double w, const std::string& at) {
        if (w > watt) watt = w, where = at;
    }
};
// Cells of a module that others drive backwards: behind a dead bypass diode, in a shadow.
void offer_cells(const site::Works& healthy, const site::Works& sunny, const Totals& all, double link, Heat& h) {
    for (const bench::Bench::Warm& cell : bench::hot_cells(sunny, link)) {
        if (cell.watt <= h.watt) continue;
        double before = 0.0;
        for (const bench::Bench::Warm& was : bench::hot_cells(in_sun(healthy, all), std::max(all.link_then, 1.0)))
            if (was.place == cell.place) before = was.watt;
        h.offer(cell.watt - before, say("a cell of {}, driven backwards", cell.place));
    }
}

Heat heat(const site::Works& healthy, const site::Works& w, const Totals& all) {
    Heat h;
    if (w.supply.kind != site::Supply::Kind::array) return h;
    const site::Works sunny = in_sun(w, all);
    // A drive that is shorted or fed the wrong way round holds the link wherever the array's current leaves it.
    const Idle still = idle(sunny);
    const double link = still.ampere > arc_A ? still.link_V : std::max(all.link_then, 1.0);
    const std::vector<double> amps = bench::string_currents(sunny, link);
    double sum = 0.0;
    for (std::size_t k = 0; k < w.array.strings.size() && k < amps.size(); ++k) {
        const site::String &s = w.array.strings[k], &was = healthy.array.strings[k];
        const double i2 = amps[k] * amps[k];
        sum += amps[k];
        const auto joint = [&](const site::Joint& j, const site::Joint& before, const std::string& name) {
            if (std::isfinite(j.through()) && std::isfinite(before.ohm))
                h.offer(i2 * (j.through() - before.through()), name);
        };
        for (std::size_t n = 0; n < s.joints.size(); ++n)
            joint(s.joints[n], was.joints[n], say("connector in string s{}", k + 1));
        if (!s.fuse_blown) joint(s.fuse, was.fuse, say("fuse of string s{}", k + 1));
        if (amps[k] < -0.1) h.offer(-amps[k] * std::max(link, 1.0), say("string s{}, fed backwards", k + 1));
    }
    const auto run = [&](const site::Joint& j, const site::Joint& before, const char* name) {
        if (std::isfinite(j.through())) h.offer(sum * sum * (j.through() - before.through()), name);
    };
    run(w.array.plus.contact, healthy.array.plus.contact, tr("isolator, plus pole"));
    run(w.array.minus.contact, healthy.array.minus.contact, tr("isolator, minus pole"));
    run(w.array.dc_plus, healthy.array.dc_plus, tr("drive's plus terminal"));
    run(w.array.dc_minus, healthy.array.dc_minus, tr("drive's minus terminal"));
    for (std::size_t k = 0; k < 3; ++k) {
        const site::Phase &p = w.phases[k], &was = healthy.phases[k];
        const char phase = "uvw"[k];
        for (const auto& [j, before, name] : {std::tuple{&p.terminal, &was.terminal, say("output terminal {}", phase)},
                                              std::tuple{&p.splice, &was.splice, say("splice {} (in water)", phase)}})
            if (std::isfinite(j->through())) h.offer(all.most_square[k] * (j->through() - before->through()), name);
    }
    if (const double siemens = 1 / w.link.bleed_ohm - 1 / healthy.link.bleed_ohm; siemens > 0.0)
        h.offer(link * link * siemens, tr("the drive, across its link"));
    if (link < 0.0) h.offer(-link * sum, tr("the drive's free-wheel diodes"));
    for (std::size_t k = 0; k < 3; ++k) {
        const double siemens = 1 / w.phases[k].between_leak_ohm - 1 / healthy.phases[k].between_leak_ohm;
        if (siemens > 0.0)
            h.offer(all.most_line_square * siemens, say("splice {}-{} (in water)", "uvw"[k], "uvw"[(k + 1) % 3]));
    }
    offer_cells(healthy, sunny, all, link, h);
    return h;
}

}  // namespace

bool draws(const Scenario& scenario) { return scenario.tank.use_m3_h > 0.0; }

std::vector<site::Fault> whole_catalogue(const Scenario& scenario) {
    const site::Works works = site::set_up(scenario);
    std::vector<site::Fault> list;
    for (const site::FaultRow& row : site::fault_catalogue()) {
        const auto places = row.places(works);
        if (!places.empty() && std::string(row.group) != "operator and meter")
            list.push_back({row.kind, places.front(), row.usual, 0.0});
    }
    return list;
}

Year twelve_days(const Scenario& scenario, int year) {
    Year y;
    y.days_each = 365.0 / 12;
    y.words = tr("twelve cloudless days, the 21st of each month, for a month each: more than any real year gives");
    const Array array(scenario);
    for (int month = 1; month <= 12; ++month) {
        const auto day = moments(clear_sky(scenario, {year, month, 21}, 1, 600), array, 600);
        y.moments.insert(y.moments.end(), day.begin(), day.end());
    }
    return y;
}

namespace {

// One fault's costs against the healthy site's. Throws Stopped once `stop` is set.
void add_cost(const Scenario& scenario, const site::Works& works, const std::vector<Moment>& day, const Year& year,
              const Costs& healthy, const std::atomic<bool>& stop, Cost& c) {
    c.notes = unseen(scenario, {c.fault});
    for (std::string& note : coarse(scenario, {c.fault})) c.notes.push_back(std::move(note));
    Averager averager(scenario, {c.fault});
    Options options;
    options.progress = [&stop](double) { return !stop.load(); };
    const Totals all = run(averager, day, options).all;
    const Result r = run(averager, year.moments, options);
    c.water_m3 = useful(scenario, all);
    c.lost_m3 = lost(healthy.healthy_m3, c.water_m3);
    c.year_m3 = useful(scenario, r.all) * year.days_each;
    c.year_lost_m3 = lost(healthy.healthy_year_m3, c.year_m3);
    c.short_days = short_days(scenario, r, year.days_each);
    if (!std::isnan(scenario.tank.price_per_m3)) c.price = scenario.tank.price_per_m3 * std::max(0.0, c.year_lost_m3);
    c.unprotected = unprotected(works, averager.works());
    c.people = people(in_sun(works, all), in_sun(averager.works(), all));
    const Heat h = heat(works, averager.works(), all);
    c.heat_W = h.watt, c.heat_where = h.where;
    c.destroyed_s = all.destroyed_s, c.destroyed_what = all.destroyed_what;
}

}  // namespace

Costs costs(const Scenario& scenario, const std::vector<site::Fault>& faults, const std::vector<Moment>& day,
            const Year& year, const std::function<bool(double)>& progress) {
    check(scenario);
    Costs out;
    const site::Works works = site::set_up(scenario);
    {
        Averager averager(scenario, {});
        out.healthy_m3 = useful(scenario, run(averager, day).all);
        const Result r = run(averager, year.moments);
        out.healthy_year_m3 = useful(scenario, r.all) * year.days_each;
        out.healthy_short_days = short_days(scenario, r, year.days_each);
    }
    out.list.resize(faults.size());
    std::atomic<std::size_t> next{0}, done{0};
    std::atomic<bool> stop{false};
    const auto one = [&](std::size_t n) {
        Cost& c = out.list[n];
        c.fault = faults[n];
        try {
            add_cost(scenario, works, day, year, out, stop, c);
        } catch (const Stopped&) {
            stop = true;
        } catch (const std::exception& e) {
            c.failed = e.what();
        }
        ++done;
    };
    const auto work = [&] {
        for (std::size_t n; !stop && (n = next++) < faults.size();) one(n);
    };
    std::vector<std::thread> helpers;
    const unsigned count = std::min<unsigned>(std::max(1U, std::thread::hardware_concurrency()),
                                              static_cast<unsigned>(std::max<std::size_t>(faults.size(), 1)));
    for (unsigned n = 0; n < count; ++n) helpers.emplace_back(work);
    while (!stop && done < faults.size()) {
        if (progress && !progress(static_cast<double>(done) / static_cast<double>(faults.size()))) stop = true;
        std::this_thread::sleep_for(std::chrono::milliseconds(50));
    }
    for (std::thread& t : helpers) t.join();
    if (stop) throw Stopped();
    std::stable_sort(out.list.begin(), out.list.end(), [](const Cost& a, const Cost& b) {
        if (a.rank() != b.rank()) return a.rank() > b.rank();
        return a.year_lost_m3 > b.year_lost_m3;
    });
    return out;
}

}  // namespace sunshaft::day
