#include "trace/overlay.hpp"

#include <algorithm>
#include <cmath>
#include <numbers>
#include <optional>
#include <stdexcept>

#include "roots/roots.hpp"
#include "trace/period.hpp"

namespace sunshaft::trace {
namespace {

// The step of an evenly sampled wave; nothing where it jumps or its steps differ.
std::optional<double> sampling_step(View trace) {
    const double step = duration(trace) / static_cast<double>(trace.size());
    for (std::size_t k = 0; k < trace.size(); ++k)
        if (std::fabs(trace[k].t1 - trace[k].t0 - step) > 1e-3 * step || (k && trace[k].y0 != trace[k - 1].y1))
            return std::nullopt;
    return trace.size() > 1 ? std::optional(step) : std::nullopt;
}

// A steady quantity with a ripple has a period too, but not the one sought.
bool alternates(const Statistics& s) { return s.rms_ac > 0.3 * std::fabs(s.mean); }

Trace from_zero(View trace, double stretch) {
    Trace out(trace.begin(), trace.end());
    const double begin = start(trace);
    for (Segment& s : out) s.t0 = (s.t0 - begin) * stretch, s.t1 = (s.t1 - begin) * stretch;
    return out;
}

struct Spectra {
    std::vector<Phasor> measured, computed;
    double weight = 0.0;
};

double correlation(const std::vector<Spectra>& all, double turn) {
    double sum = 0.0;
    for (const Spectra& s : all) {
        const Phasor one = std::polar(1.0, 2.0 * std::numbers::pi * turn);
        Phasor rotate = one;
        for (std::size_t n = 0; n < s.measured.size(); ++n, rotate *= one)
            sum += s.weight * (std::conj(s.measured[n]) * s.computed[n] * rotate).real();
    }
    return sum;
}

double best_turn(const std::vector<Spectra>& all) {
    constexpr int grid = 1024;  // twenty points to the period of the fiftieth order
    double best = 0.0, most = -1e300;
    for (int k = 0; k < grid; ++k)
        if (const double c = correlation(all, k / double(grid)); c > most) most = c, best = k / double(grid);
    const double turn =
        roots::lowest([&](double x) { return -correlation(all, x); }, best - 1.0 / grid, best + 1.0 / grid);
    return turn - std::floor(turn);
}

}  // namespace

Trace as_sampled(View trace, double first, double step, std::size_t count) {
    const std::vector<double> means = interval_means(trace, first - 0.5 * step, step, count);
    Trace out;
    for (std::size_t k = 1; k < count; ++k)
        out.push_back({k == 1 ? first : out.back().t1, first + static_cast<double>(k) * step, means[k - 1], means[k]});
    return out;
}

Overlay overlay(const std::vector<Trace>& measured, const std::vector<Trace>& computed, int most_periods, int orders) {
    if (measured.empty() || measured.size() != computed.size())
        throw std::invalid_argument("overlay: expected pairs of waves");
    Overlay o;
    double steady_m = 0.0, steady_c = 0.0;
    o.waves.resize(measured.size());
    for (std::size_t w = 0; w < measured.size(); ++w) {
        if (measured[w].empty() || computed[w].empty()) throw std::invalid_argument("overlay: an empty wave");
        check(measured[w]);
        check(computed[w]);
        o.waves[w].of_measured = statistics(measured[w]);
        o.waves[w].of_computed = statistics(computed[w]);
        if (o.measured_Hz > 0.0 || !alternates(o.waves[w].of_measured) || !alternates(o.waves[w].of_computed)) continue;
        const auto m = steady_end(measured[w]), c = steady_end(computed[w]);
        if (!m || !c) continue;
        o.measured_Hz = m->frequency_Hz;
        o.computed_Hz = c->frequency_Hz;
        steady_m = duration(m->tail);
        steady_c = duration(c->tail);
    }
    if (o.measured_Hz <= 0.0) return o;
    // Of the computed waves one period is kept to turn in.
    const int fit = std::min({most_periods, static_cast<int>(steady_m * o.measured_Hz + 1e-6),
                              static_cast<int>(steady_c * o.computed_Hz + 1e-6) - 1});
    if (fit < 1) return o;
    o.periods = fit;

    const double span_m = fit / o.measured_Hz, span_c = fit / o.computed_Hz;
    std::vector<Spectra> spectra;
    for (std::size_t w = 0; w < measured.size(); ++w) {
        Overlay::Wave& wave = o.waves[w];
        wave.measured = slice(measured[w], finish(measured[w]) - span_m, finish(measured[w]));
        wave.of_measured = statistics(wave.measured);
        const double begin_c = finish(computed[w]) - span_c - 1.0 / o.computed_Hz;
        const Trace turned = slice(computed[w], begin_c, begin_c + span_c);
        wave.harmonics_measured = harmonics(wave.measured, o.measured_Hz, orders);
        const double both = wave.of_measured.rms_ac * statistics(turned).rms_ac;
        spectra.push_back(
            {wave.harmonics_measured, harmonics(turned, o.computed_Hz, orders), both > 0.0 ? 1.0 / both : 0.0});
    }
    o.turn = best_turn(spectra);
    const double stretch = o.computed_Hz / o.measured_Hz;
    for (std::size_t w = 0; w < measured.size(); ++w) {
        Overlay::Wave& wave = o.waves[w];
        const double from = finish(computed[w]) - span_c - (1.0 - o.turn) / o.computed_Hz;
        Trace over = from_zero(slice(computed[w], from, from + span_c), stretch);
        wave.measured = from_zero(wave.measured, 1.0);
        wave.of_computed = statistics(over);
        wave.harmonics_computed = harmonics(over, o.measured_Hz, orders);
        // At the recorder's own instants; the cut ends of the measured wave lie between two of them.
        if (const auto step = sampling_step(measured[w]))
            over = as_sampled(over, wave.measured.front().t1, *step, wave.measured.size() - 1);
        wave.computed = std::move(over);
        wave.residual = sum(wave.measured, wave.computed, -1.0);
        wave.residual_rms = statistics(wave.residual).rms;
    }
    return o;
}

}  // namespace sunshaft::trace
