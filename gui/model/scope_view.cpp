#include "model/scope_view.hpp"

#include "meter/filter.hpp"

#include <algorithm>
#include <cmath>

#include "trace/harmonics.hpp"
#include "trace/statistics.hpp"

namespace sunshaft::view {
namespace {

// Counts passages of a level in one direction; armed by having been `back` beyond it.
class Comparator {
  public:
    Comparator(double level, Slope slope, double back)
        : sign_(slope == Slope::rising ? 1.0 : -1.0), level_(sign_ * level), back_(back) {}
    // Monotone from one value to the next: did it pass?
    bool operator()(double from, double to) {
        arm(from);
        const bool hit = armed_ && sign_ * from < level_ && sign_ * to >= level_;
        if (hit) armed_ = false;
        arm(to);
        return hit;
    }

  private:
    void arm(double y) { armed_ = armed_ || (sign_ * y < level_ && sign_ * y <= level_ - back_); }
    double sign_, level_, back_;
    bool armed_ = false;
};

// First piece that ends after t.
std::size_t piece_at(trace::View trace, double t) {
    return static_cast<std::size_t>(
        std::upper_bound(trace.begin(), trace.end(), t, [](double v, const trace::Segment& s) { return v < s.t1; }) -
        trace.begin());
}

// Behind a first-order low-pass: over a straight piece u0 + k t the output is u - k tau + (y0 - u0 + k tau)
// exp(-t / tau).
std::vector<double> filtered_crossings(trace::View trace, double level, Slope slope, double corner_Hz, double back) {
    const double tau = 1.0 / (2.0 * 3.14159265358979323846 * corner_Hz);
    std::vector<double> out;
    if (trace.empty()) return out;
    // It has settled to the mean before the trace begins.
    double y = trace::statistics(trace).mean;
    Comparator passes(level, slope, back);
    for (const trace::Segment& s : trace) {
        const double dt = s.t1 - s.t0, k = (s.y1 - s.y0) / dt;
        const double e = y - s.y0 + k * tau;
        const auto at = [&](double t) { return s.y0 + k * t - k * tau + e * std::exp(-t / tau); };
        // At most one turning point in a piece; looked at on either side of it.
        double turn = -1.0;
        if (k != 0.0 && e / (k * tau) > 0.0) turn = tau * std::log(e / (k * tau));
        double a = 0.0, ya = y;
        for (const double b : {turn > 0.0 && turn < dt ? turn : dt, dt}) {
            if (b <= a) continue;
            const double yb = at(b);
            if (passes(ya, yb)) {
                double lo = a, hi = b;
                for (int n = 0; n < 50; ++n) {
                    const double mid = 0.5 * (lo + hi);
                    ((at(mid) < level) == (ya < level) ? lo : hi) = mid;
                }
                out.push_back(s.t0 + hi);
            }
            a = b, ya = yb;
        }
        y = ya;
    }
    return out;
}

}  // namespace

std::vector<double> crossings(trace::View trace, double level, Slope slope, double lowpass_Hz, double back) {
    if (lowpass_Hz > 0.0) return filtered_crossings(trace, level, slope, lowpass_Hz, back);
    std::vector<double> out;
    Comparator passes(level, slope, back);
    double before = trace.empty() ? 0.0 : trace.front().y0;
    for (const trace::Segment& s : trace) {
        if (passes(before, s.y0)) out.push_back(s.t0);
        if (passes(s.y0, s.y1)) out.push_back(s.t0 + (level - s.y0) / (s.y1 - s.y0) * (s.t1 - s.t0));
        before = s.y1;
    }
    return out;
}

namespace {

// All times at which the wave's own part of `f` passes the level in that direction; it is taken from the last turns.
std::vector<double> fundamental_crossings(trace::View source, double level, Slope slope, double f) {
    const double end = trace::finish(source),
                 turns = std::min(10.0, std::floor((end - trace::start(source)) * f + 1e-6));
    if (turns < 1.0) return {};
    const double from = end - turns / f, omega = 2.0 * 3.14159265358979323846 * f;
    const trace::Trace part = trace::slice(source, from, end);
    const trace::Phasor c = trace::phasor(part, f);
    const double amplitude = std::sqrt(2.0) * std::abs(c), share = (level - trace::statistics(part).mean) / amplitude;
    if (!(std::abs(share) < 1.0)) return {};
    const double at = (slope == Slope::rising ? -1.0 : 1.0) * std::acos(share);
    const double first = trace::start(part) + (at - std::arg(c)) / omega;
    std::vector<double> out;
    for (double k = std::ceil((trace::start(source) - first) * f); first + k / f <= end; k += 1.0)
        out.push_back(first + k / f);
    return out;
}

}  // namespace

std::optional<Stretch> find_sweep(trace::View source, const Trigger& trigger, double width, double armed_at) {
    if (source.empty() || !(width > 0.0)) return std::nullopt;
    const double before = trigger.position * width, after = width - before;
    const double first = trace::start(source) + before, last = trace::finish(source) - after;
    std::optional<double> edge;
    const std::optional<Span> span = span_of(source, trace::start(source), trace::finish(source));
    if (!span) return std::nullopt;
    std::vector<double> all = crossings(source, trigger.level, trigger.slope, trigger.lowpass_Hz,
                                        Trigger::hysteresis * (span->high - span->low));
    // Pulses pass a level many times a turn: then its fundamental's passages are the ones meant.
    if (const double f = trigger.fundamental_Hz;
        f > 0.0 && static_cast<double>(all.size()) > 1.5 * trace::duration(source) * f + 1.0)
        if (auto own = fundamental_crossings(source, trigger.level, trigger.slope, f); !own.empty())
            all = std::move(own);
    if (trigger.sweep == Sweep::single) {
        const auto hit = std::find_if(all.begin(), all.end(), [&](double t) { return t >= armed_at; });
        if (hit != all.end() && *hit <= last) edge = *hit;
    } else {
        for (const double t : all)
            if (t <= last && t >= first) edge = t;
    }
    if (edge) return Stretch{*edge - before, *edge + after, edge};
    if (trigger.sweep != Sweep::automatic) return std::nullopt;
    return Stretch{trace::finish(source) - width, trace::finish(source), std::nullopt};
}

trace::Trace band_limited(const trace::Trace& wave, double bandwidth_Hz) {
    if (!(bandwidth_Hz > 0.0) || wave.empty()) return wave;
    const trace::Trace out = meter::Filter().low_pass(bandwidth_Hz).wave(wave);
    // The filter takes the stretch as one that repeats: ten time constants on, that is forgotten.
    const double settled = trace::start(out) + 10.0 / (2.0 * 3.14159265358979 * bandwidth_Hz);
    return settled < trace::finish(out) ? trace::slice(out, settled, trace::finish(out)) : out;
}

std::vector<Point> trace_line(trace::View trace, const PlotArea& area, int columns) {
    std::vector<Point> line;
    if (trace.empty() || columns < 1 || !(area.t_to > area.t_from) || !(area.y_high > area.y_low)) return line;
    const double above = area.box.y - area.box.h, below = area.box.bottom() + area.box.h;
    const auto put = [&](double t, double y) {
        const Point p{area.x(t), std::clamp(area.y(y), above, below)};
        if (line.empty() || !(line.back() == p)) line.push_back(p);
    };
    const double column = (area.t_to - area.t_from) / columns;
    std::size_t k = piece_at(trace, area.t_from);
    while (k < trace.size() && trace[k].t0 < area.t_to) {
        const double begin = std::max(trace[k].t0, area.t_from);
        const double end = area.t_from + column * (std::floor((begin - area.t_from) / column + 1e-9) + 1.0);
        std::size_t stop = k;
        while (stop < trace.size() && trace[stop].t1 <= end && trace[stop].t0 < area.t_to) ++stop;
        if (stop - k > 2) {
            // A column full of pieces: in at the first value, both extremes as they came, out at the last.
            double low = trace[k].y0, high = low, t_low = trace[k].t0, t_high = t_low;
            for (std::size_t n = k; n < stop; ++n) {
                const trace::Segment& s = trace[n];
                const double y[2] = {s.y0, s.y1}, t[2] = {s.t0, s.t1};
                for (int e = 0; e < 2; ++e) {
                    if (y[e] < low) low = y[e], t_low = t[e];
                    if (y[e] > high) high = y[e], t_high = t[e];
                }
            }
            const double middle = 0.5 * (std::max(trace[k].t0, area.t_from) + trace[stop - 1].t1);
            put(std::max(trace[k].t0, area.t_from), trace[k].y0);
            put(middle, t_low <= t_high ? low : high);
            put(middle, t_low <= t_high ? high : low);
            put(std::min(trace[stop - 1].t1, area.t_to), trace[stop - 1].y1);
            k = stop;
            continue;
        }
        const trace::Segment& s = trace[k];
        const double slope = (s.y1 - s.y0) / (s.t1 - s.t0);
        const double a = std::max(s.t0, area.t_from), b = std::min(s.t1, area.t_to);
        put(a, s.y0 + slope * (a - s.t0));
        put(b, b == s.t1 ? s.y1 : s.y0 + slope * (b - s.t0));
        ++k;
    }
    return line;
}

std::optional<Span> span_of(trace::View trace, double from, double to) {
    std::optional<Span> span;
    for (std::size_t k = piece_at(trace, from); k < trace.size() && trace[k].t0 < to; ++k) {
        const trace::Segment& s = trace[k];
        const double slope = (s.y1 - s.y0) / (s.t1 - s.t0);
        const double a = s.t0 < from ? s.y0 + slope * (from - s.t0) : s.y0;
        const double b = s.t1 > to ? s.y0 + slope * (to - s.t0) : s.y1;
        if (!span) span = Span{a, a};
        span->low = std::min({span->low, a, b});
        span->high = std::max({span->high, a, b});
    }
    return span;
}

double next_125(double value, int direction) {
    const double decade = std::pow(10.0, std::floor(std::log10(value) + 1e-9));
    const double m = value / decade;
    constexpr double steps[] = {0.5, 1.0, 2.0, 5.0, 10.0};
    if (direction > 0) {
        for (const double s : steps)
            if (s > m * (1 + 1e-9)) return s * decade;
        return 10.0 * decade;
    }
    for (int n = 4; n >= 0; --n)
        if (steps[n] < m * (1 - 1e-9)) return steps[n] * decade;
    return 0.5 * decade;
}

namespace {
// The 1-2-5 step nearest to an even division.
double step_for(double width, int about) {
    const double raw = width / std::clamp(about, 2, 20);
    const double decade = std::pow(10.0, std::floor(std::log10(raw)));
    const double m = raw / decade;
    return (m < 1.5 ? 1.0 : m < 3.5 ? 2.0 : m < 7.5 ? 5.0 : 10.0) * decade;
}
}  // namespace

Span pleasant(Span span, int about) {
    double width = span.high - span.low;
    const double magnitude = std::max(std::abs(span.low), std::abs(span.high));
    // A flat line gets room of its own size around it, nothing at all a unit.
    if (width <= 1e-6 * magnitude || width <= 0.0) {
        const double room = magnitude > 0.0 ? 0.1 * magnitude : 1.0;
        span = {span.low - room, span.high + room};
        width = span.high - span.low;
    }
    const double step = step_for(width * 1.04, about);
    const double room = 0.02 * width;
    return {std::floor((span.low - room) / step) * step, std::ceil((span.high + room) / step) * step};
}

Ticks ticks(double low, double high, int about) {
    Ticks t;
    if (!(high > low) || !std::isfinite(low) || !std::isfinite(high)) return t;
    t.step = step_for(high - low, about);
    const double first = std::ceil(low / t.step - 1e-9), last = std::floor(high / t.step + 1e-9);
    if (!(last - first < 1000.0)) return t;
    for (double n = first; n <= last; n += 1.0) t.at.push_back(n == 0.0 ? 0.0 : n * t.step);
    return t;
}

CursorReading cursors(trace::View trace, double t1, double t2) {
    CursorReading r;
    r.t1 = t1, r.t2 = t2;
    r.y1 = trace::value_at(trace, t1), r.y2 = trace::value_at(trace, t2);
    r.dt = t2 - t1, r.dy = r.y2 - r.y1;
    if (r.dt != 0.0) r.per_dt = 1.0 / std::abs(r.dt);
    const trace::Trace between = trace::slice(trace, std::min(t1, t2), std::max(t1, t2));
    const trace::Statistics s = trace::statistics(between);
    r.mean = s.mean, r.rms = s.rms;
    return r;
}

}  // namespace sunshaft::view
