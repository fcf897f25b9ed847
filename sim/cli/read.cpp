// sunshaft read: what a meter shows at two points, and why.
#include <fmt/format.h>

#include <algorithm>
#include <cmath>
#include <limits>
#include <memory>
#include <nlohmann/json.hpp>

#include "bench/field_tests.hpp"
#include "bench/hands.hpp"
#include "bench/observe.hpp"
#include "cli/verb.hpp"
#include "meter/display.hpp"
#include "report/json.hpp"
#include "site/keys.hpp"
#include "text/figure.hpp"
#include "text/language.hpp"
#include "text/words.hpp"

namespace sunshaft::cli {
namespace {

using text::say, text::tr;

constexpr double not_given = std::numeric_limits<double>::quiet_NaN();
constexpr double inrush_wait_s = 10.0;

struct ReadOptions {
    BenchOptions bench;
    std::string red, black, around, meter, mode, test;
    double at = -1.0, placed = 0.0, range = 0.0, watch = 0.0, trigger = 0.0, test_V = 0.0, coupled_F = 0.0,
           temperature = not_given;
    bool json = false, zero = false;
    std::vector<std::string> left;
    bool inrush() const { return mode == "inrush"; }
};

bool of_output(const std::string& point) { return site::on_output(site::part_of(point)); }

meter::Mode usual_mode(const std::string& red, const std::string& black) {
    return of_output(red) && of_output(black) ? meter::Mode::acv : meter::Mode::dcv;
}

meter::Mode mode_by_name(const std::string& name) {
    if (const auto m = meter::mode_from(name)) return *m;
    std::string list;
    for (const meter::Mode m : meter::all_modes())
        list += fmt::format("{}{}", list.empty() ? "" : " ", meter::mode_name(m));
    throw site::BadInput(say("--mode: {}: no such mode, expected one of {} inrush", site::on_one_line(name), list));
}

meter::Mode wanted_mode(const ReadOptions& o) {
    if (o.inrush()) return bench::clamp_mode(o.around);
    if (!o.mode.empty()) return mode_by_name(o.mode);
    if (!o.around.empty()) return bench::clamp_mode(o.around);
    return usual_mode(o.red, o.black);
}

// A meter left in place: "low-impedance@drive.u:drive.v@acv-loaded".
struct LeftMeter {
    meter::Spec spec;
    meter::Mode mode;
    bench::Probes probes;
    double ohm;
};

std::vector<LeftMeter> leave_meters(bench::Bench& bench, const std::vector<std::string>& wanted,
                                    bench::Conduct& conduct) {
    std::vector<LeftMeter> list;
    std::vector<site::MeterLoad> loads;
    for (const std::string& text : wanted) {
        const std::size_t at = text.find('@'), between = text.find(':', at), mode_at = text.find('@', between);
        if (at == std::string::npos || between == std::string::npos)
            throw site::BadInput(
                say("--left: {}: expected METER@RED:BLACK or METER@RED:BLACK@MODE", site::on_one_line(text)));
        LeftMeter m{meter::find_spec(text.substr(0, at)),
                    meter::Mode::dcv,
                    {text.substr(at + 1, between - at - 1), text.substr(between + 1, mode_at - between - 1), ""},
                    0.0};
        m.mode = mode_at == std::string::npos ? usual_mode(m.probes.red, m.probes.black)
                                              : mode_by_name(text.substr(mode_at + 1));
        if (meter::takes_clamp(m.mode) || meter::drives_circuit(m.mode))
            throw site::BadInput(say("--left: {}: expected a mode that reads a voltage", site::on_one_line(text)));
        m.ohm = meter::input_resistance(m.spec, m.mode);
        conduct.before(bench::scene(*bench.site(), bench.plant().look(bench.state())), m.probes, m.mode, &m.spec);
        loads.push_back({m.probes.red, m.probes.black, m.ohm});
        list.push_back(std::move(m));
    }
    if (!loads.empty()) bench.leave(std::move(loads));
    return list;
}

meter::Spec wanted_meter(const ReadOptions& o, meter::Mode mode) {
    if (!o.meter.empty()) return meter::find_spec(o.meter);
    // The plainest meter that has the mode.
    for (const char* name : {"average", "true-rms", "clamp-hall"}) {
        try {
            meter::Spec s = meter::find_spec(name);
            if (s.has(mode)) return s;
        } catch (const meter::SpecError&) {
        }
    }
    for (meter::Spec& s : meter::load_specs(meter::shipped_meters()))
        if (s.has(mode)) return s;
    throw site::BadInput(say("--mode: no shipped meter has {}", meter::mode_name(mode)));
}

// A figure behind its name; the longest name sets the column.
void row(const char* name, const std::string& figure) {
    std::size_t wide = 0;
    for (const char* one : {tr("shows"), tr("could be"), tr("in truth"), tr("of the link"), tr("peak")})
        wide = std::max(wide, text::letters(one));
    fmt::print("  {}{} {}\n", name, std::string(wide - text::letters(name), ' '), figure);
}

void print_head(const meter::Reading& r, const meter::Spec& spec, meter::Mode mode, const ReadOptions& o) {
    for (const auto& c : r.cautions) fmt::print("{}\n", say("before you touch: {}", c));
    const std::string where = o.around.empty() ? say("{} against {}", o.red, o.black) : say("clamp on {}", o.around);
    fmt::print("\n{}, {}, {}{}\n", where, tr(spec.name), meter::mode_name(mode), o.inrush() ? tr(", in-rush") : "");
    row(tr("shows"), r.shown);
}

void print_words(const meter::Reading& r) {
    fmt::print("\n");
    for (const auto& reason : r.reasons) fmt::print("  {}\n", reason);
    for (const auto& w : r.warnings) fmt::print("  {}\n", say("warning: {}", w));
}

void print(const meter::Reading& r, const meter::Spec& spec, meter::Mode mode, const ReadOptions& o) {
    print_head(r, spec, mode, o);
    const double in_unit = r.unit == "%" ? 100.0 : 1.0;  // a share is shown in per cent
    if (r.low && r.high) row(tr("could be"), text::range(in_unit * *r.low, in_unit * *r.high, r.unit));
    const std::string unit = mode == meter::Mode::hz || mode == meter::Mode::duty ? "V" : r.unit;  // of the wave
    const auto& t = r.truth;
    if (t.rms) {
        // What the last digit of the true rms does not show is the solver's tolerance, not the wave.
        const int digits = std::abs(*t.mean) > 0.1 * *t.rms ? 4 : 3;  // a small mean is not known finer than the wave
        std::string truth =
            say("mean {}, true rms {}", text::among(*t.mean, unit, *t.rms, digits), text::quantity(*t.rms, unit));
        if (t.fundamental_rms && *t.fundamental_rms > 1e-3 * *t.rms)
            truth += say(", fundamental {} at {}", text::among(*t.fundamental_rms, unit, *t.rms),
                         text::quantity(*t.fundamental_Hz, "Hz"));
        if (t.crest_factor) truth += say(", crest factor {}", text::quantity(*t.crest_factor, "", 3));
        row(tr("in truth"), truth);
    }
    if (r.link_ratio && *r.link_ratio > 0.0) row(tr("of the link"), text::quantity(*r.link_ratio, ""));
    print_words(r);
}

// What the drive does, with the last trip's reason where it has tripped; nothing where there is no drive.
std::string drive_line(bench::Bench& b) {
    if (b.site()->works.supply.kind == site::Supply::Kind::mains) return "";
    const drive::Phase now = b.state().control.phase;
    std::string line = tr(drive::phase_words(now));
    if (now != drive::Phase::tripped && now != drive::Phase::locked) return line;
    const auto& events = b.events();
    const auto trip = std::find_if(events.rbegin(), events.rend(),
                                   [](const drive::LogEntry& e) { return e.phase == drive::Phase::tripped; });
    return trip == events.rend() ? line : say("{}; at {} s {}", line, text::fixed(trip->t, 1), drive::words(*trip));
}

void print(const meter::Watch& w, const meter::Spec& spec, meter::Mode mode, const ReadOptions& o) {
    print_head(w.reading, spec, mode, o);
    const std::string unit(meter::unit_of(mode));
    fmt::print("\n  {:>9}  {:>12}  {:>9}  \n", tr("time"), tr("display"), tr("range"));
    for (const auto& u : w.updates)
        fmt::print("  {:>7} s  {:>12}  {:>9}  {}\n", text::fixed(u.t, 2), u.shown, meter::quantity(u.range, unit),
                   u.beside);
    print_words(w.reading);
}

void print(const meter::Surge& s, const meter::Spec& spec, meter::Mode mode, const ReadOptions& o) {
    print_head(s.reading, spec, mode, o);
    if (s.value)
        row(tr("peak"), say("{}, triggered at {} s", meter::quantity(*s.peak, "A"), text::fixed(*s.start_s, 3)));
    print_words(s.reading);
}

nlohmann::json value(const std::optional<double>& x) { return x ? number(*x) : nlohmann::json(); }

nlohmann::json watch_json(const meter::Watch& w) {
    nlohmann::json updates = nlohmann::json::array();
    for (const auto& u : w.updates)
        updates.push_back({{"t", u.t},
                           {"value", value(u.value)},
                           {"shown", u.shown},
                           {"range", u.range},
                           {"over_range", u.over_range},
                           {"beside", u.beside}});
    nlohmann::json j = report::reading_json(w.reading);
    j["watch"] = {{"updates", updates},
                  {"min", value(w.min)},
                  {"max", value(w.max)},
                  {"average", value(w.average)},
                  {"peak_low", value(w.peak_low)},
                  {"peak_high", value(w.peak_high)},
                  {"range_changes", w.range_changes},
                  {"settled_s", value(w.settled_s)}};
    return j;
}

nlohmann::json surge_json(const meter::Surge& s) {
    nlohmann::json j = report::reading_json(s.reading);
    j["inrush"] = {{"trigger_A", s.trigger_A},
                   {"window_s", s.window_s},
                   {"start_s", value(s.start_s)},
                   {"value", value(s.value)},
                   {"peak", value(s.peak)}};
    return j;
}

// The leads of a voltmeter lie on the points while time passes: a floating circuit takes its time to follow them.
void place_leads(bench::Bench& bench, const ReadOptions& o) {
    if (o.red.empty() || o.black.empty() || !o.around.empty()) return;
    const meter::Mode mode = wanted_mode(o);
    if (!meter::drives_circuit(mode))
        bench.connect({o.red, o.black, ""}, meter::input_resistance(wanted_meter(o, mode), mode));
}

meter::Context set_by_hand(const ReadOptions& o) {
    meter::Context set;
    if (o.range > 0.0) set.manual_range = o.range;
    set.relative = o.zero;
    set.test_V = o.test_V;
    if (o.coupled_F > 0.0) set.source_F = o.coupled_F;
    if (std::isfinite(o.temperature)) set.temperature_degC = o.temperature;
    return set;
}

// One reading on its bench.
struct OnSite {
    const ReadOptions& o;
    bench::Conduct conduct{o.bench.anyway};
    bench::Bench bench = make_bench(o.bench, conduct, false);
    std::vector<LeftMeter> left = leave_meters(bench, o.left, conduct);
    bool timed = o.at >= 0.0 || o.inrush();
    plant::Settled settled = {};

