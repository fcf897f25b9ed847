#include "day/fit.hpp"

#include <fmt/format.h>

#include <algorithm>
#include <cmath>
#include <limits>

#include "bench/hazards.hpp"
#include "day/run.hpp"
#include "plant/slow.hpp"
#include "site/keys.hpp"
#include "text/figure.hpp"
#include "text/language.hpp"
#include "text/words.hpp"

namespace sunshaft::day {
namespace {

constexpr double nan = std::numeric_limits<double>::quiet_NaN();
using Verdict = Margin::Verdict;
using text::say, text::tr;

class Rows {
  public:
    std::vector<Margin> list;
    // tight: a margin below this share is named so.
    // Words in English, as plain literals: tests/scripts/catalogue.sh knows where they stand.
    void add(const char* what, double is, double bound, const char* unit, bool at_most, const char* rule,
             const char* source, double tight, const std::string& note = "") {
        Margin m{tr(what), tr(rule), tr(source), is, bound, unit, at_most, Verdict::untold, tr(note)};
        if (!std::isnan(is) && !std::isnan(bound))
            m.verdict = m.left() < 0.0 ? Verdict::fails : m.left() < tight ? Verdict::tight : Verdict::fits;
        list.push_back(m);
    }
};

// What nobody has told, in words, and the key that would tell it. Empty: it is told.
std::string key_missing(double value, const char* what, const char* key) {
    return std::isnan(value) ? say("Not told: {} ({}).", what, key) : "";
}

// The operating point with the water where pumping has brought it.
struct Lifting {
    Operating o;
    double level = 0.0;
};
Lifting settle(Averager& a, const Curve& curve, double start_V, double target_V) {
    const std::shared_ptr<site::Site> site = a.motor_site();
    plant::State s;
    s.control.phase = drive::Phase::running;
    plant::start_slow(*site, s);
    Wanted want;
    want.start_V = start_V, want.target_V = target_V;
    Lifting p;
    // The deeper the water, the less flows: the level where what flows holds it there.
    double high = site->works.water.static_level, low = site->works.water.bore_depth;
    s.water_level = high;
    for (int n = 0; n < 24; ++n) {
        plant::sense(*site, s);
        a.follow(s);
        p.o = a.at(curve, want);
        p.level = s.water_level;
        const double rest = plant::well(site->works).steady_level(std::max(p.o.flow, 0.0));
        // As warm as it gets.
        const double loss = p.o.turn[lost_winding] + p.o.turn[lost_cage] + p.o.turn[lost_iron];
        s.slow.winding_degC = site->works.motor_heat.round_degC + loss * site->works.motor_heat.K_per_W;
        if (n > 3 && std::abs(rest - s.water_level) < 1e-3) break;
        (rest > s.water_level ? high : low) = s.water_level;
        s.water_level = 0.5 * (high + low);
    }
    return p;
}

double worst(const Fit& f) {
    double least = 1.0;
    for (const Margin& m : f.rows)
        if (m.verdict != Verdict::untold) least = std::min(least, m.left());
    return least;
}

double clear_day_m3(const Scenario& s) {
    Averager averager(s, {});
    return run(averager, moments(clear_sky(s, {2026, 3, 21}, 1, 600), Array(s), 600)).all.water_m3;
}

}  // namespace

const char* Margin::word(Verdict v) {
    switch (v) {
        case Verdict::fits: return text::id("fits");
        case Verdict::tight: return text::id("tight");
        case Verdict::fails: return text::id("FAILS");
        case Verdict::untold: return text::id("missing");
    }
    return "";
}

bool Fit::fails() const {
    return std::any_of(rows.begin(), rows.end(), [](const Margin& m) { return m.verdict == Verdict::fails; });
}
bool Fit::incomplete() const {
    return std::any_of(rows.begin(), rows.end(), [](const Margin& m) { return m.verdict == Verdict::untold; });
}

Fit fit(const Scenario& s) {
    check(s);
    const site::Works w = site::set_up(s);
    Averager averager(s, {});
    Rows rows;
    const auto& module = w.array.strings.front().modules.front().data;
    const double air = s.sun.air_temperature_degC;

    // Array and drive.
    const bool cold_told = !std::isnan(s.site.lowest_module_temperature_degC);
    const double cold = bench::highest_V(w);
    const std::string cold_note = cold_told ? ""
                                            : tr("Not told: the modules' lowest temperature "
                                                 "(site.lowest_module_temperature_degC). 30 K below the air is taken.");
    rows.add("coldest bright morning", cold, s.drive.highest_input_V, "V", true,
             "open circuit stays below the drive's plate", "IEC 62548 (lowest expected temperature; by public guides)",
             0.03,
             std::isnan(s.drive.highest_input_V)
                 ? key_missing(nan, tr("the drive's highest input voltage"), "drive.highest_input_V")
                 : cold_note);
    if (!cold_told) rows.list.back().verdict = Verdict::untold;
    if (s.link.overvoltage_V > 0.0)
        rows.add("its trip on such a morning", cold, s.link.overvoltage_V, "V", true,
                 "open circuit stays below the over-voltage trip", "common practice, no source", 0.02);
    const Curve hot = averager.curve(1000.0, solar::noct_temperature(air + 15, 1000.0, module.noct_degC));
    const Curve full = averager.curve(1000.0, solar::noct_temperature(air, 1000.0, module.noct_degC));
    rows.add("start voltage on a hot day", averager.idle_V(hot), s.drive.start_voltage_V, "V", false,
             "hot modules still reach the drive's start voltage", "common practice, no source", 0.05,
             say("modules at {:.0f} degC", solar::noct_temperature(air + 15, 1000.0, module.noct_degC)));
    const double strings = s.array.strings, isc = module.Isc;
    if (s.array.strings >= 3) {
        const std::string fuse = key_missing(s.dc_run.fuse_A, tr("the rating of the string fuses"), "dc_run.fuse_A");
        rows.add("string fuse, lower bound", s.dc_run.fuse_A, 1.5 * isc, "A", false,
                 "fuse from 1.5 times the string's short-circuit current on", "common practice, no source", 0.0, fuse);
        rows.add("string fuse, upper bound", s.dc_run.fuse_A, s.array.module_fuse_A, "A", true,
                 "fuse no larger than the module's plate allows", "the module's plate", 0.0,
                 text::sentences({fuse, key_missing(s.array.module_fuse_A, tr("the largest fuse the module bears"),
                                                    "array.module_fuse_A")}));
    } else {
        rows.add("current back into a string", (strings - 1) * isc, 1.35 * isc, "A", true,
                 "no more than modules are tested to bear backwards", "IEC 61730-2: 135 % for two hours", 0.0);
    }
    rows.add("DC run's conductor", 1.25 * strings * isc, s.dc_run.rated_A, "A", true,
             "bears 1.25 times the short-circuit current", "common practice, no source", 0.05,
             key_missing(s.dc_run.rated_A, tr("the current the DC run bears"), "dc_run.rated_A"));

    // In full sun, warm and with the well drawn down.
    const double start_V = averager.idle_V(full) * w.drive.voltage_gain;
    const Lifting p =
        settle(averager, full, start_V, averager.tracked_V(full, 0.8 * start_V, start_V) * w.drive.voltage_gain);
    const Operating& o = p.o;
    const bool runs = o.turning && !o.standing && !o.starved;
    rows.add("it runs in full sun", runs ? 1.0 : 0.0, 0.5, "", false, "an operating point at 1000 W/m2", "this model",
             0.0);
    if (runs) {
        const double dc_drop = full.run_loss(o.link_V) / std::max(o.dc_W, 1.0);
        rows.add("loss of the DC run", dc_drop, 0.03, "%", true, "3 % of the power at most",
                 "common practice, no source", 0.1);
        const double line_A = std::sqrt(std::max({o.turn[square_u], o.turn[square_v], o.turn[square_w]}));
        const double cable_drop = o.turn[lost_cable] / std::max(o.turn[bridge_in], 1.0);
        rows.add("loss of the pump cable", cable_drop, 0.05, "%", true, "5 % of the power at most",
                 "common practice, no source", 0.1);
        const double rated = s.drive.motor_current_A > 0.0 ? s.drive.motor_current_A : nan;
        rows.add("motor current in full sun", line_A, rated, "A", true, "no more than the motor's rated current",
                 "motor's plate", 0.02, key_missing(rated, tr("the motor's rated current"), "drive.motor_current_A"));
        if (s.drive.current_limit_A > 0.0)
            rows.add("peak current", std::sqrt(o.turn[peak_square]), s.drive.current_limit_A, "A", true,
                     "below the drive's trip", "drive's plate", 0.1);
        if (!averager.leads()) {
            const double asked = drive::asked_volts(w.drive, o.field_Hz),
                         got = o.link_V * o.amplitude *
                               (s.drive.modulation.rfind("six-step", 0) == 0 ? 0.7796968 : 0.6123724);
            rows.add("motor volts in full sun", got, 0.9 * asked, "V", false,
                     "nine tenths of what the V/f line asks at that speed", "common practice, no source", 0.02);
        }
        rows.add("windings",
                 w.motor_heat.round_degC +
                     (o.turn[lost_winding] + o.turn[lost_cage] + o.turn[lost_iron]) * w.motor_heat.K_per_W,
                 155.0, "degC", true, "class F", "IEC 60085", 0.1);
        Wanted start;
        start.start_V = start_V, start.target_V = 0.8 * start_V;
        rows.add("start torque against break-away", averager.breaks_away(full, start) ? 1.0 : 0.0, 0.5, "", false,
                 "the shaft breaks away on the ramp", "this model", 0.0);
        rows.add("flow in full sun", o.flow * 3600, 0.0, "m3/h", false, "the pump lifts to the tank's outlet",
                 "this model", 0.0);
        rows.list.back().verdict = o.flow > 1e-6 ? Verdict::fits : Verdict::fails;
        if (const auto* pump = std::get_if<water::Centrifugal>(&w.water.pump); pump && o.flow > 1e-6) {
            const double q = o.flow, speed = std::abs(o.speed);
            const double eta = w.water.main.density * water::gravity * q * pump->head(speed, q) /
                               std::max(pump->torque(speed, q) * speed, 1e-9);
            rows.add("pump's efficiency there", eta, 0.85 * s.pump.best_efficiency, "%", false,
                     "85 % of its best or more", "common practice, no source", 0.02);
        }
        rows.add("pumped water level", p.level, w.water.pump_depth - 1.0, "m", true, "a metre of water over the intake",
                 "common practice, no source", 0.01, "m below ground");
        if (w.guards.dry.fitted)
            rows.add("dry-run probe", p.level, w.guards.probe_depth, "m", true,
                     "the pumped level stays above the probe", "common practice, no source", 0.01, "m below ground");
    }

    // Water and waiting.
    const std::string need = key_missing(s.tank.need_m3_day, tr("the water needed in a day"), "tank.need_m3_day");
    rows.add("water of a clear day at the equinox", clear_day_m3(s), s.tank.need_m3_day, "m3", false,
             "what is needed in a day", "this model; real days give less", 0.2, need);
    rows.add("tank against need", s.tank.volume_m3, s.tank.need_m3_day, "m3", false, "a day's need or more in the tank",
             "common practice, no source", 0.0, need);
    const double volts = cold, wait = std::isfinite(w.link.bleed_ohm)
                                          ? w.link.bleed_ohm * w.link.farad * std::log(std::max(volts / 60.0, 1.0))
                                          : nan;
    rows.add("link below 60 V by its bleed alone", wait, 300.0, "s", true,
             "five minutes at most; the drive's label decides, then the tester", "common practice, no source", 0.0,
             std::isnan(wait) ? tr("no bleed: link will NOT discharge, do not open the drive")
                              : tr("in this model; never a reason to touch"));
    if (std::isnan(wait)) rows.list.back().verdict = Verdict::fails;
    return {rows.list};
}

std::optional<Suggestion> suggest(const Scenario& s) {
    const Fit now = fit(s);
    const double before = worst(now), water = clear_day_m3(s);
    struct Try {
        std::string change, why;
    };
    std::vector<Try> tries = {
        {fmt::format("array.modules_in_series={}", s.array.modules_in_series + 1), tr("a module more in each string")},
        {fmt::format("array.strings={}", s.array.strings + 1), tr("a string more")},
        {fmt::format("dc_run.conductor_mm2={:g}", 1.6 * s.dc_run.conductor_mm2), tr("a thicker DC run")},
        {fmt::format("drop_cable.conductor_mm2={:g}", 1.6 * s.drop_cable.conductor_mm2), tr("a thicker pump cable")},
        {fmt::format("rising_main.diameter_mm={:g}", 1.25 * s.rising_main.diameter_mm), tr("a wider rising main")}};
    if (s.array.modules_in_series > 1)
        tries.push_back({fmt::format("array.modules_in_series={}", s.array.modules_in_series - 1),
                         tr("a module fewer in each string")});
    if (s.pump.kind == "centrifugal")
        for (const auto& [share, why] :
             {std::pair{0.8, tr("a pump of fewer stages")}, std::pair{1.2, tr("a pump of more stages")}})
            tries.push_back({fmt::format("pump.shutoff_head_m={:g} pump.best_head_m={:g}",
                                         share * s.pump.shutoff_head_m, share * s.pump.best_head_m),
                             why});
    std::optional<Suggestion> best;
    for (const Try& t : tries) {
        Scenario changed = s;
        try {
            std::string rest = t.change;
            for (std::size_t space; !rest.empty(); rest = space == std::string::npos ? "" : rest.substr(space + 1)) {
                space = rest.find(' ');
                site::set_key(changed, rest.substr(0, space));
            }
            const Fit after = fit(changed);
            Suggestion g{t.change, t.why, before, worst(after), water, clear_day_m3(changed)};
            const auto unknown = [](const Fit& f) {
                return std::count_if(f.rows.begin(), f.rows.end(),
                                     [](const Margin& m) { return m.verdict == Verdict::untold; });
            };
            if (unknown(after) > unknown(now)) continue;  // it would ask for figures nobody has told
            const bool mends = before < 0.0 && g.worst_after > before + 0.005;
            const bool waters =
                g.worst_after >= std::min(before, 0.0) - 1e-9 && !after.fails() && g.water_after > 1.03 * water;
            if (!mends && !(before >= 0.0 && waters)) continue;
            const auto better = [&](const Suggestion& a, const Suggestion& b) {
                if (before < 0.0 && std::abs(a.worst_after - b.worst_after) > 0.005)
                    return a.worst_after > b.worst_after;
                return a.water_after > b.water_after;
            };
            if (!best || better(g, *best)) best = g;
        } catch (const site::BadInput&) {  // cannot be so
        }
    }
    return best;
}

}  // namespace sunshaft::day
