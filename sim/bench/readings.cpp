// The bench's readings: what reaches a meter through the hand that holds it, then the meter's own chain.
#include <fmt/format.h>

#include <algorithm>
#include <cmath>
#include <numbers>

#include "bench/bench.hpp"
#include "bench/hands.hpp"
#include "bench/hazards.hpp"
#include "bench/places.hpp"
#include "meter/filter.hpp"
#include "site/keys.hpp"
#include "text/figure.hpp"
#include "trace/statistics.hpp"

namespace sunshaft::bench {
namespace {

constexpr double chunk_s = 0.25;       // a live stretch is recorded in one go
constexpr double still_step_s = 0.02;  // between two solutions of the resting network while a display is watched

// Several signals over the same break points, from a column on, added with their signs.
void append(trace::Trace& wave, const trace::Recording& from, const std::vector<double>& signs,
            std::size_t column = 0) {
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

// What flows where the red lead sits in the current jack.
std::string jack_note(double ampere, double fuse_A) {
    if (ampere > fuse_A)
        return fmt::format(
            "the red lead sits in the current jack: {} would flow through the meter, its {} fuse blows, if it is a "
            "good "
            "one; the voltage input sees nothing",
            text::quantity(ampere, "A", 3), text::quantity(fuse_A, "A", 3));
    if (ampere > 0.0)
        return fmt::format(
            "the red lead sits in the current jack: {} flow through the meter as through a wire; the voltage input "
            "sees "
            "nothing",
            text::quantity(ampere, "A", 3));
    return "the red lead sits in the current jack behind a blown fuse: the voltage input sees nothing";
}

// A drive terminal with its wire off and both its devices blocked for good is tied to the link by their leakage alone:
// half the link behind half of one device's resistance (from memory: tens of microamperes at some hundred volts).
double floating_ohm(const site::Works& works, const std::string& point) {
    constexpr double device_ohm = 10e6;
    if (!of_drive(point)) return 0.0;
    const std::size_t k = std::string("uvw").find(point.back());
    if (k > 2) return 0.0;
    const auto& leg = works.bridge.legs[k];
    const bool blocked = leg.upper == drive::Device::open && leg.lower == drive::Device::open;
    return blocked && works.phases[k].terminal.open ? 0.5 * device_ohm : 0.0;
}

}  // namespace

struct Bench::Held {
    meter::Spec spec;
    meter::Mode mode;
    Probes probes;
    meter::Context context;
    std::vector<std::string> names;  // of the signals to be recorded; none: the still bench
    std::vector<double> signs;       // of these
    double load_ohm = 0.0;           // load on the circuit
    double behind_ohm = 0.0;         // of a drive terminal that hangs on the leakage of its blocked devices alone
    double jack_fuse_A = 0.0;        // > 0: the red lead sits in the current jack
    // > 0: corner of a capacitance into the meter, which is all that ties the red lead
    double coupled_Hz = 0.0;
};

Bench::Held Bench::hold(const meter::Spec& asked, meter::Mode mode, const Probes& wanted, meter::Context extra) {
    const site::Hands hands = site_->works.hands;  // a copy: connect() puts another site in place
    Held h{asked, mode, wanted, {}, {}, {}};
    mishandle(hands, h.spec, h.mode, h.probes, extra);
    h.context = context(h.probes);
    h.context.keep_waves = extra.keep_waves;
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
        throw site::BadInput(fmt::format("{} takes a clamp closed round a conductor", meter::mode_name(h.mode)));
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
        if (const std::string next = neighbour(site_->works, h.probes.around); hands.two_conductors && !next.empty()) {
            h.names.push_back("around." + next);
            h.signs.push_back(1.0);
        }
    } else {
        h.names = {h.probes.red + ":" + h.probes.black};
        h.signs = {1.0};
        h.behind_ohm = floating_ohm(site_->works, h.probes.red) + floating_ohm(site_->works, h.probes.black);
        if (h.behind_ohm > 0.0) h.context.source_ohm = h.behind_ohm;
    }
    return h;
}

trace::Trace Bench::record(const Held& h, double seconds, std::vector<std::string>& notes) {
    const bool clamp = meter::takes_clamp(h.mode);
    trace::Trace wave;
    const auto live = [&](auto run) {
        connect(clamp ? Probes{} : h.probes, h.load_ohm);
        std::vector<plant::Signal> signals;
        for (const std::string& name : h.names) signals.push_back(plant::signal(*site_, name));
        plant::Recorder recorder(signals);
        run(recorder);
        append(wave, recorder.recording, h.signs);
    };
    if (seconds <= 0.0) {
        if (!clamp && still_at(h.probes)) {
            if (probes_ != h.probes) connect({}, 0.0);  // those leads are lifted
            const double v = still_voltage(h.probes.red, h.probes.black, h.load_ohm);
            wave = {{0.0, 1.0, v, v}};
        } else {
            live([&](plant::Recorder& r) { plant_->advance_turns(state_, 0.2, r); });
        }
    } else {
        const double until = state_.t + seconds;
        bool rested = false;  // the piece before was still
        double v = 0.0;
        while (until - state_.t > 1e-9) {
            const double left = until - state_.t, from = wave.empty() ? state_.t : wave.back().t1;
            if (clamp || !still_at(h.probes)) {
                live([&](plant::Recorder& r) { advance(std::min(chunk_s, left), &r); });
                rested = false;
                continue;
            }
            connect(h.probes, h.load_ohm);
            if (!rested) v = still_voltage(h.probes.red, h.probes.black, h.load_ohm);
            advance(left < 1.5 * still_step_s ? left : still_step_s);
            const double now = still_voltage(h.probes.red, h.probes.black, h.load_ohm);
            wave.push_back({from, state_.t, v, now});
            v = now;
            rested = true;
        }
    }
    arrive(h, wave, notes);
    return wave;
}

void Bench::arrive(const Held& h, trace::Trace& wave, std::vector<std::string>& notes) const {
    bool loose = false;
    for (trace::Segment& s : wave)
        if (!std::isfinite(s.y0) || !std::isfinite(s.y1)) s.y0 = s.y1 = 0.0, loose = true;
    if (loose)
        notes.push_back(fmt::format("{} and {} hang on nothing common: the meter's own resistance pulls them together",
                                    h.probes.red, h.probes.black));
    if (h.jack_fuse_A > 0.0)
        notes.push_back(jack_note(h.load_ohm > 0.0 ? trace::statistics(wave).rms / h.load_ohm : 0.0, h.jack_fuse_A));
    if (h.behind_ohm > 0.0 && h.load_ohm > 0.0) wave = trace::scaled(wave, h.load_ohm / (h.load_ohm + h.behind_ohm));
    if (h.coupled_Hz > 0.0) wave = meter::Filter{}.high_pass(h.coupled_Hz).wave(wave, 1e-5);
}

void Bench::finish(const Held& h, const std::vector<std::string>& notes, meter::Reading& r) const {
    r.warnings.insert(r.warnings.end(), notes.begin(), notes.end());
    r.cautions = words(needs(scene(*site_, plant_->look(state_)), h.probes, h.mode, &h.spec));
}

meter::Reading Bench::read(const meter::Spec& spec, meter::Mode mode, const Probes& probes,
                           const meter::Context& extra) {
    Held h = hold(spec, mode, probes, extra);
    std::vector<std::string> notes;
    if (meter::drives_circuit(h.mode)) {
        meter::Reading r = read_driven(h.spec, h.mode, h.probes, h.context);
        finish(h, notes, r);
        return r;
    }
    const trace::Trace wave = record(h, 0.0, notes);
    if (!meter::takes_clamp(h.mode) && h.load_ohm > 0.0 && h.context.reaches == 1.0 && still_at(h.probes)) {
        // How much the meter itself takes away.
        const double loaded = trace::statistics(wave).mean, open = still_voltage(h.probes.red, h.probes.black, 0.0);
        if (std::abs(open) > 0.05 && std::abs(open) > 1.004 * std::abs(loaded) && loaded != 0.0 && open / loaded > 0.0)
            h.context.source_ohm = h.load_ohm * (open / loaded - 1.0);
    }
    meter::Reading r = meter::read(h.spec, h.mode, wave, h.context);
    finish(h, notes, r);
    return r;
}

Bench::Grip Bench::grip(const meter::Spec& spec, meter::Mode mode, const Probes& probes) {
    const Held h = hold(spec, mode, probes, {});
    Grip g{{}, h.probes, h.load_ohm};
    for (std::size_t n = 0; n < h.names.size(); ++n) g.signals.emplace_back(h.names[n], h.signs[n]);
    return g;
}

meter::Reading Bench::read(const meter::Spec& spec, meter::Mode mode, const Probes& probes, trace::Trace wave,
                           const meter::Context& extra) {
    const Held h = hold(spec, mode, probes, extra);
    std::vector<std::string> notes;
    arrive(h, wave, notes);
    meter::Reading r = meter::read(h.spec, h.mode, wave, h.context);
    finish(h, notes, r);
    return r;
}

std::vector<std::optional<meter::Reading>> Bench::read_together(const std::vector<Look>& looks, double seconds) {
    std::vector<Held> held;
    std::vector<plant::Signal> signals;
    for (const Look& look : looks) {
        held.push_back(hold(look.spec, look.mode, look.probes, {}));
        for (const std::string& name : held.back().names) signals.push_back(plant::signal(*site_, name));
    }
    plant::Recorder recorder(signals);
    plant_->advance_turns(state_, seconds, recorder);
    std::vector<std::optional<meter::Reading>> readings;
    std::size_t column = 0;
    for (Held& h : held) {
        if (h.names.empty()) {
            readings.emplace_back();
            continue;
        }
        trace::Trace wave;
        append(wave, recorder.recording, h.signs, column);
        column += h.names.size();
        std::vector<std::string> notes;
        arrive(h, wave, notes);
        h.context.fundamental_Hz.reset();  // found in the wave: over a stretch it has moved
        readings.push_back(meter::read(h.spec, h.mode, wave, h.context));
        finish(h, notes, *readings.back());
    }
    return readings;
}

meter::Watch Bench::watch(const meter::Spec& spec, meter::Mode mode, const Probes& probes, double seconds,
                          const meter::Context& extra) {
    const Held h = hold(spec, mode, probes, extra);
    std::vector<std::string> notes;
    meter::check_watchable(h.mode);
    meter::Watch w = meter::watch(h.spec, h.mode, record(h, seconds, notes), h.context);
    finish(h, notes, w.reading);
    return w;
}

meter::Surge Bench::surge(const meter::Spec& spec, meter::Mode mode, const Probes& probes, double seconds,
                          double trigger_A, const meter::Context& extra) {
    const Held h = hold(spec, mode, probes, extra);
    std::vector<std::string> notes;
    meter::Surge s = meter::surge(h.spec, h.mode, record(h, seconds, notes), h.context, trigger_A);
    finish(h, notes, s.reading);
    return s;
}

}  // namespace sunshaft::bench
