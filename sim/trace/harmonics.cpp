#include "trace/harmonics.hpp"

#include <algorithm>
#include <array>
#include <cmath>
#include <numbers>
#include <stdexcept>

#include "trace/period.hpp"

namespace sunshaft::trace {

namespace {

constexpr double small_x = 0.05;  // below it the series, whose first left-out term is x^9 / 4e6, is the better one

// (sin x - x cos x) / x^2
double odd_part(double x, double sin_x, double cos_x) {
    if (x > small_x) return (sin_x - x * cos_x) / (x * x);
    const double x2 = x * x;
    return x * (1.0 / 3.0 - x2 * (1.0 / 30.0 - x2 * (1.0 / 840.0 - x2 / 45360.0)));
}

// sin x / x and odd_part(), of a segment that may be short against the period.
struct Parts {
    double even, odd;
};
Parts parts(double x) {
    if (x > small_x) {
        const double sx = std::sin(x), cx = std::cos(x);
        return {sx / x, odd_part(x, sx, cx)};
    }
    const double x2 = x * x;
    return {1.0 - x2 * (1.0 / 6.0 - x2 * (1.0 / 120.0 - x2 * (1.0 / 5040.0 - x2 / 362880.0))), odd_part(x, 0.0, 0.0)};
}

}  // namespace

Phasor phasor(View trace, double frequency_Hz) {
    if (trace.empty()) return 0.0;
    const double omega = 2.0 * std::numbers::pi * frequency_Hz, origin = start(trace);
    double re = 0.0, im = 0.0;
    for (const Segment& s : trace) {
        const double dt = s.t1 - s.t0, x = 0.5 * omega * dt, angle = omega * (0.5 * (s.t0 + s.t1) - origin);
        const Parts p = parts(x);
        const double even = 0.5 * dt * (s.y0 + s.y1) * p.even, odd = 0.5 * dt * (s.y1 - s.y0) * p.odd;
        const double ca = std::cos(angle), sa = std::sin(angle);
        re += ca * even - sa * odd;
        im -= sa * even + ca * odd;
    }
    return Phasor(re, im) * (std::numbers::sqrt2 / duration(trace));
}

std::vector<Phasor> harmonics(View trace, double frequency_Hz, int count) {
    std::vector<Phasor> out(static_cast<std::size_t>(std::max(count, 0)));
    if (trace.empty()) return out;
    const double omega = 2.0 * std::numbers::pi * frequency_Hz, origin = start(trace);
    // Blocks small enough for the first-level cache; within one the harmonic number is the outer loop.
    constexpr std::size_t block = 128;
    struct Column {
        std::array<double, block> x, even, odd, ca1, sa1, ca, sa, cx1, sx1, cx, sx;
    };
    Column c;
    for (std::size_t first = 0; first < trace.size(); first += block) {
        const std::size_t n = std::min(block, trace.size() - first);
        for (std::size_t k = 0; k < n; ++k) {
            const Segment& s = trace[first + k];
            const double dt = s.t1 - s.t0, angle = omega * (0.5 * (s.t0 + s.t1) - origin);
            c.x[k] = 0.5 * omega * dt;
            c.even[k] = 0.5 * dt * (s.y0 + s.y1);
            c.odd[k] = 0.5 * dt * (s.y1 - s.y0);
            c.ca[k] = c.ca1[k] = std::cos(angle);
            c.sa[k] = c.sa1[k] = std::sin(angle);
            c.cx[k] = c.cx1[k] = std::cos(c.x[k]);
            c.sx[k] = c.sx1[k] = std::sin(c.x[k]);
        }
        for (std::size_t h = 0; h < out.size(); ++h) {
            const double order = static_cast<double>(h + 1);
            double re = 0.0, im = 0.0;
            for (std::size_t k = 0; k < n; ++k) {
                const double x = order * c.x[k];
                const double even = c.even[k] * (c.sx[k] / x), odd = c.odd[k] * odd_part(x, c.sx[k], c.cx[k]);
                re += c.ca[k] * even - c.sa[k] * odd;
                im -= c.sa[k] * even + c.ca[k] * odd;
                const double ca = c.ca[k] * c.ca1[k] - c.sa[k] * c.sa1[k];
                c.sa[k] = c.sa[k] * c.ca1[k] + c.ca[k] * c.sa1[k];
                c.ca[k] = ca;
                const double cx = c.cx[k] * c.cx1[k] - c.sx[k] * c.sx1[k];
                c.sx[k] = c.sx[k] * c.cx1[k] + c.cx[k] * c.sx1[k];
                c.cx[k] = cx;
            }
            out[h] += Phasor(re, im);
        }
    }
    for (Phasor& p : out) p *= std::numbers::sqrt2 / duration(trace);
    return out;
}

double thd(const std::vector<Phasor>& harmonics, int up_to) {
    if (harmonics.empty() || std::norm(harmonics[0]) == 0.0) return 0.0;
    double sum = 0.0;
    for (std::size_t h = 1; h < harmonics.size() && static_cast<int>(h) < up_to; ++h) sum += std::norm(harmonics[h]);
    return std::sqrt(sum / std::norm(harmonics[0]));
}

double total_distortion(double rms_ac, double fundamental_rms) {
    if (!(fundamental_rms > 0.0)) return 0.0;
    return std::sqrt(std::max(0.0, (rms_ac - fundamental_rms) * (rms_ac + fundamental_rms))) / fundamental_rms;
}

Groups iec_groups(View trace, double frequency_Hz, int count) {
    const int available = static_cast<int>(std::floor(duration(trace) * frequency_Hz * (1.0 + 1e-9)));
    const int wanted = std::max(1, static_cast<int>(std::lround(0.2 * frequency_Hz)));
    if (available < 1) throw std::invalid_argument("harmonic groups: the trace is shorter than one period");
    Groups g;
    g.periods = std::min(wanted, available);
    const std::size_t N = static_cast<std::size_t>(g.periods), half = N / 2;
    const double span = g.periods / frequency_Hz;
    const Trace window = slice(trace, finish(trace) - span, finish(trace));
    const std::size_t lines = N * static_cast<std::size_t>(count) + N;
    const std::vector<Phasor> line = harmonics(window, frequency_Hz / g.periods, static_cast<int>(lines));
    const auto power = [&](std::size_t k) { return k >= 1 && k <= line.size() ? std::norm(line[k - 1]) : 0.0; };
    for (std::size_t n = 1; n <= static_cast<std::size_t>(count); ++n) {
        const std::size_t k = n * N;
        double group = power(k), sub = power(k), inter = 0.0;
        for (std::size_t i = 1; i <= half; ++i) {
            // An odd N has no line halfway.
            const double weight = 2 * i == N ? 0.5 : 1.0;
            group += weight * (power(k - i) + power(k + i));
        }
        if (N > 2) sub += power(k - 1) + power(k + 1);
        for (std::size_t i = 2; i + 2 <= N; ++i) inter += power(k + i);
        g.harmonic_group.push_back(std::sqrt(group));
        g.harmonic_subgroup.push_back(std::sqrt(sub));
        g.interharmonic.push_back(std::sqrt(inter));
    }
    return g;
}

}  // namespace sunshaft::trace
