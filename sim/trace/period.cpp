#include "trace/period.hpp"

#include <algorithm>
#include <cmath>
#include <numbers>
#include <vector>

#include "trace/harmonics.hpp"
#include "trace/statistics.hpp"

namespace sunshaft::trace {

namespace {

// Frequency from the advance of the phase between two windows of whole periods.
double refined(View trace, double f) {
    for (int pass = 0; pass < 8; ++pass) {
        const int half = whole_periods(trace, f) / 2;
        if (half < 1) return f;
        const double span = half / f, t0 = start(trace), shift = duration(trace) - span;
        const Trace first = slice(trace, t0, t0 + span), second = slice(trace, t0 + shift, finish(trace));
        const Phasor a = phasor(first, f), b = phasor(second, f);
        if (std::abs(a) == 0.0 || std::abs(b) == 0.0) return f;
        const double expected = 2.0 * std::numbers::pi * f * shift;
        const double advance = std::remainder(std::arg(b) - std::arg(a) - expected, 2.0 * std::numbers::pi);
        const double better = f + advance / (2.0 * std::numbers::pi * shift);
        const bool done = std::fabs(better - f) < 1e-9 * f;  // a pass leaves a thousandth of what the one before did
        f = better;
        if (done) break;
    }
    return f;
}

}  // namespace

std::optional<double> fundamental_Hz(View trace) {
    const Statistics s = statistics(trace);
    if (!(s.duration > 0.0) || !(s.rms_ac > 1e-9 * std::max(std::fabs(s.max), std::fabs(s.min)))) return std::nullopt;
    constexpr std::size_t bins = 4096;
    std::vector<double> flux = interval_means(trace, start(trace), s.duration / bins, bins);
    double sum = 0.0;
    for (double& v : flux) v = sum += v - s.mean;
    // A window of broken periods leaves a mean and a slope in the integral: take the straight line of least
    // squares off.
    double mean = 0.0, slope = 0.0;
    const double middle = 0.5 * static_cast<double>(bins - 1);
    for (std::size_t k = 0; k < bins; ++k) {
        mean += flux[k];
        slope += flux[k] * (static_cast<double>(k) - middle);
    }
    const double n = static_cast<double>(bins);
    mean /= n;
    slope /= n * (n * n - 1.0) / 12.0;
    double peak = 0.0;
    for (std::size_t k = 0; k < bins; ++k) {
        flux[k] -= mean + slope * (static_cast<double>(k) - middle);
        peak = std::max(peak, std::fabs(flux[k]));
    }
    // Rising crossings, armed by an excursion below: ripple does not count twice.
    std::vector<double> crossing;
    bool armed = false;
    for (std::size_t k = 0; k < bins; ++k) {
        if (flux[k] < -0.3 * peak) armed = true;
        if (armed && k && flux[k] >= 0.0 && flux[k - 1] < 0.0) {
            crossing.push_back(static_cast<double>(k) - flux[k] / (flux[k] - flux[k - 1]));
            armed = false;
        }
    }
    if (crossing.size() < 2) return std::nullopt;
    const double intervals = static_cast<double>(crossing.size() - 1);
    const double period = (crossing.back() - crossing.front()) / intervals;
    for (std::size_t k = 1; k < crossing.size(); ++k)
        if (std::fabs(crossing[k] - crossing[k - 1] - period) > 0.25 * period) return std::nullopt;
    // A chance pair of crossings is no period: shifted by one, the wave must look like itself.
    const auto lag = static_cast<std::size_t>(std::lround(period));
    if (3 * lag > 2 * bins) return std::nullopt;
    double both = 0.0, early = 0.0, late = 0.0;
    for (std::size_t k = 0; k + lag < bins; ++k) {
        both += flux[k] * flux[k + lag];
        early += flux[k] * flux[k];
        late += flux[k + lag] * flux[k + lag];
    }
    if (both < 0.8 * std::sqrt(early * late)) return std::nullopt;
    return refined(trace, n / (period * s.duration));
}

namespace {

// How well the fundamentals of the single periods add up, in phase and size: 1 for a wave that repeats, less for one
// that drifts.
double coherence(View trace, double f) {
    const int n = whole_periods(trace, f);
    Phasor sum{};
    double sizes = 0.0, least = 1e300, most = 0.0;
    for (int k = 0; k < n; ++k) {
        const double from = start(trace) + k / f;
        const Phasor one = phasor(slice(trace, from, from + 1.0 / f), f);
        sum += one;
        sizes += std::abs(one);
        least = std::min(least, std::abs(one));
        most = std::max(most, std::abs(one));
    }
    return sizes > 0.0 ? std::abs(sum) / sizes * least / most : 0.0;
}

}  // namespace

std::optional<Steady> steady_end(View trace) {
    for (double part = 1.0; part > 0.01; part *= 0.5) {
        Trace tail = slice(trace, finish(trace) - part * duration(trace), finish(trace));
        if (const auto f = fundamental_Hz(tail); f && coherence(tail, *f) > 0.9) return Steady{std::move(tail), *f};
    }
    return std::nullopt;
}

int whole_periods(View trace, double frequency_Hz) {
    return static_cast<int>(std::floor(duration(trace) * frequency_Hz + 1e-6));
}

Trace last_periods(View trace, double frequency_Hz, int at_most) {
    const int n = std::min(whole_periods(trace, frequency_Hz), at_most);
    if (n < 1) return {};
    return slice(trace, std::max(start(trace), finish(trace) - n / frequency_Hz), finish(trace));
}

}  // namespace sunshaft::trace
