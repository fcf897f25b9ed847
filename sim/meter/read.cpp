#include <fmt/format.h>

#include <algorithm>
#include <cmath>
#include <stdexcept>

#include "meter/chain.hpp"
#include "text/language.hpp"
#include "trace/harmonics.hpp"
#include "trace/period.hpp"

namespace sunshaft::meter {

using text::id;

namespace {

std::string ordinal(int n) {
    constexpr const char* words[] = {id("first"), id("second"), id("third"), id("fourth")};
    return text::tr(words[std::clamp(n, 1, 4) - 1]);
}

// Clips a drawn wave; straight pieces stay straight between the corners.
trace::Trace clipped(trace::View wave, double limit) {
    trace::Trace out;
    for (const trace::Segment& s : wave) {
        double t = s.t0, y = s.y0;
        const auto to = [&](double t1, double y1) {
            if (t1 > t) out.push_back({t, t1, std::clamp(y, -limit, limit), std::clamp(y1, -limit, limit)});
            t = t1;
            y = y1;
        };
        const bool rises = s.y1 > s.y0;
        for (double edge : {rises ? -limit : limit, rises ? limit : -limit})
            if ((s.y0 - edge) * (s.y1 - edge) < 0.0) to(s.t0 + (s.t1 - s.t0) * (edge - s.y0) / (s.y1 - s.y0), edge);
        to(s.t1, s.y1);
    }
    return out;
}

// Share of the time the wave lies above a level.
double time_above(trace::View wave, double level) {
    double above = 0.0;
    for (const trace::Segment& s : wave) {
        const double dt = s.t1 - s.t0, a = s.y0 - level, b = s.y1 - level;
        if (a >= 0.0 && b >= 0.0) above += dt;
        else if (a * b < 0.0) above += dt * std::max(a, b) / std::fabs(b - a);
    }
    return above / trace::duration(wave);
}

bool alternates(const trace::Statistics& wave) {
    return wave.rms_ac > 1e-9 * std::max(std::fabs(wave.max), std::fabs(wave.min));
}

struct Filters {
    Filter coupled, banded, out;
};
Filters filters_of(const Function& fn, double input_corner) {
    Filters f;
    f.coupled.low_pass(input_corner).high_pass(fn.coupling_Hz);
    f.banded = f.coupled;
    f.banded.low_pass(fn.bandwidth_Hz, fn.bandwidth_order);
    f.out = f.banded;
    f.out.low_pass(fn.lowpass_Hz, fn.lowpass_order);
    return f;
}

// The wave, turned up wherever it is negative.
trace::Trace rectified(const trace::Trace& wave) {
    trace::Trace up;
    for (trace::Segment seg : wave) {
        if (seg.y0 * seg.y1 < 0.0) {
            const double t = seg.t0 + (seg.t1 - seg.t0) * seg.y0 / (seg.y0 - seg.y1);
            up.push_back({seg.t0, t, std::fabs(seg.y0), 0.0});
            seg = {t, seg.t1, 0.0, seg.y1};
        }
        up.push_back({seg.t0, seg.t1, std::fabs(seg.y0), std::fabs(seg.y1)});
    }
    return up;
}

// The wave's way as a list of stages, each with the figure found there.
struct Stages {
    const Spec& spec;
    Mode mode;
    const Context& ctx;
    const Chain& c;
    const Filters& filters;
    trace::View window;
    Reading& r;
    const Function& fn = spec.function(mode);
    const std::string unit = times_crossings(mode) ? "V" : r.unit;
    const bool mean = fn.detector == Detector::mean;

    void add() {
        input();
        filtered();
        if (mode == Mode::hz)
            figure(id("detector"), id("upward crossings of the trigger level, counted"), c.value, id("frequency"),
                   "Hz");
        else if (mode == Mode::duty)
            figure(id("detector"), id("time above the middle of the swing"), c.value, id("share"), "%");
        else detector();
        if (ctx.reference != 1.0 && !times_crossings(mode))
            figure(id("reference"), text::say("sunk to {}", quantity(ctx.reference, "%")), c.value, id("reading"),
                   unit);
    }

