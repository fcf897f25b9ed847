#include "diagnose/looking.hpp"

#include <algorithm>
#include <cmath>
#include <mutex>
#include <unordered_map>
#include <utility>

#include "bench/observe.hpp"
#include "bench/senses.hpp"

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

// Who comes finds the water drawn down, but for one who comes soon after a start: half a band is anywhere on the way.
Shown dipped(const bench::Bench& b, double now) {
    const site::Works& w = b.site()->works;
    const plant::Instant at = b.plant().look(b.state());
    if (w.water.pump.index() == 0 || !(at.flow > 0.0)) return {Shown::Kind::figure, now, 0.0, 0.0};
    return {Shown::Kind::figure, now, 0.5 * std::max(0.0, now - w.water.static_level), 0.0};
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
            if (seen[n].gauge && some[n].gauge == "water") out[from + n] = dipped(b, seen[n].gauge->value);
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

// Figures that are not the same at every moment: the middle of several looks, and how far they lie apart.
void add_looks(const Run& run, const std::vector<Look>& looks, std::vector<Shown>& out) {
    std::vector<std::vector<Shown>> all{out};
    for (const plant::State& state : run.later) {
        bench::Bench later(run.bench);
        later.take(state);
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

void look_meanwhile(const bench::Bench& there, double window, const std::vector<Look>& looks, std::vector<Shown>& out) {
    std::vector<Shown> meanwhile;
    look_at(there, window, looks, meanwhile);
    for (std::size_t n = 0; n < looks.size(); ++n)
        if (meanwhile[n].kind == Shown::Kind::figure)
            out[n].waits = meanwhile[n].value, out[n].waits_band = meanwhile[n].band,
            out[n].waits_step = meanwhile[n].step;
}

}  // namespace

void look_long_enough(const Run& run, const std::vector<Look>& looks, bool as_it_stands, Sight& seen) {
    look_at(run.bench, run.window, looks, seen.shown);
    if (!run.later.empty()) add_looks(run, looks, seen.shown);
    if (!run.waits) return;
    if (as_it_stands && run.trips) {
        seen.behaviour.trips = std::max(1, seen.behaviour.trips);
        seen.behaviour.trip = drive::Cause::motor_overload;
        if (const auto by = run.waits->state().control.trip; by != seen.behaviour.trip) seen.behaviour.or_trip = by;
    }
    look_meanwhile(*run.waits, run.window, looks, seen.shown);
    // Between two starts it waits, far longer than it tries: that is what is found, most often.
    if (!(as_it_stands && run.cycle > 0.0 && drive::turning(seen.behaviour.phase))) return;
    for (Shown& s : seen.shown)
        if (std::isfinite(s.waits))
            std::swap(s.value, s.waits), std::swap(s.band, s.waits_band), std::swap(s.step, s.waits_step);
    seen.behaviour.phase = run.waits->state().control.phase;
    seen.behaviour.driven = seen.behaviour.turns = false;
}

}  // namespace sunshaft::diagnose
