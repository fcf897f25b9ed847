#include "diagnose/facts.hpp"

#include <fmt/format.h>

#include <algorithm>
#include <cmath>

#include "bench/field_tests.hpp"
#include "bench/hands.hpp"
#include "bench/senses.hpp"
#include "day/skies.hpp"
#include "diagnose/history.hpp"
#include "diagnose/today.hpp"
#include "site/keys.hpp"
#include "site/points.hpp"
#include "text/figure.hpp"
#include "text/heard.hpp"
#include "text/language.hpp"

namespace sunshaft::diagnose {
namespace {

using meter::Mode;
using text::say, text::tr;

constexpr double insulation_top = 5e8;  // ohm: above, testers and weather differ more than sites

// How well a gauge is read, of the value and SI; as the field tests have it, the rest common practice, no source.
struct Gauge {
    const char *name, *unit;
    double share, least;
};
constexpr Gauge gauges[] = {{"flow", "m3/h", 0.03, 2e-5},     {"head", "m", 0.02, 0.5},
                            {"water", "m", 0.0, 0.1},         {"tank", "m3", 0.03, 0.1},
                            {"sun", "W/m2", 0.05, 5.0},       {"module_temp", "degC", 0.0, 3.0},
                            {"joint_temp", "degC", 0.0, 5.0}, {"connector_temp", "degC", 0.0, 5.0},
                            {"cell_temp", "degC", 0.0, 5.0},  {"drive_V", "V", 0.02, 1.0},
                            {"drive_Hz", "Hz", 0.005, 0.2},   {"drive_A", "A", 0.04, 0.1}};

const text::Heard lit_words{"on", "lit", "yes", "blinks", "blinking"}, dark_words{"off", "dark", "no"};
// The complaint itself, and what makes it another one.
const text::Heard nothing_comes{"does not pump", "doesn't pump",   "is not pumping",        "isn't pumping",
                                "pumps nothing", "no water comes", "no water at the outlet"},
    only_that{"no water"}, some_comes{"enough", "as much", "as before", "pump well", "less"};

class FactsReader {
  public:
    FactsReader(const Case& c, const Scenario& s, const Priors& p)
        : case_(c), works_(site::set_up(s)), scenario_(s), priors_(p) {}

    Facts read() {
        sky();
        for (std::size_t n = 0; n < case_.seen.size(); ++n) one(n, case_.seen[n]);
        for (const std::string& said : case_.intake)
            if (const auto sensed = sensed_in_passing(said)) {
                Fact f;
                f.seen = case_.seen.size();  // none of the readings
                of_sense(std::move(f), *sensed, said);
            } else if (!priors_.understood(said) && !told(said)) {
                out_.notes.push_back(say("intake: not understood, not weighed: {}", said));
            }
        return std::move(out_);
    }

  private:
    void aside(std::size_t n, std::string_view why) {
        const Seen& s = case_.seen[n];
        out_.notes.push_back(say("reading {}, {}: {}", n, s.what(), why));
    }

    void sky() {
        const auto add = [&](const char* gauge, double value, double sd, const char* unit) {
            Fact f;
            f.seen = case_.seen.size();  // none of the readings
            f.looks = {{{}, Mode::dcv, gauge, "", false}};
            f.value = value;
            f.sd = sd;
            f.unit = unit;
            f.text = text::quantity(value, unit);
            out_.list.push_back(std::move(f));
        };
        if (works_.supply.kind != site::Supply::Kind::array) return;
        const day::SunSource& source = day::shipped_skies().source(case_.sky_source);
        out_.sun_swing = source.swing;
        if (std::isfinite(case_.irradiance)) add("sun", case_.irradiance, source.band * case_.irradiance + 5.0, "W/m2");
        if (std::isfinite(case_.module_degC)) add("module_temp", case_.module_degC, source.module_K, "degC");
        if (hour_amiss(case_, scenario_))
            out_.notes.push_back(
                say("sky: at {} the sun here cannot give {}", case_.sky_at, text::quantity(case_.irradiance, "W/m2")));
        if (!source.caution.empty()) out_.notes.push_back(say("sky: {}", tr(source.caution)));
    }

