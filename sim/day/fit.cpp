#include "day/fit.hpp"

#include <fmt/format.h>

#include <algorithm>
#include <array>
#include <cmath>
#include <limits>
#include <tuple>

#include "bench/hazards.hpp"
#include "bench/observe.hpp"
#include "day/run.hpp"
#include "plant/slow.hpp"
#include "site/keys.hpp"
#include "text/figure.hpp"
#include "text/language.hpp"
#include "text/words.hpp"

namespace sunshaft::day {
namespace {

constexpr double nan = std::numeric_limits<double>::quiet_NaN();
constexpr double full_sun = 1000.0;  // W/m2
using Verdict = Margin::Verdict;
using text::say, text::tr;

class Rows {
  public:
    std::vector<Margin> list;
    bool water = false;  // those that follow
    // tight: a margin below this share is named so.
    // Words in English, as plain literals: tests/scripts/catalogue.sh knows where they stand.
    void add(const char* what, double is, double bound, const char* unit, bool at_most, const char* rule,
             const char* source, double tight, const std::string& note = "") {
        Margin m{tr(what), tr(rule), tr(source), is, bound, unit, at_most, Verdict::untold, tr(note), water};
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

// The weakest sun it starts and lifts water in, with the well at rest, W/m2; NaN: not even in full sun.
double weakest_sun(Averager& a, double air_degC, double noct_degC) {
    const std::shared_ptr<site::Site> site = a.motor_site();
    plant::State s;
    s.control.phase = drive::Phase::running;
    plant::start_slow(*site, s);
    plant::sense(*site, s);
    a.follow(s);
    const drive::DriveSettings& d = a.works().drive;
    const auto runs = [&](double light) {
        const Curve curve = a.curve(light, solar::noct_temperature(air_degC, light, noct_degC));
        Wanted want;
        want.start_V = a.idle_V(curve) * d.voltage_gain;
        want.target_V = a.tracked_V(curve, 0.8 * want.start_V, want.start_V) * d.voltage_gain;
        if (want.start_V < d.start_V || !a.breaks_away(curve, want)) return false;
        const Operating o = a.at(curve, want);
        return o.turning && !o.standing && !o.starved && o.flow > 1e-6;
    };
    double low = 0.0, high = full_sun;
    if (!runs(high)) return nan;
    while (high - low > 5.0) (runs(0.5 * (low + high)) ? high : low) = 0.5 * (low + high);
    return high;
}

std::string share_words(double left) {
    constexpr double most = 0.99;  // of what is twice as much nobody asks how much more
    return !std::isfinite(left) ? "" : left > most ? ">99 %" : fmt::format("{:+.0f} %", 100 * left);
}
long count(const Fit& f, Verdict v) {
    return std::count_if(f.rows.begin(), f.rows.end(), [v](const Margin& m) { return m.verdict == v; });
}
long unknown(const Fit& f) {
    return std::count_if(f.rows.begin(), f.rows.end(),
                         [](const Margin& m) { return m.verdict == Verdict::untold && std::isnan(m.left()); });
}
double left_of(const Fit& f, const std::string& what) {
    const auto row = std::find_if(f.rows.begin(), f.rows.end(), [&](const Margin& m) { return m.what == what; });
    return row == f.rows.end() ? nan : row->left();
}

// What does not fit, what is electrical before what is water: of each how many rows, and by how much together.
struct Shortfall {
    std::array<double, 4> parts{};
    explicit Shortfall(const Fit& f) {
        for (const Margin& m : f.rows)
            if (m.verdict == Verdict::fails) {
                parts[m.water ? 2 : 0] += std::isfinite(m.left()) ? 1.0 : no_figure;
                parts[m.water ? 3 : 1] += fails_by(m);
            }
    }
    // Where nothing runs no other row is asked: that is more than all of them.
    static constexpr double no_figure = 100.0;
    static double fails_by(const Margin& m) { return std::isfinite(m.left()) ? std::max(0.0, -m.left()) : no_figure; }
    // Half a per cent is no difference.
    static int compare(const Shortfall& a, const Shortfall& b) {
        for (std::size_t n = 0; n < 4; ++n)
            if (std::abs(a.parts[n] - b.parts[n]) > 0.005) return a.parts[n] < b.parts[n] ? -1 : 1;
        return 0;
    }
    bool none() const { return parts[0] + parts[2] == 0.0; }
};

// The row there is most to be said of: what fails most, electrical first, else what has least left.
const Margin& weakest(const Fit& f) {
    const auto order = [](const Margin& m) {
        return std::tuple{m.verdict == Verdict::untold, m.verdict != Verdict::fails,
                          m.verdict == Verdict::fails && m.water,
                          m.verdict == Verdict::fails ? -Shortfall::fails_by(m) : m.left()};
    };
    return *std::min_element(f.rows.begin(), f.rows.end(),
                             [&](const Margin& a, const Margin& b) { return order(a) < order(b); });
}

double clear_day_m3(const Scenario& s) {
    Averager averager(s, {});
    return run(averager, moments(clear_sky(s, {2026, 3, 21}, 1, 600), Array(s), 600)).all.water_m3;
}

// Where the water stands and how well the pump does there.
void add_pumping(Rows& rows, const Scenario& s, const site::Works& w, const Lifting& p) {
    const Operating& o = p.o;
    rows.water = true;
    rows.add("flow in full sun", o.flow * 3600, 0.0, "m3/h", false, "the pump lifts to the tank's outlet", "this model",
             0.0);
    rows.list.back().verdict = o.flow > 1e-6 ? Verdict::fits : Verdict::fails;
    if (const auto* pump = std::get_if<water::Centrifugal>(&w.water.pump); pump && o.flow > 1e-6) {
        const double q = o.flow, speed = std::abs(o.speed);
        const double eta = w.water.main.density * water::gravity * q * pump->head(speed, q) /
                           std::max(pump->torque(speed, q) * speed, 1e-9);
        rows.add("pump's efficiency there", eta, 0.85 * s.pump.best_efficiency, "%", false, "85 % of its best or more",
                 "common practice, no source", 0.02);
    }
    rows.add("pumped water level", p.level, w.water.pump_depth - 1.0, "m", true, "a metre of water over the intake",
             "common practice, no source", 0.01, "m below ground");
    if (w.guards.dry.fitted)
        rows.add("dry-run probe", p.level, w.guards.probe_depth, "m", true, "the pumped level stays above the probe",
                 "common practice, no source", 0.01, "m below ground");
}

// Array and drive on the coldest bright morning.
void add_volts(Rows& rows, const Scenario& s, const site::Works& w, const meter::Spec& meter) {
    const double cold = bench::highest_V(w);
    const bool cold_told = !std::isnan(s.site.lowest_module_temperature_degC);
    const std::string cold_note = cold_told ? ""
                                            : tr("Not told: the modules' lowest temperature "
                                                 "(site.lowest_module_temperature_degC). 30 K below the air is taken.");
    rows.add("coldest bright morning", cold, s.drive.highest_input_V, "V", true,
             "open circuit stays below the drive's plate", "IEC 62548 (lowest expected temperature; by public guides)",
             0.03,
             std::isnan(s.drive.highest_input_V)
                 ? key_missing(nan, tr("the drive's highest input voltage"), "drive.highest_input_V")
                 : cold_note);
    if (Margin& m = rows.list.back(); !cold_told && m.verdict != Verdict::fails) m.verdict = Verdict::untold;
    if (s.link.overvoltage_V > 0.0)
        rows.add("its trip on such a morning", cold, s.link.overvoltage_V, "V", true,
                 "open circuit stays below the over-voltage trip", "common practice, no source", 0.02);
    rows.add("meter on such a morning", cold, meter.category > 0 ? meter.category_V : nan, "V", true,
             "open circuit stays below what the meter is rated for", "meter's plate", 0.03,
             meter.category > 0 ? say("with the meter: {}", tr(meter.name))
                                : say("The meter has no category: {}.", tr(meter.name)));
    const double wait =
        std::isfinite(w.link.bleed_ohm) ? w.link.bleed_ohm * w.link.farad * std::log(std::max(cold / 60.0, 1.0)) : nan;
    rows.add("link below 60 V by its bleed alone", wait, 300.0, "s", true,
             "five minutes at most; the drive's label decides, then the tester", "common practice, no source", 0.0,
             std::isnan(wait) ? tr("no bleed: link will NOT discharge, do not open the drive")
                              : tr("in this model; never a reason to touch"));
    if (std::isnan(wait)) rows.list.back().verdict = Verdict::fails;
}

void add_currents(Rows& rows, const Scenario& s, const site::Works& w) {
    const double strings = s.array.strings, isc = w.array.strings.front().modules.front().data.Isc;
    if (s.array.strings >= 3) {
        const std::string fuse = key_missing(s.dc_run.fuse_A, tr("the rating of the string fuses"), "dc_run.fuse_A");
        rows.add("string fuse, lower bound", s.dc_run.fuse_A, 1.5 * isc, "A", false,
                 "fuse from 1.5 times the string's short-circuit current on", "common practice, no source", 0.0, fuse);
        rows.add("string fuse, upper bound", s.dc_run.fuse_A, s.array.module_fuse_A, "A", true,
                 "fuse no larger than the module's plate allows", "the module's plate", 0.0,
                 text::sentences({fuse, key_missing(s.array.module_fuse_A, tr("the largest fuse the module bears"),
                                                    "array.module_fuse_A")}));
    } else if (s.array.strings == 2) {
        rows.add("current back into a string", isc, 1.35 * s.array.module_fuse_A, "A", true,
                 "no more than modules are tested to bear backwards",
                 "IEC 61730-2: 135 % of the fuse on the module's plate, for two hours; from memory", 0.0,
                 key_missing(s.array.module_fuse_A, tr("the largest fuse the module bears"), "array.module_fuse_A"));
    }
    rows.add("DC run's conductor", 1.25 * strings * isc, s.dc_run.rated_A, "A", true,
             "bears 1.25 times the short-circuit current", "common practice, no source", 0.05,
             key_missing(s.dc_run.rated_A, tr("the current the DC run bears"), "dc_run.rated_A"));
}

// In full sun, warm and with the well drawn down.
void add_running(Rows& rows, const Scenario& s, Averager& averager, double noct) {
    const site::Works& w = averager.works();
    const double air = s.sun.air_temperature_degC;
    const Curve hot = averager.curve(full_sun, solar::noct_temperature(air + 15, full_sun, noct));
    rows.add("start voltage on a hot day", averager.idle_V(hot), s.drive.start_voltage_V, "V", false,
             "hot modules still reach the drive's start voltage", "common practice, no source", 0.05,
             say("modules at {:.0f} degC", solar::noct_temperature(air + 15, full_sun, noct)));
    const Curve full = averager.curve(full_sun, solar::noct_temperature(air, full_sun, noct));
    const double start_V = averager.idle_V(full) * w.drive.voltage_gain;
    const Lifting p =
        settle(averager, full, start_V, averager.tracked_V(full, 0.8 * start_V, start_V) * w.drive.voltage_gain);
    const Operating& o = p.o;
    const bool runs = o.turning && !o.standing && !o.starved;
    Wanted start;
    start.start_V = start_V, start.target_V = 0.8 * start_V;
    const Averager::Start shaft = averager.start(full, start, true);  // as warm as it gets
    const double weakest = runs ? weakest_sun(averager, air, noct) : nan;
    rows.add("weakest sun that brings water", weakest, full_sun, "W/m2", true, "it starts and lifts water in full sun",
             "this model", 0.2, std::isnan(weakest) ? tr("It does not start or lift water at 1000 W/m2.") : "");
    if (std::isnan(weakest)) rows.list.back().verdict = Verdict::fails;
    if (!runs) return;
    const double dc_drop = full.run_loss(o.link_V) / std::max(o.dc_W, 1.0);
    rows.add("loss of the DC run", dc_drop, 0.03, "%", true, "3 % of the power at most", "common practice, no source",
             0.1);
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
    rows.add(
        "windings",
        w.motor_heat.round_degC + (o.turn[lost_winding] + o.turn[lost_cage] + o.turn[lost_iron]) * w.motor_heat.K_per_W,
        155.0, "degC", true, "class F", "IEC 60085", 0.1);
    rows.add("start torque against break-away", shaft.torque_Nm, shaft.hold_Nm, "N m", false,
             "the shaft breaks away on the ramp", "this model", 0.1);
    add_pumping(rows, s, w, p);
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

std::string Margin::left_words() const { return share_words(left()); }

std::string Suggestion::words() const {
    const auto margin = [](double x) { return std::isfinite(x) ? share_words(x) : tr("no figure"); };
    return text::sentences({margin(row_after) == margin(row_before) ? ""
                                                                    : say("Margin of \"{}\": {} instead of {}.", row,
                                                                          margin(row_after), margin(row_before)),
                            fails_before > 0 ? say("Rows that fail: {} instead of {}.", fails_after, fails_before) : "",
                            say("{} on a clear day in March instead of {}.", text::quantity(water_after, "m3", 3),
                                text::quantity(water_before, "m3", 3))});
}

bool Fit::fails() const { return count(*this, Verdict::fails) > 0; }
bool Fit::incomplete() const { return count(*this, Verdict::untold) > 0; }

Fit fit(const Scenario& s, const std::string& meter) {
    check(s);
    Averager averager(s, {});
    const site::Works w = averager.works();
    Rows rows;
    add_volts(rows, s, w, meter.empty() ? bench::usual_meter(meter::Mode::dcv) : meter::find_spec(meter));
    add_currents(rows, s, w);
    add_running(rows, s, averager, w.array.strings.front().modules.front().data.noct_degC);
    rows.water = true;
    const std::string need = key_missing(s.tank.need_m3_day, tr("the water needed in a day"), "tank.need_m3_day");
    rows.add("water of a clear day at the equinox", clear_day_m3(s), s.tank.need_m3_day, "m3", false,
             "what is needed in a day", "this model; real days give less", 0.2, need);
    rows.add("tank against need", s.tank.volume_m3, s.tank.need_m3_day, "m3", false, "a day's need or more in the tank",
             "common practice, no source", 0.0, need);
    return {rows.list};
}

std::optional<Suggestion> suggest(const Scenario& s, const std::string& meter) {
    const Fit now = fit(s, meter);
    const Shortfall before(now);
    const Margin& row = weakest(now);
    const double water = clear_day_m3(s);
    struct Try {
        std::string change, why;
    };
    std::vector<Try> tries = {
        {fmt::format("array.modules_in_series={}", s.array.modules_in_series + 1), tr("a module more in each string")},
        {fmt::format("array.strings={}", s.array.strings + 1), tr("a string more")},
        {fmt::format("dc_run.conductor_mm2={:g}", 1.6 * s.dc_run.conductor_mm2), tr("a thicker DC run")},
        {fmt::format("drop_cable.conductor_mm2={:g}", 1.6 * s.drop_cable.conductor_mm2), tr("a thicker pump cable")},
        {fmt::format("rising_main.diameter_mm={:g}", 1.25 * s.rising_main.diameter_mm), tr("a wider rising main")},
        {fmt::format("tank.volume_m3={:g}",
                     std::max(1.5 * s.tank.volume_m3, std::isnan(s.tank.need_m3_day) ? 0.0 : s.tank.need_m3_day)),
         tr("a bigger tank")}};
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
    std::optional<Shortfall> least;
    for (const Try& t : tries) {
        Scenario changed = s;
        try {
            std::string rest = t.change;
            for (std::size_t space; !rest.empty(); rest = space == std::string::npos ? "" : rest.substr(space + 1)) {
                space = rest.find(' ');
                site::set_key(changed, rest.substr(0, space));
            }
            const Fit after = fit(changed, meter);
            if (unknown(after) > unknown(now)) continue;  // it would ask for figures nobody has told
            const Shortfall then(after);
            Suggestion g{t.change,
                         t.why,
                         row.what,
                         row.left(),
                         left_of(after, row.what),
                         count(now, Verdict::fails),
                         count(after, Verdict::fails),
                         water,
                         clear_day_m3(changed)};
            const int helps = Shortfall::compare(then, before);
            if (helps > 0 || (helps == 0 && !(before.none() && g.water_after > 1.03 * water))) continue;
            const int beside = least ? Shortfall::compare(then, *least) : -1;
            if (beside < 0 || (beside == 0 && g.water_after > best->water_after)) best = g, least = then;
        } catch (const site::BadInput&) {  // cannot be so
        }
    }
    return best;
}

}  // namespace sunshaft::day