    // Until the moment that is read.
    void wait() {
        Progress progress(tr("settling"));
        if (timed) {
            if (o.placed > 0.0) bench.advance(std::min(o.placed, o.at));
            if (o.watch == 0.0) place_leads(bench, o);
            if (o.at > bench.time()) bench.advance(o.at - bench.time());
        } else {
            warm_up(bench, o.bench.warm);
            settled = bench.settle(60.0, [&](double f) { return progress(f); });
        }
    }

    void tell_gauge() {
        const bench::Observation what{.gauge = o.red};
        const auto hazards = bench::joined(conduct.hazards(), bench::hazards({what}, bench::Station::running, bench));
        const auto g = bench.gauge(o.red);
        if (o.json) {
            nlohmann::json j = report::gauge_json(o.red, g);
            j["drive"] = report::drive_json(bench);
            j["cautions"] = bench::words(hazards);
            j["unsafe"] = unsafe_json(conduct);
            fmt::print("{}\n", j.dump(2));
        } else {
            print_cautions(hazards, stdout);
            fmt::print("{}: {} ({})\n", o.red, g.shown(), g.how);
            print_unsafe(conduct, stdout);
        }
    }

    // seen: what a display shows, and the reading in it.
    template <class Seen, class Json>
    void tell(const Seen& seen, meter::Reading& r, const bench::Observation& what, Json json) {
        r.cautions = bench::words(conduct.hazards());
        warn_unsettled(r, what.probes);
        if (!o.json) {
            print(seen, what.spec(), what.mode, o);
            print_left();
            if (const std::string line = drive_line(bench); !line.empty())
                fmt::print("\n  {}\n", say("drive: {}", line));
            if (!timed) fmt::print("  {}\n", warm_line(bench, o.bench.warm));
            return print_unsafe(conduct, stdout);
        }
        nlohmann::json j = json(seen);
        j["drive"] = report::drive_json(bench);
        j["motor_degC"] = bench.state().slow.winding_degC;
        for (const LeftMeter& m : left)
            j["left"].push_back({{"meter", m.spec.name},
                                 {"mode", meter::mode_name(m.mode)},
                                 {"red", m.probes.red},
                                 {"black", m.probes.black},
                                 {"ohm", m.ohm}});
        j["hazards"] = hazards_json(conduct.hazards());
        j["unsafe"] = unsafe_json(conduct);
        fmt::print("{}\n", j.dump(2));
    }