    // What was done first. Nothing: not understood.
    std::optional<State> state_of(std::size_t n, const Seen& s) {
        State state;
        std::vector<std::string> standing;
        for (const std::string& text : s.act) {
            try {
                const site::Act act = site::parse_act(text, works_);
                site::stands(standing, act.kind, act.place);
            } catch (const site::BadInput& why) {
                const std::string kind = text.substr(0, text.find('@'));
                const auto& rows = site::act_catalogue();
                const bool known =
                    std::any_of(rows.begin(), rows.end(), [&](const site::ActRow& row) { return kind == row.kind; });
                const auto at = s.where.find("do");
                if (known)  // the act there is, the place is not
                    throw site::BadInput(fmt::format("{}: seen.do: {}", at == s.where.end() ? "case" : at->second,
                                                     site::on_one_line(why.what(), 300)));
                aside(n,
                      say("\"{}\" is no act this program knows; the reading is not weighed", site::on_one_line(text)));
                return std::nullopt;
            }
        }
        for (const std::string& act : standing) state.acts.push_back(site::parse_act(act, works_));
        state.after_s = s.after_s;
        if (s.moment == "start" || s.moment == "stopping") {
            aside(n, s.moment == "start" ? tr("read at the start: kept, not weighed")
                                         : tr("read at the stop: kept, not weighed"));
            return std::nullopt;
        }
        if (s.moment == "hot" && !state.acts.empty() && !std::isfinite(state.after_s)) state.after_s = 60.0;
        else if (!s.moment.empty() && s.moment != "running" && s.moment != "cold" && s.moment != "hot")
            aside(n, say("moment \"{}\" is not understood; taken as it stands", s.moment));
        return state;
    }

    void one(std::size_t n, const Seen& s) {
        const auto state = state_of(n, s);
        if (!state) return;
        Fact f;
        f.seen = n;
        f.state = *state;
        f.well = s.when == "well";
        const auto sensed = [&](const std::string& name, const std::string& words) {
            const auto number = bench::told_in_words(name) ? bench::sense_told(name, words) : std::nullopt;
            if (number) of_sense(f, {name, *number}, words);
            return number.has_value();
        };
        if (sensed(s.gauge, s.shown) || sensed("sound", s.sound)) return;
        if (const auto told = bench::sensed_in(s.look)) return of_sense(f, *told, s.look);
        if (sensed("outlet", s.look) || sensed("settles", s.look)) return;
        if (!s.gauge.empty()) return gauge(n, s, f);
        if (!s.lamp.empty()) return lamp(n, s, f);
        for (const std::string* words : {&s.sound, &s.look, &s.message})
            if (!words->empty()) {
                f.kind = Fact::Kind::behaves;
                f.means = priors_.means(*words);
                f.text = *words;
                if (f.means.empty()) return aside(n, say("not understood, not weighed: {}", *words));
                return add(std::move(f));
            }
        if (s.around.empty() && (s.red.empty() || s.black.empty())) {
            if (!s.shown.empty() || s.act.empty()) aside(n, tr("nothing was looked at that could be weighed"));
            return;
        }
        with_meter(n, s, f);
    }

    void of_sense(Fact f, const bench::Sensed& told, const std::string& words) {
        f.kind = Fact::Kind::says;
        f.looks = {{{}, Mode::dcv, told.gauge, "", false}};
        f.value = told.number;
        f.text = words;
        add(std::move(f));
    }

    void gauge(std::size_t n, const Seen& s, Fact f) {
        if (bench::told_in_words(s.gauge)) return aside(n, say("not understood, not weighed: {}", s.shown));
        const Gauge* row = nullptr;
        for (const Gauge& g : gauges)
            if (s.gauge == g.name || s.gauge.starts_with(std::string(g.name) + ".")) row = &g;
        if (!row) return aside(n, say("\"{}\" is no gauge this program knows", site::on_one_line(s.gauge)));
        f.looks = {{{}, Mode::dcv, s.gauge, "", false}};
        // The drive's display, and nothing on it: none of its figures.
        const bool blank = s.gauge.starts_with("drive_") && dark_words.is(text::folded(s.shown));
        Typed t = typed(blank ? "0" : s.shown, row->unit);
        if (s.gauge == "tank" && t.kind == Typed::Kind::words)  // its height stands nowhere
            return aside(n, say("expected m3, litres or a share of the tank: {}", site::on_one_line(s.shown)));
        if (t.unit.empty() && t.kind == Typed::Kind::figure) {  // a tank told as a share
            const double full = works_.water.tank.volume;
            t.value *= full, t.low *= full, t.high *= full, t.unit = "m3";
        }
        f.share = row->share;
        f.least = row->least;
        shown(n, t, std::move(f));
    }

