#include "diagnose/looking.hpp"

#include <algorithm>
#include <cmath>
#include <mutex>
#include <unordered_map>
#include <utility>

#include "bench/observe.hpp"
#include "bench/senses.hpp"
#include "drive/overload.hpp"

namespace sunshaft::diagnose {
namespace {

std::shared_ptr<const meter::Spec> spec_of(const Look& look) {
    static std::mutex lock;
    static std::unordered_map<std::string, std::shared_ptr<const meter::Spec>> read;
    const std::lock_guard hold(lock);
    auto& spec = read[look.meter];
    if (!spec) spec = std::make_shared<const meter::Spec>(meter::find_spec(look.meter));
    return spec;
}

Shown shown(const meter::Reading& r) {
    if (r.over_range) return {Shown::Kind::over, 0.0, 0.0, 0.0};
    if (!r.value || !std::isfinite(*r.value)) return {};
    const double band = r.low && r.high ? 0.5 * (*r.high - *r.low) : 0.01 * std::abs(*r.value);
    return {Shown::Kind::figure, *r.value, std::isfinite(band) ? band : 0.0, r.resolution};
}

// How long the pump has run nobody tells: the water stands anywhere between its level at rest and where this flow would
// bring it, but no deeper than a guard or the intake lets it.
Shown drawn_down(const bench::Bench& b, double now) {
    const site::Works& w = b.site()->works;
    const plant::Instant at = b.plant().look(b.state());
    if (w.water.pump.index() == 0 || !(at.flow > 0.0)) return {Shown::Kind::figure, now, 0.0, 0.0};
    const double lowest = w.guards.dry.fitted ? w.guards.probe_depth : w.water.pump_depth;
    const double then = plant::well(w).steady_level(std::max(0.0, at.flow - at.slow.leak));
    const double deep = std::max(now, std::min(then, lowest));
    return {Shown::Kind::figure, 0.5 * (now + deep), 0.5 * (deep - now), 0.0};
}

void look_at(const bench::Bench& b, double window, const std::vector<Look>& looks, std::vector<Shown>& out) {
    std::vector<bench::Observation> what;
    for (const Look& l : looks) {
        bench::Observation o{l.probes, l.mode, l.gauge, {}, {}};
        if (l.gauge.empty() && !l.meter.empty()) o.instrument = spec_of(l);
        o.set.relative = l.zeroed;
        o.set.value_alone = true;
        what.push_back(std::move(o));
    }
    const auto read = [&](const std::vector<bench::Observation>& some, std::size_t from) {
        const auto seen = bench::observe(b, some, window);
        for (std::size_t n = 0; n < seen.size(); ++n) {
            if (seen[n].gauge && some[n].gauge == "water") out[from + n] = drawn_down(b, seen[n].gauge->value);
            else if (seen[n].gauge) out[from + n] = {Shown::Kind::figure, seen[n].gauge->value, 0.0, 0.0};
            else if (seen[n].reading) out[from + n] = shown(*seen[n].reading);
        }
    };
    out.assign(looks.size(), {});
    try {
        read(what, 0);
    } catch (const std::exception&) {  // one of them has no place here, or no answer: the others by themselves
        for (std::size_t n = 0; n < what.size(); ++n) {
            try {
                read({what[n]}, n);
            } catch (const std::exception&) {
                out[n] = {};
            }
        }
    }
}

// Figures that are not the same at every moment: the middle of several looks, and how far they lie apart. Each look so
// many seconds after the one before.
void add_looks(const Run& run, const std::vector<double>& after_s, const std::vector<Look>& looks,
               std::vector<Shown>& out) {
    std::vector<std::vector<Shown>> all{out};
    bench::Bench later(run.bench);
    for (const double seconds : after_s) {
        later.advance(seconds);
        if (later.state().control.trips != run.bench.state().control.trips) break;
        look_at(later, run.window, looks, all.emplace_back());
    }
    for (std::size_t n = 0; n < looks.size(); ++n) {
        if (bench::told_in_words(looks[n].gauge) ||
            std::any_of(all.begin(), all.end(), [&](const auto& x) { return x[n].kind != Shown::Kind::figure; }))
            continue;
        double sum = 0.0, square = 0.0, band = 0.0;
        for (const auto& x : all)
            sum += x[n].value, square += x[n].value * x[n].value, band = std::max(band, x[n].band);
        const double size = static_cast<double>(all.size()), mean = sum / size;
        // A quarter of a band is taken for its deviation (fit.cpp).
        out[n].value = mean, out[n].band = band + 4.0 * std::sqrt(std::max(0.0, square / size - mean * mean));
    }
}

// Who comes finds it at rest, not as it runs down.
void run_down(bench::Bench& there) {
    constexpr double still = 1.0;  // rad/s: less is silent
    for (int n = 0; n < 10 && std::abs(there.state().x[plant::speed]) > still; ++n) {
        bench::Bench later(there);
        later.advance(0.5);
        if (later.state().control.phase != there.state().control.phase) break;
        there = std::move(later);
    }
}

// A start that fails comes again and again: the half of it that is not seen now.
Waiting other_half(const Run& run) {
    bench::Bench there(run.bench);
    const bool turns = drive::turning(there.state().control.phase);
    for (double passed = 0.0; passed < run.cycle; passed += 0.5) {
        there.advance(0.5);
        if (drive::turning(there.state().control.phase) == turns) continue;
        if (turns) run_down(there);
        return {std::move(there), false};
    }
    return {};
}

void look_meanwhile(const bench::Bench& there, double window, const std::vector<Look>& looks, std::vector<Shown>& out) {
    std::vector<Shown> meanwhile;
    look_at(there, window, looks, meanwhile);
    for (std::size_t n = 0; n < looks.size(); ++n)
        if (meanwhile[n].kind == Shown::Kind::figure)
            out[n].waits = meanwhile[n].value, out[n].waits_band = meanwhile[n].band,
            out[n].waits_step = meanwhile[n].step;
}

}  // namespace

Waiting waiting(const Run& run) {
    if (run.cycle > 0.0) return other_half(run);
    constexpr double ever_s = 3600.0, briefly_s = 120.0;
    const auto& settings = run.bench.site()->works.drive;
    drive::ControlState cold = run.bench.state().control;
    cold.heat = 0.0;
    const double left = drive::overload_in_s(settings, cold);
    if (!(left < ever_s)) return {};
    bench::Bench there(run.bench);
    there.state().control.heat = 10.0;  // full: stops at the next look
    there.advance(0.5);
    if (there.state().control.trip != drive::Cause::motor_overload) return {};
    run_down(there);
    return {std::move(there), left < std::max(briefly_s, settings.trip_forget_s)};
}

void look_long_enough(const Run& run, const std::vector<Look>& looks, const State& state, const Waiting& wait,
                      Sight& seen) {
    look_at(run.bench, run.window, looks, seen.shown);
    if (run.hunts) add_looks(run, {4.0, 7.0}, looks, seen.shown);
    if (!wait.bench) return;
    if (!state.running()) {
        bench::Bench there(*wait.bench);
        bench::Edits edits = there.edits();
        for (site::Act act : state.acts) act.time = there.time(), edits.acts.push_back(act);
        there.edit(edits);
        there.advance(state.after_s);
        return look_meanwhile(there, run.window, looks, seen.shown);
    }
    if (wait.trips) {
        seen.behaviour.trips = std::max(1, seen.behaviour.trips);
        seen.behaviour.trip = drive::Cause::motor_overload;
        // Until then it may never come to rest: the tracker creeps all the while.
        if (!run.rests && !run.hunts)
            add_looks(run, {0.9 * drive::overload_in_s(run.bench.site()->works.drive, run.bench.state().control)},
                      looks, seen.shown);
    }
    look_meanwhile(*wait.bench, run.window, looks, seen.shown);
    // Between two starts it waits, far longer than it tries: that is what is found, most often.
    if (!(run.cycle > 0.0 && drive::turning(seen.behaviour.phase))) return;
    for (Shown& s : seen.shown)
        if (std::isfinite(s.waits))
            std::swap(s.value, s.waits), std::swap(s.band, s.waits_band), std::swap(s.step, s.waits_step);
    seen.behaviour.phase = wait.bench->state().control.phase;
    seen.behaviour.driven = seen.behaviour.turns = false;
}

}  // namespace sunshaft::diagnose