  private:
    void warn_unsettled(meter::Reading& r, const bench::Probes& probes) const {
        if (timed) return;
        if (!settled.settled && !bench.still_at(probes)) r.warnings.push_back(tr("not settled"));
        if (settled.discharging)
            r.warnings.push_back(say("the link is cut off and still discharging: {} on it {} after",
                                     text::quantity(bench.state().x[plant::v_cap], "V", 3),
                                     text::quantity(settled.seconds, "s", 2)));
    }
    void print_left() const {
        for (const LeftMeter& m : left)
            fmt::print("\n  {}\n", say("left in place: {}, {}, {} between {} and {}", tr(m.spec.name),
                                       std::string(meter::mode_name(m.mode)), text::quantity(m.ohm, "ohm", 3),
                                       m.probes.red, m.probes.black));
    }
};

// Throws BadInput where points and mode do not belong together.
bench::Observation what_is_read(const ReadOptions& o) {
    if (o.around.empty() && (o.red.empty() || o.black.empty()))
        throw site::BadInput(
            say("--red, --black: two points are wanted, or --around for a clamp, or --red with a gauge ({})",
                text::spaced(bench::Bench::gauges())));
    const meter::Mode mode = wanted_mode(o);
    if (meter::takes_clamp(mode) != !o.around.empty())
        throw site::BadInput(o.around.empty()
                                 ? say("--mode: {} takes a clamp, expected --around POINT", meter::mode_name(mode))
                                 : say("--mode: {} takes probes, expected --red and --black", meter::mode_name(mode)));
    if (o.coupled_F > 0.0 && (meter::takes_clamp(mode) || meter::drives_circuit(mode)))
        throw site::BadInput(say("--coupled: {}: expected a mode that reads a voltage", meter::mode_name(mode)));
    if (o.coupled_F > 0.0 && o.watch > 0.0) throw site::BadInput(tr("--coupled, --watch: expected one of them"));
    return {{o.red, o.black, o.around},
            mode,
            "",
            std::make_shared<const meter::Spec>(wanted_meter(o, mode)),
            set_by_hand(o)};
}

int read(const ReadOptions& o) {
    OnSite at{o};
    at.wait();
    if (bench::Bench::is_gauge(o.red)) {
        at.tell_gauge();
        return 0;
    }
    const bench::Observation what = what_is_read(o);
    bench::Bench& bench = at.bench;
    at.conduct.before(bench::scene(*bench.site(), bench.plant().look(bench.state())), what.probes, what.mode,
                      &what.spec());
    // What is told of the drive is of the end of the watching.
    if (o.inrush()) {
        const double waits = o.watch > 0.0 ? o.watch : inrush_wait_s;
        meter::Surge s = bench::surge(bench, what, waits, o.trigger);
        bench.advance(waits);
        at.tell(s, s.reading, what, surge_json);
    } else if (o.watch > 0.0) {
        meter::Watch w = bench::watch(bench, what, o.watch);
        bench.advance(o.watch);
        at.tell(w, w.reading, what, watch_json);
    } else {
        meter::Reading r = bench::observe(bench, what);
        at.tell(r, r, what, report::reading_json);
    }
    return 0;
}

}  // namespace

Run add_read(CLI::App& app) {
    auto o = std::make_shared<ReadOptions>();
    add_bench_options(app, o->bench);
    add_warm(app, o->bench);
    app.add_option("--red", o->red,
                   say("test point of the red lead, or a gauge: {} (connector_temp: the hottest; connector_temp.s1.m3- "
                       "that one)",
                       text::spaced(bench::Bench::gauges())))
        ->type_name("POINT");
    app.add_option("--black", o->black, tr("test point of the black lead"))->type_name("POINT");
    app.add_option(
           "--around", o->around,
           tr("conductor a clamp is closed round, or several: u,v or u,-v (minus: passes the jaws the other way)"))
        ->type_name("POINT");
    app.add_option("--meter", o->meter, tr("meter by name or file; default: the plainest that has the mode"))
        ->type_name("NAME");
    app.add_option("--mode", o->mode,
                   "dcv acv acdcv acv-lowpass acv-loaded dcv-loaded ohm continuity diode hz duty insulation cap aca "
                   "dca inrush")
        ->type_name("MODE");
    app.add_option("--at", o->at, tr("read so many simulated seconds after switching on; default: when settled"))
        ->type_name("SECONDS")
        ->check(within(0.0, 86400.0));
    app.add_option("--placed", o->placed, tr("with --at: when the leads are placed; default: from the start"))
        ->type_name("SECONDS")
        ->check(within(0.0, 86400.0));
    add_repeated(app, "--left", o->left, "METER@RED:BLACK[@MODE]",
                 tr("a second meter that stays on these points and loads them; may be repeated"));
    app.add_option("--range", o->range, tr("manual range, full scale in SI units"))
        ->type_name("VALUE")
        ->check(within(0.0, 1e15));
    app.add_option(
           "--watch", o->watch,
           tr("what the display shows over so many seconds from then on; inrush: how long the clamp waits (10)"))
        ->type_name("SECONDS")
        ->check(within(0.0, 3600.0));
    app.add_option("--trigger", o->trigger,
                   tr("inrush: current that triggers the clamp, A; default: a fiftieth of the range"))
        ->type_name("AMPERE")
        ->check(within(0.0, 1e4));
    app.add_flag("--zero", o->zero,
                 tr("zeroed first: leads touched together (ohm, continuity), or the empty jaws closed (dca)"));
    app.add_option("--test-voltage", o->test_V, tr("insulation: test voltage; default: the lowest from 500 V on"))
        ->type_name("VOLT")
        ->check(within(0.0, 2e4));
    app.add_option("--degC", o->temperature, tr("insulation: temperature of what is tested; default 20"))
        ->type_name("DEGREES")
        ->check(within(-40.0, 150.0));
    app.add_option("--coupled", o->coupled_F,
                   tr("the red lead lies on a wire that is only coupled to its point, through this capacitance: a "
                      "ghost voltage"))
        ->type_name("FARAD")
        ->check(within(0.0, 1e-3));
    app.add_option("--test", o->test, tr("all readings of a field test of `sunshaft tests`, in the state it asks for"))
        ->type_name("ID")
        ->excludes("--red")
        ->excludes("--around")
        ->excludes("--mode")
        ->excludes("--meter")
        ->excludes("--watch");
    app.add_flag("--json", o->json, tr("print one JSON object"));
    app.footer(
        "Example: sunshaft read hill-orchard --red drive.u --black drive.v --meter true-rms --fault "
        "high-resistance-splice@v=2.4\n"
        "         sunshaft read hill-orchard --around u --mode inrush\n"
        "         sunshaft read terrace-pwm --red drive.u --black drive.v --mode acv-loaded --meter low-impedance "
        "--coupled 12e-9\n"
        "         sunshaft read hill-orchard --red drive.u --black drive.v --meter true-rms --at 0 --watch 8\n"
        "         sunshaft read hill-orchard --fault leaky-connector@s1.m5- --fault open-string@s2 --do open@isolator\n"
        "                  --red array+ --black array- --left low-impedance@array+:array-");
    return [o] {
        if (!o->test.empty()) return read_test(o->bench, o->test, o->at >= 0.0 ? o->at : 8.0, o->json);
        return read(*o);
    };
}

}  // namespace sunshaft::cli