    void lamp(std::size_t n, const Seen& s, Fact f) {
        std::string lamp;
        for (const drive::Lamp& l : drive::lamps({}))
            for (const std::string& way : text::said(l.name))
                if (text::folded(s.lamp) == way) lamp = l.name;
        if (lamp.empty()) return aside(n, say("\"{}\" is no lamp of this drive", site::on_one_line(s.lamp)));
        const bool on = lit_words.is(text::folded(s.shown)), off = dark_words.is(text::folded(s.shown));
        if (!on && !off) return aside(n, say("expected on, off or blinks: {}", site::on_one_line(s.shown)));
        f.kind = Fact::Kind::behaves;
        f.means = {"lamp " + lamp};
        f.denied = off;
        f.text = s.shown;
        add(std::move(f));
    }

    void with_meter(std::size_t n, const Seen& s, Fact f) {
        const auto told = mode_of(s);
        if (!told) return aside(n, say("mode \"{}\" is not known", site::on_one_line(s.mode)));
        const Mode mode = *told;
        if (meter::takes_clamp(mode) == s.around.empty())
            return aside(n, tr("the mode does not go with where it was read"));
        Look look{{s.red, s.black, s.around}, mode, "", "", s.zeroed || std::isfinite(s.leads_ohm)};
        bool known = false;
        if (!s.meter.empty()) {
            try {
                known = meter::find_spec(s.meter).has(mode);
                if (!known) aside(n, say("{} has no {}; taken as an unknown meter", s.meter, s.mode));
            } catch (const meter::SpecError&) {
                aside(n, say("\"{}\" is no meter of `sunshaft meters`; taken as an unknown one",
                             site::on_one_line(s.meter)));
            }
        }
        if (known) {
            look.meter = s.meter;
            f.looks = {look};
        } else if (mode == Mode::acv) {  // does it say TRMS? Then both are possible
            for (const char* kind : {"average", "true-rms"}) f.looks.push_back(look), f.looks.back().meter = kind;
        } else {
            f.looks = {look};
        }
        f.gain = fmt::format("{} {}", known ? s.meter : "?", meter::mode_name(mode));
        // What an unknown meter can be off by (common practice, no source): a clamp or a voltmeter on a switched wave
        // more than one on direct volts.
        f.gain_sd = known ? 0.0 : mode == Mode::aca || mode == Mode::acv ? 0.025 : 0.012;
        f.log = mode == Mode::insulation || mode == Mode::cap;
        f.share = f.state.running() && !meter::drives_circuit(mode) ? 0.008 : 0.004;
        if (mode == Mode::insulation) f.share = 0.6;  // weather moves it by half a decade and more
        if (mode == Mode::ohm) f.least = 0.04;        // leads and contact, from one touch to the next
        const char* usual = mode == Mode::insulation ? "Mohm" : mode == Mode::cap ? "nF" : nullptr;
        Typed t = typed(s.shown, usual ? usual : meter::unit_of(mode));
        if (std::isfinite(s.leads_ohm) && t.kind == Typed::Kind::figure && mode == Mode::ohm)
            t.value -= s.leads_ohm, t.low -= s.leads_ohm, t.high -= s.leads_ohm;
        shown(n, t, std::move(f));
    }

    void shown(std::size_t n, const Typed& t, Fact f) {
        f.unit = t.unit;
        f.text = t.read_back();
        switch (t.kind) {
            case Typed::Kind::nothing:
            case Typed::Kind::words: return aside(n, t.read_back());
            case Typed::Kind::over:
                f.kind = Fact::Kind::over;
                f.over_from = t.low;
                return add(std::move(f));
            case Typed::Kind::figure: break;
        }
        f.value = t.value;
        f.at_most = t.at_most;
        f.at_least = t.at_least;
        if (f.log && t.value <= 0.0) {  // "0.00 Mohm": less than its display can show
            constexpr double least_ohm = 1e4, least_F = 1e-11;
            f.value = f.looks.front().mode == Mode::cap ? least_F : least_ohm;
            f.at_most = true;
        }
        // Half the width of what was said is two standard deviations of "about", and all of a jump.
        if (std::isfinite(t.low) && std::isfinite(t.high)) f.sd = 0.5 * (t.high - t.low) * (t.about ? 1.0 : 0.6);
        if (t.moves != Typed::Moves::no && t.moves != Typed::Moves::jumps) f.sd += 0.05 * std::abs(t.value);
        add(std::move(f));
    }