  private:
    trace::Trace through(const Filter& filter) const { return trace::scaled(filter.wave(window), ctx.reaches); }
    void figure(std::string name, std::string what, double value, std::string of, std::string in) {
        r.stages.push_back({std::move(name), std::move(what), {}, value, std::move(of), std::move(in)});
    }
    void stage(std::string name, std::string what, const Response& at, const Filter* filter) {
        Stage s{std::move(name), std::move(what), {}, mean ? at.mean : at.rms, mean ? id("mean") : id("rms"), unit};
        if (ctx.keep_waves) s.wave = filter ? through(*filter) : trace::Trace(window.begin(), window.end());
        r.stages.push_back(std::move(s));
    }
    void input() {
        const Response raw{c.wave.mean, c.wave.rms, c.wave.rectified_mean, c.wave.min, c.wave.max};
        stage(takes_clamp(mode) ? id("conductor") : id("probes"),
              takes_clamp(mode) ? id("the current in the jaws") : id("the voltage between the probes"), raw, nullptr);
        const Filter nothing;
        if (ctx.reaches != 1.0)
            stage(id("leads"),
                  ctx.reaches > 0.0 ? id("what the test leads let through") : id("nothing reaches the input"),
                  raw.times(ctx.reaches), &nothing);
    }
    void filtered() {
        if (fn.coupling_Hz > 0.0 || c.input_corner_Hz > 0.0)
            stage(id("coupling"),
                  fn.coupling_Hz > 0.0 ? text::say("first-order high-pass at {}", quantity(fn.coupling_Hz, "Hz"))
                                       : id("input capacitance"),
                  c.coupled, &filters.coupled);
        if (fn.bandwidth_Hz > 0.0)
            stage(id("bandwidth"),
                  text::say("{}-order low-pass at {}", ordinal(fn.bandwidth_order), quantity(fn.bandwidth_Hz, "Hz")),
                  c.banded, &filters.banded);
        if (fn.lowpass_Hz > 0.0)
            stage(id("low-pass"),
                  text::say("{}-order low-pass at {}", ordinal(fn.lowpass_order), quantity(fn.lowpass_Hz, "Hz")), c.out,
                  &filters.out);
    }
    void detector() {
        const double found = c.value * ctx.reference;
        if (fn.detector != Detector::average)
            return figure(id("detector"), mean ? id("mean") : id("root of the mean square"), found, id("reading"),
                          unit);
        figure(id("rectifier"), id("the wave, rectified"), c.out.rectified_mean, id("rectified mean"), unit);
        if (ctx.keep_waves) r.stages.back().wave = rectified(through(filters.out));
        figure(id("detector"), text::say("mean, times {}", quantity(sine_form, "")), found, id("reading"), unit);
    }
};

// The stretch that is read, whole periods where there are any, and what is true of it.
trace::Trace take_window(trace::View terminals, const Context& ctx, Chain& c, Words& words) {
    c.f = ctx.fundamental_Hz && *ctx.fundamental_Hz > 0.0 ? ctx.fundamental_Hz : trace::fundamental_Hz(terminals);
    trace::Trace window;
    if (c.f) window = trace::last_periods(terminals, *c.f);
    if (window.empty()) {
        window.assign(terminals.begin(), terminals.end());
        if (c.f) {
            words.warn("the recording is shorter than one period at {}", words("fundamental_Hz", *c.f, "Hz"));
            c.f.reset();
        }
    }
    c.wave = trace::statistics(window);
    if (!alternates(c.wave)) c.f.reset();
    if (c.f) c.fundamental = std::abs(trace::phasor(window, *c.f));
    return window;
}

void tell_truth(const Chain& c, Reading& r) {
    r.truth.mean = c.wave.mean;
    r.truth.rms = c.wave.rms;
    r.truth.rms_ac = c.wave.rms_ac;
    r.truth.rectified_mean = c.wave.rectified_mean;
    if (c.f) {
        r.truth.fundamental_Hz = c.f;
        r.truth.fundamental_rms = c.fundamental;
    }
    if (c.wave.rms > 0.0) r.truth.crest_factor = c.wave.crest;
}

// The input capacitance, behind what the probes see of the circuit, is a low-pass of its own, Hz; 0: too high to
// matter.
double input_corner(const Function& fn, const Context& ctx) {
    if (!(fn.capacitance_F > 0.0 && ctx.source_ohm && *ctx.source_ohm > 0.0)) return 0.0;
    const double across = std::isinf(*ctx.source_ohm)
                              ? fn.resistance_ohm
                              : *ctx.source_ohm * fn.resistance_ohm / (*ctx.source_ohm + fn.resistance_ohm);
    const double corner = 1.0 / (2.0 * std::numbers::pi * across * fn.capacitance_F);
    return fn.bandwidth_Hz == 0.0 || corner < 20.0 * fn.bandwidth_Hz ? corner : 0.0;
}

// What reaches the detector on its way through coupling, bandwidth and low-pass.
void pass(const Function& fn, const Filters& filters, const Context& ctx, trace::View window, Chain& c) {
    c.dc_blocked = fn.coupling_Hz > 0.0;
    const double nothing = 0.02 * std::max(std::fabs(c.wave.min), std::fabs(c.wave.max));
    c.at_nothing = time_above(window, -nothing) - time_above(window, nothing);
    if (ctx.value_alone) {
        c.coupled = c.banded = c.out = filters.out.respond(window).times(ctx.reaches);
        return;
    }
    c.coupled = filters.coupled.respond(window).times(ctx.reaches);
    c.banded = fn.bandwidth_Hz > 0.0 ? filters.banded.respond(window).times(ctx.reaches) : c.coupled;
    c.out = fn.lowpass_Hz > 0.0 ? filters.out.respond(window).times(ctx.reaches) : c.banded;
}

double highest(const Response& r) { return std::max(std::fabs(r.min), std::fabs(r.max)); }

double detected(const Function& fn, Mode mode, const Filters& filters, double reaches, trace::View window,
                const Chain& c) {
    if (mode == Mode::hz) {
        const double level = reaches > 0.0 ? fn.trigger * highest(c.out) / reaches : 0.0;
        if (!(level > 0.0 && fn.trigger > 0.0 && alternates(c.wave))) return 0.0;
        return filters.out.cross(window, level * (1.0 - fn.hysteresis / fn.trigger), level).rising /
               trace::duration(window);
    }
    if (mode == Mode::duty) {
        const double middle = reaches > 0.0 ? 0.5 * (c.out.min + c.out.max) / reaches : 0.0;
        return alternates(c.wave) && reaches > 0.0 ? filters.out.cross(window, middle, middle).above : 0.0;
    }
    if (fn.detector == Detector::mean) return c.out.mean;
    return fn.detector == Detector::average ? sine_form * c.out.rectified_mean : c.out.rms;
}

// The range it stands in; a wave whose peak is too high for that loses it.
Display shown(const Spec& spec, Mode mode, const Context& ctx, const Filters& filters, trace::View window, Chain& c,
              Words& words) {
    const Function& fn = spec.function(mode);
    const double peak = highest(c.out) / ctx.reference;  // as the meter takes it
    // On DC automatic range gives way to peaks too, or they would overdrive the input.
    std::optional<double> held = ctx.manual_range;
    if (!held && fn.detector == Detector::mean && fn.crest_limit > 0.0 && !times_crossings(mode)) {
        const double least = std::max(std::fabs(c.value), peak / fn.crest_limit);
        const auto at = std::find_if(fn.ranges.begin(), fn.ranges.end(), [&](double x) { return least <= x; });
        held = at == fn.ranges.end() ? fn.ranges.back() : *at;
    }
    Display d = display(spec, mode, c.value, held);
    if (fn.detector != Detector::rms || times_crossings(mode) || fn.crest_limit <= 0.0 || d.over ||
        peak <= fn.crest_limit * d.range)
        return d;
    c.clipped = true;
    const double scale = ctx.reaches / ctx.reference;
    const std::string unit(unit_of(mode)), limit = words("peak_limit", fn.crest_limit * d.range, unit);
    c.value = scale * trace::statistics(clipped(filters.out.wave(window, 1e-4), fn.crest_limit * d.range / scale)).rms;
    words.warn("the wave's peak of {} is above the {} this range takes. The peak is cut off and the reading is too low",
               words("peak", peak, unit), limit);
    return display(spec, mode, c.value, ctx.manual_range);
}

void warn_of_display(const Spec& spec, Mode mode, const Context& ctx, const Chain& c, const Display& d, bool stated,
                     bool frequency_matters, Words& words) {
    if (!stated && c.f && frequency_matters && c.value > 3.0 * d.resolution)
        words.warn("its data sheet states no accuracy at {}: the band is that of its first line",
                   words("fundamental_Hz", *c.f, "Hz"));
    if (c.f && *c.f < spec.update_per_s && frequency_matters)
        words.warn(
            "one period at {} lasts longer than the {} between two updates of the display. It follows the "
            "wave and does not settle",
            words("fundamental_Hz", *c.f, "Hz"), words("update_interval", 1.0 / spec.update_per_s, "s"));
    if (ctx.manual_range && !d.over && std::fabs(c.value) < 0.05 * d.range && c.value != 0.0)
        words.warn("the range of {} is far too large for this: only {} counts are left",
                   words("range", d.range, std::string(unit_of(mode))),
                   words("counts", std::fabs(std::round(c.value / d.resolution)), ""));
}

// On a wave's way the display comes last.
void show(const Spec& spec, Mode mode, const Context& ctx, const Display& d, Chain& c, Words& words, Reading& r) {
    const Function& fn = spec.function(mode);
    const bool frequency_matters = fn.detector != Detector::mean && !times_crossings(mode);
    const Band band = accuracy(fn, c.value, d.range, d.resolution, frequency_matters ? c.f : std::nullopt);
    c.tolerance = band.tolerance + (mode == Mode::dca && !ctx.relative ? fn.zero_drift_A : 0.0);
    r.range = d.range;
    r.resolution = d.resolution;
    r.over_range = d.over;
    r.shown = d.text;
    if (!d.over) {
        r.value = c.value;
        r.low = c.value - c.tolerance;
        r.high = c.value + c.tolerance;
    }
    const bool held_right = ctx.reaches == 1.0 && ctx.reference == 1.0;
    if (!d.over && unit_of(mode) == "V" && held_right && ctx.output && fn.detector != Detector::mean && ctx.link_V &&
        *ctx.link_V > 1.0)
        r.link_ratio = c.value / *ctx.link_V;
    warn_of_display(spec, mode, ctx, c, d, band.stated, frequency_matters, words);
}

}  // namespace

Reading read(const Spec& spec, Mode mode, trace::View terminals, const Context& ctx) {
    if (drives_circuit(mode))
        throw std::invalid_argument(
            text::say("mode {} puts its own source on the circuit and cannot be read from a wave", mode_name(mode)));
    const Function& fn = spec.function(mode);
    if (terminals.empty()) throw std::invalid_argument(text::tr("reading: the trace is empty"));
    trace::check(terminals);

    Reading r;
    r.unit = unit_of(mode);
    Words words(r);
    Chain c;
    const trace::Trace window = take_window(terminals, ctx, c, words);
    c.window = window;
    tell_truth(c, r);
    c.input_corner_Hz = input_corner(fn, ctx);
    const Filters filters = filters_of(fn, c.input_corner_Hz);
    pass(fn, filters, ctx, window, c);
    c.value = detected(fn, mode, filters, ctx.reaches, window, c);
    if (!times_crossings(mode)) c.value /= ctx.reference;
    const Display d = shown(spec, mode, ctx, filters, window, c, words);
    show(spec, mode, ctx, d, c, words, r);
    if (ctx.value_alone) return r;
    Stages{spec, mode, ctx, c, filters, window, r}.add();
    r.stages.push_back({id("display"),
                        text::say("range {}, steps of {}", quantity(d.range, r.unit), quantity(d.resolution, r.unit)),
                        {},
                        d.over ? c.value : d.rounded,
                        d.over ? id("over range") : id("shown"),
                        r.unit});
    explain_wave(spec, mode, ctx, c, r);
    return r;
}

}  // namespace sunshaft::meter
