// What reaches a meter through the hand that holds it, then the meter's own chain.
#include "bench/observe.hpp"

#include <fmt/format.h>

#include <algorithm>
#include <cmath>
#include <numbers>

#include "bench/hands.hpp"
#include "bench/hazards.hpp"
#include "bench/held.hpp"
#include "bench/places.hpp"
#include "meter/display.hpp"
#include "meter/filter.hpp"
#include "plant/surges.hpp"
#include "site/keys.hpp"
#include "text/language.hpp"
#include "trace/statistics.hpp"

namespace sunshaft::bench {
namespace {

constexpr double chunk_s = 0.25;       // a live stretch is recorded in one go
constexpr double still_step_s = 0.02;  // between two solutions of the resting network while a display is watched

// Several signals over the same break points, from a column on, added with their signs.
void append(trace::Trace& wave, const trace::Recording& from, const std::vector<double>& signs,
            std::size_t column = 0) {
    wave.reserve(wave.size() + from.rows());
    for (std::size_t n = 0; n < from.rows(); ++n) {
        trace::Segment s{from.t0[n], from.t1[n], 0.0, 0.0};
        for (std::size_t k = 0; k < signs.size(); ++k)
            s.y0 += signs[k] * from.y0[column + k][n], s.y1 += signs[k] * from.y1[column + k][n];
        if (!wave.empty()) s.t0 = wave.back().t1;  // stretches meet but for rounding
        if (s.t1 > s.t0) wave.push_back(s);
    }
}

// All three lines, or both poles, have a name of their own.
std::string gathered(const std::string& around) {
    std::vector<std::string> names;
    for (const Strand& s : strands(around)) {
        if (s.sign < 0.0) return around;
        names.push_back(s.name);
    }
    std::sort(names.begin(), names.end());
    if (names == std::vector<std::string>{"u", "v", "w"}) return "uvw";
    if (names == std::vector<std::string>{"dc+", "dc-"}) return "dc";
    return around;
}

// What there is to say of the way to the meter, beside the reading's own reasons.
struct Arrived {
    bool loose = false;              // the points hang on nothing common
    std::optional<double> jack_A{};  // the red lead sits in the current jack: what flows there; 0: its fuse is blown
};

void warn(const Held& h, const Arrived& arrived, meter::Words tell) {
    if (arrived.loose)
        tell.warn("{} and {} hang on nothing common: the meter's own resistance pulls them together", h.probes.red,
                  h.probes.black);
    if (!arrived.jack_A) return;
    const double ampere = *arrived.jack_A;
    if (ampere > h.jack_fuse_A)
        tell.warn(
            "the red lead sits in the current jack. {} would flow through the meter: its {} fuse blows, if it is a "
            "good one. The voltage input sees nothing",
            tell("jack_A", ampere, "A"), tell("jack_fuse_A", h.jack_fuse_A, "A"));
    else if (ampere > 0.0)
        tell.warn(
            "the red lead sits in the current jack. {} flow through the meter as through a wire. The voltage input "
            "sees nothing",
            tell("jack_A", ampere, "A"));
    else tell.warn("the red lead sits in the current jack behind a blown fuse: the voltage input sees nothing");
}

// A drive terminal with its wire off and both its devices blocked for good is tied to the link by their leakage alone:
// half the link behind half of one device's resistance (tens of microamperes at some hundred volts; no source).
double floating_ohm(const site::Works& works, const std::string& point) {
    constexpr double device_ohm = 10e6;
    if (!of_drive(point)) return 0.0;
    const std::size_t k = std::string("uvw").find(point.back());
    if (k > 2) return 0.0;
    const auto& leg = works.bridge.legs[k];
    const bool blocked = leg.upper == drive::Device::open && leg.lower == drive::Device::open;
    return blocked && works.phases[k].terminal.open ? 0.5 * device_ohm : 0.0;
}

Held hold(const Bench& bench, const Observation& what) {
    const site::Works& works = bench.site()->works;
    const site::Hands& hands = works.hands;
    Held h{what.spec(), what.mode, what.probes, {}, {}, {}};
    meter::Context extra = what.set;
    mishandle(hands, h.spec, h.mode, h.probes, extra);
    h.context = bench.context(h.probes);
    h.context.keep_waves = extra.keep_waves;
    h.context.value_alone = extra.value_alone;
    h.context.manual_range = extra.manual_range;
    h.context.test_V = extra.test_V;
    h.context.temperature_degC = extra.temperature_degC;
    h.context.relative = extra.relative;
    h.context.source_F = extra.source_F;
    // a broken one is read_driven()'s and through_leads()' business
    if (std::isfinite(hands.lead_ohm)) h.context.lead_ohm = hands.lead_ohm;
    (void)h.spec.function(h.mode);
    if (meter::drives_circuit(h.mode)) return h;
    const bool clamp = meter::takes_clamp(h.mode);
    if (clamp && h.probes.around.empty())
        throw site::BadInput(text::say("{} takes a clamp closed round a conductor", meter::mode_name(h.mode)));
    LeadLoss leads = through_leads(hands, clamp ? 0.0 : meter::input_resistance(h.spec, h.mode));
    if (hands.current_jack && !clamp) {
        const bool own = h.spec.jack_ohm > 0.0;
        leads = {0.0, hands.fuse_blown ? 0.0 : own ? h.spec.jack_ohm : usual_jack_ohm};
        h.jack_fuse_A = own ? h.spec.jack_fuse_A : usual_jack_fuse_A;
    }
    h.load_ohm = leads.load_ohm;
    if (h.context.source_F && !clamp) {  // what the capacitance lets through is nothing to the circuit
        h.coupled_Hz = 1.0 / (2.0 * std::numbers::pi * h.load_ohm * *h.context.source_F);
        h.load_ohm = 0.0;
        h.context.output = false;  // the wire beside feeds no motor, and its ratio to the link says nothing
        h.context.link_V.reset();
    }
    h.context.reaches = leads.share;
    h.context.reference = 1.0 - hands.battery_low;
    if (clamp) {
        h.probes.around = gathered(h.probes.around);
        h.context.red = h.probes.around;
        for (const Strand& s : strands(h.probes.around)) {
            h.names.push_back("around." + s.name);
            h.signs.push_back(s.sign);
        }
        if (const std::string next = neighbour(works, h.probes.around); hands.two_conductors && !next.empty()) {
            h.names.push_back("around." + next);
            h.signs.push_back(1.0);
        }
    } else {
        h.names = {h.probes.red + ":" + h.probes.black};
        h.signs = {1.0};
        h.behind_ohm = floating_ohm(works, h.probes.red) + floating_ohm(works, h.probes.black);
        if (h.behind_ohm > 0.0) h.context.source_ohm = h.behind_ohm;
    }
    return h;
}

// The wave as it comes to the meter's terminals.
Arrived arrive(const Bench& bench, const Held& h, trace::Trace& wave) {
    Arrived arrived;
    for (trace::Segment& s : wave)
        if (!std::isfinite(s.y0) || !std::isfinite(s.y1)) s.y0 = s.y1 = 0.0, arrived.loose = true;
    const site::Works& w = bench.site()->works;
    if (!meter::takes_clamp(h.mode) && plant::at_motor(h.names.front()))
        if (const auto line = plant::surge_line(w)) wave = plant::with_surges(*line, plant::edge_s(w, *line), wave);
    if (h.jack_fuse_A > 0.0) arrived.jack_A = h.load_ohm > 0.0 ? trace::statistics(wave).rms / h.load_ohm : 0.0;
    if (h.behind_ohm > 0.0 && h.load_ohm > 0.0) wave = trace::scaled(wave, h.load_ohm / (h.load_ohm + h.behind_ohm));
    if (h.coupled_Hz > 0.0) wave = meter::Filter{}.high_pass(h.coupled_Hz).wave(wave, 1e-5);
    return arrived;
}

void finish(const Bench& bench, const Held& h, const Arrived& arrived, meter::Reading& r) {
    if (h.context.value_alone) return;
    warn(h, arrived, meter::Words(r));
    r.cautions = words(needs(scene(*bench.site(), bench.plant().look(bench.state())), h.probes, h.mode, &h.spec));
}

// The running plant, with the leads where they lie.
template <class Go>
void record_live(Bench& bench, const Held& h, trace::Trace& wave, Go go) {
    bench.connect(meter::takes_clamp(h.mode) ? Probes{} : h.probes, h.load_ohm);
    std::vector<plant::Signal> signals;
    for (const std::string& name : h.names) signals.push_back(plant::signal(*bench.site(), name));
    plant::Recorder recorder(signals);
    go(recorder);
    append(wave, recorder.recording, h.signs);
}

// Whole turns from now on, or the wiring at rest as a level.
trace::Trace record_turns(Bench& bench, const Held& h) {
    if (!meter::takes_clamp(h.mode) && bench.still_at(h.probes)) {
        if (bench.probes() != h.probes) bench.connect({}, 0.0);  // those leads are lifted
        const double v = bench.still_voltage(h.probes.red, h.probes.black, h.load_ohm);
        return {{0.0, 1.0, v, v}};
    }
    trace::Trace wave;
    record_live(bench, h, wave, [&](plant::Recorder& r) { bench.plant().advance_turns(bench.state(), 0.2, r); });
    return wave;
}

// A stretch of time, in which the site may come to rest and start again.
trace::Trace record_stretch(Bench& bench, const Held& h, double seconds) {
    const double until = bench.time() + seconds;
    const auto volt = [&] { return bench.still_voltage(h.probes.red, h.probes.black, h.load_ohm); };
    trace::Trace wave;
    bool rested = false;  // the piece before was still
    double v = 0.0;
    while (until - bench.time() > 1e-9) {
        const double left = until - bench.time(), from = wave.empty() ? bench.time() : wave.back().t1;
        if (meter::takes_clamp(h.mode) || !bench.still_at(h.probes)) {
            record_live(bench, h, wave, [&](plant::Recorder& r) { bench.advance(std::min(chunk_s, left), &r); });
            rested = false;
            continue;
        }
        bench.connect(h.probes, h.load_ohm);
        if (!rested) v = volt();
        bench.advance(left < 1.5 * still_step_s ? left : still_step_s);
        const double now = volt();
        wave.push_back({from, bench.time(), v, now});
        v = now;
        rested = true;
    }
    return wave;
}

// How much the meter itself takes away from a circuit at rest: what it sees it through.
void find_source(Bench& bench, Held& h, trace::View wave) {
    if (meter::takes_clamp(h.mode) || h.load_ohm <= 0.0 || h.context.reaches != 1.0 || !bench.still_at(h.probes))
        return;
    const double loaded = trace::statistics(wave).mean, open = bench.still_voltage(h.probes.red, h.probes.black, 0.0);
    if (std::abs(open) > 0.05 && std::abs(open) > 1.004 * std::abs(loaded) && loaded != 0.0 && open / loaded > 0.0)
        h.context.source_ohm = h.load_ohm * (open / loaded - 1.0);
}

}  // namespace

std::string Observation::where() const {
    if (!gauge.empty()) return gauge;
    return probes.around.empty() ? text::say("{} against {}", probes.red, probes.black)
                                 : text::say("clamp on {}", probes.around);
}

std::string Observation::id() const {
    if (!gauge.empty()) return gauge;
    return probes.around.empty() ? fmt::format("{} against {}", probes.red, probes.black)
                                 : fmt::format("clamp on {}", probes.around);
}

const meter::Spec& usual_meter(meter::Mode mode) {
    using meter::Mode;
    static const meter::Spec rms = meter::find_spec("true-rms"), plain = meter::find_spec("average"),
                             hall = meter::find_spec("clamp-hall"), ac = meter::find_spec("clamp-ac"),
                             tester = meter::find_spec("insulation");
    switch (mode) {
        case Mode::acv: return plain;
        case Mode::dca: return hall;
        case Mode::aca: return ac;
        case Mode::insulation: return tester;
        default: return rms;
    }
}

meter::Reading observe(const Bench& as_it_is, const Observation& what) {
    Bench bench(as_it_is);
    Held h = hold(bench, what);
    Arrived arrived;
    meter::Reading r;
    if (meter::drives_circuit(h.mode)) {
        r = read_driven(bench, h);
    } else {
        trace::Trace wave = record_turns(bench, h);
        arrived = arrive(bench, h, wave);
        find_source(bench, h, wave);
        r = meter::read(h.spec, h.mode, wave, h.context);
    }
    finish(bench, h, arrived, r);
    return r;
}

Grip grip(const Bench& bench, const Observation& what) {
    const Held h = hold(bench, what);
    Grip g{{}, h.probes, h.load_ohm};
    for (std::size_t n = 0; n < h.names.size(); ++n) g.signals.emplace_back(h.names[n], h.signs[n]);
    return g;
}

meter::Reading observe(const Bench& bench, const Observation& what, trace::Trace recorded) {
    const Held h = hold(bench, what);
    const Arrived arrived = arrive(bench, h, recorded);
    meter::Reading r = meter::read(h.spec, h.mode, recorded, h.context);
    finish(bench, h, arrived, r);
    return r;
}

namespace {

// The readings of one stretch of the running plant; those whose mode drives the circuit have none.
void read_together(Bench& bench, std::vector<Seen>& rows, double seconds) {
    std::vector<std::pair<Held, Seen*>> held;
    std::vector<plant::Signal> signals;
    for (Seen& row : rows) {
        if (!row.what.gauge.empty() || meter::drives_circuit(row.what.mode)) continue;
        Held h = hold(bench, row.what);
        if (meter::drives_circuit(h.mode)) continue;  // the hand turned it there
        held.emplace_back(std::move(h), &row);
        for (const std::string& name : held.back().first.names) signals.push_back(plant::signal(*bench.site(), name));
    }
    if (signals.empty()) return;
    plant::Recorder recorder(signals);
    bench.plant().advance_turns(bench.state(), seconds, recorder);
    std::size_t column = 0;
    std::optional<double> field_Hz;
    for (auto& [h, row] : held) {
        trace::Trace wave;
        append(wave, recorder.recording, h.signs, column);
        column += h.names.size();
        const Arrived arrived = arrive(bench, h, wave);
        // Found in the first wave that turns with the field (over a stretch it has moved), for the others that may. A
        // link's ripple is several times as quick: its periods are none of theirs.
        const bool turns = h.mode == meter::Mode::acv || h.mode == meter::Mode::aca;
        h.context.fundamental_Hz = turns ? field_Hz : std::nullopt;
        row->reading = meter::read(h.spec, h.mode, wave, h.context);
        if (const auto found = row->reading->truth.fundamental_Hz; turns && !field_Hz && found) {
            const double field = plant::fundamental(bench.plant(), bench.state());
            if (std::abs(*found - field) < 0.5 * field) field_Hz = found;
        }
        finish(bench, h, arrived, *row->reading);
    }
}

}  // namespace

std::vector<Seen> observe(const Bench& bench, const std::vector<Observation>& what, double seconds) {
    std::vector<Seen> seen;
    seen.reserve(what.size());
    for (const Observation& o : what) seen.push_back({o, {}, {}});
    Bench here(bench);
    for (Seen& s : seen) {
        if (!s.what.gauge.empty()) s.gauge = Bench(here).gauge(s.what.gauge, false);
        else if (meter::drives_circuit(s.what.mode) ? here.still_at(s.what.probes) : !here.state().command.running)
            s.reading = observe(here, s.what);
    }
    if (here.state().command.running) read_together(here, seen, seconds);
    return seen;
}

meter::Watch watch(const Bench& as_it_is, const Observation& what, double seconds) {
    Bench bench(as_it_is);
    const Held h = hold(bench, what);
    meter::check_watchable(h.mode);
    trace::Trace wave = record_stretch(bench, h, seconds);
    const Arrived arrived = arrive(bench, h, wave);
    meter::Watch w = meter::watch(h.spec, h.mode, wave, h.context);
    finish(bench, h, arrived, w.reading);
    return w;
}

meter::Surge surge(const Bench& as_it_is, const Observation& what, double seconds, double trigger_A) {
    Bench bench(as_it_is);
    const Held h = hold(bench, what);
    trace::Trace wave = record_stretch(bench, h, seconds);
    const Arrived arrived = arrive(bench, h, wave);
    meter::Surge s = meter::surge(h.spec, h.mode, wave, h.context, trigger_A);
    finish(bench, h, arrived, s.reading);
    return s;
}

}  // namespace sunshaft::bench