    void add(Fact f) {
        for (Fact& old : out_.list) {
            if (old.kind == Fact::Kind::behaves || f.kind == Fact::Kind::behaves || old.seen == case_.seen.size() ||
                old.kind == Fact::Kind::says || f.kind == Fact::Kind::says || old.state.key() != f.state.key() ||
                old.looks.front().key() != f.looks.front().key() || old.well != f.well || old.gain != f.gain)
                continue;
            const double apart = std::abs(old.value - f.value), bears = 3 * (old.sd + f.sd) + 0.02 * std::abs(f.value);
            if (old.kind == f.kind && old.at_most == f.at_most && old.at_least == f.at_least && apart <= bears) {
                ++old.repeats;
                old.value += (f.value - old.value) / static_cast<double>(old.repeats);
                return;
            }
            out_.contradicted.push_back({old.seen, say("read again since: {} before, {} now", old.text, f.text)});
            f.repeats = 1;
            old = std::move(f);
            return;
        }
        const auto said_before = [&f](const Fact& old) {
            if (old.kind != f.kind || old.state.key() != f.state.key()) return false;
            if (f.kind == Fact::Kind::behaves) return old.means == f.means && old.denied == f.denied;
            return f.kind == Fact::Kind::says && old.value == f.value &&
                   old.looks.front().gauge == f.looks.front().gauge;
        };
        if (std::ranges::any_of(out_.list, said_before)) return;
        out_.list.push_back(std::move(f));
    }

    const Case& case_;
    site::Works works_;
    const Scenario& scenario_;
    const Priors& priors_;
    Facts out_;
};

}  // namespace

std::optional<Mode> mode_of(const Seen& s) {
    if (!s.mode.empty()) return meter::mode_from(s.mode == "acv-lowz" ? "acv-loaded" : s.mode);
    if (!s.around.empty()) return bench::clamp_mode(s.around);
    const bool output = site::on_output(site::part_of(s.red)) && site::on_output(site::part_of(s.black));
    return output ? Mode::acv : Mode::dcv;
}

std::optional<bench::Sensed> sensed_in_passing(const std::string& said) {
    const auto sensed = bench::sensed_in(said);
    if (sensed && (sensed->gauge == "smell" || sensed->gauge == "box")) return sensed;
    // "Stops at noon, no water comes then" tells of other hours than this one.
    const std::string words = text::folded(said);
    if (!(nothing_comes.in(words) || only_that.is(words)) || some_comes.as_word_in(words) || told(said))
        return std::nullopt;
    return bench::Sensed{"outlet", *bench::sense_told("outlet", "no water")};
}

Facts facts(const Case& c, const Scenario& scenario, const Priors& priors) {
    return FactsReader(c, scenario, priors).read();
}

double compared(const Fact& f, double value) {
    if (!f.log) return value;
    return std::log(std::clamp(std::abs(value), f.unit == "F" ? 1e-12 : 1.0, insulation_top));
}

Shown met(const Fact& f, const Shown& shown) {
    Shown out = shown;
    if (f.well || !(std::isfinite(shown.waits) && shown.kind == Shown::Kind::figure)) return out;
    const double read = compared(f, f.value);
    if (std::abs(compared(f, shown.waits) - read) < std::abs(compared(f, shown.value) - read)) out.value = shown.waits;
    return out;
}

bool found_stopped(const Facts& facts) {
    const auto row = drive::lamps({});
    bool stopped = false;
    for (const Fact& f : facts.list) {
        if (f.well || !f.state.running()) continue;
        const auto lit = [&](std::string_view name) {
            if (f.kind == Fact::Kind::behaves)
                return !f.denied &&
                       std::find(f.means.begin(), f.means.end(), fmt::format("lamp {}", name)) != f.means.end();
            if (f.kind != Fact::Kind::says || f.looks.front().gauge != "lamps") return false;
            const auto at = std::find_if(row.begin(), row.end(), [&](const drive::Lamp& l) { return name == l.name; });
            return (static_cast<unsigned>(f.value + 0.5) >> (at - row.begin()) & 1U) != 0;
        };
        if (lit("tripped") || lit("locked out")) stopped = true;
        else if (lit("running")) stopped = false;
    }
    return stopped;
}

bool lamp_on(const Behaviour& b, const std::string& name) {
    // One that has tripped as it ran: found so, or as it waits, or locked out in the end.
    std::vector<drive::Phase> phases{b.phase};
    if (b.trips > 0) phases.insert(phases.end(), {drive::Phase::tripped, drive::Phase::locked});
    return std::any_of(phases.begin(), phases.end(), [&](drive::Phase phase) {
        drive::ControlState control;
        control.phase = phase;
        const auto lamps = drive::lamps(control);
        return std::any_of(lamps.begin(), lamps.end(), [&](const drive::Lamp& l) { return l.on && name == l.name; });
    });
}

}  // namespace sunshaft::diagnose
