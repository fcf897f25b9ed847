#include "trace/trace.hpp"

#include <algorithm>
#include <cassert>
#include <stdexcept>

namespace sunshaft::trace {

namespace {

double value_in(const Segment& s, double t) {
    if (t <= s.t0) return s.y0;
    if (t >= s.t1) return s.y1;
    return s.y0 + (s.y1 - s.y0) * ((t - s.t0) / (s.t1 - s.t0));
}

// First segment that ends after t.
View::iterator segment_after(View trace, double t) {
    return std::upper_bound(trace.begin(), trace.end(), t, [](double time, const Segment& s) { return time < s.t1; });
}

}  // namespace

Trace Recording::signal(std::size_t index) const {
    assert(index < y0.size());
    Trace out(rows());
    for (std::size_t r = 0; r < rows(); ++r) out[r] = {t0[r], t1[r], y0[index][r], y1[index][r]};
    return out;
}

Trace Recording::difference(std::size_t red, std::size_t black) const {
    assert(red < y0.size() && black < y0.size());
    Trace out(rows());
    for (std::size_t r = 0; r < rows(); ++r)
        out[r] = {t0[r], t1[r], y0[red][r] - y0[black][r], y1[red][r] - y1[black][r]};
    return out;
}

double start(View trace) { return trace.empty() ? 0.0 : trace.front().t0; }
double finish(View trace) { return trace.empty() ? 0.0 : trace.back().t1; }
double duration(View trace) { return finish(trace) - start(trace); }

Trace slice(View trace, double from, double to) {
    Trace out;
    for (auto it = segment_after(trace, from); it != trace.end() && it->t0 < to; ++it) {
        const Segment cut{std::max(it->t0, from), std::min(it->t1, to), value_in(*it, from), value_in(*it, to)};
        if (cut.t1 > cut.t0) out.push_back(cut);
    }
    return out;
}

double value_at(View trace, double t) {
    if (trace.empty()) return 0.0;
    const auto it = segment_after(trace, t);
    return it == trace.end() ? trace.back().y1 : value_in(*it, t);
}

Trace scaled(View trace, double factor, double offset) {
    Trace out(trace.begin(), trace.end());
    for (Segment& s : out) {
        s.y0 = factor * s.y0 + offset;
        s.y1 = factor * s.y1 + offset;
    }
    return out;
}

Trace sum(View a, View b, double weight_b) {
    Trace out;
    out.reserve(a.size() + b.size());
    std::size_t i = 0, j = 0;
    double t = std::max(start(a), start(b));
    while (i < a.size() && a[i].t1 <= t) ++i;
    while (j < b.size() && b[j].t1 <= t) ++j;
    while (i < a.size() && j < b.size()) {
        const double end = std::min(a[i].t1, b[j].t1);
        if (end > t)
            out.push_back({t, end, value_in(a[i], t) + weight_b * value_in(b[j], t),
                           value_in(a[i], end) + weight_b * value_in(b[j], end)});
        t = end;
        if (a[i].t1 <= t) ++i;
        if (j < b.size() && b[j].t1 <= t) ++j;
    }
    return out;
}

void check(View trace) {
    for (std::size_t k = 0; k < trace.size(); ++k) {
        const Segment& s = trace[k];
        if (!(s.t1 > s.t0)) throw std::invalid_argument("trace: a segment does not run forward in time");
        if (!(s.y0 - s.y0 == 0.0) || !(s.y1 - s.y1 == 0.0)) throw std::invalid_argument("trace: a value is not finite");
        if (k && trace[k - 1].t1 != s.t0) throw std::invalid_argument("trace: segments do not meet in time");
    }
}

}  // namespace sunshaft::trace
