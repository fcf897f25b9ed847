#include "trace/statistics.hpp"

namespace sunshaft::trace {

Statistics statistics(View trace) {
    Statistics s;
    Accumulator whole;
    for (const Segment& seg : trace) whole.add(seg);
    if (!(whole.duration() > 0.0)) return s;
    s.duration = whole.duration();
    s.mean = whole.mean();
    s.rms = whole.rms();
    s.rectified_mean = whole.rectified_mean();
    s.min = whole.min();
    s.max = whole.max();
    s.crest = whole.crest();
    // A second pass without the mean: a small ripple on a large DC keeps its digits.
    Accumulator ac;
    for (const Segment& seg : trace) ac.add(seg.t1 - seg.t0, seg.y0 - s.mean, seg.y1 - s.mean);
    s.rms_ac = ac.rms();
    s.rectified_mean_ac = ac.rectified_mean();
    s.crest_ac = ac.crest();
    if (s.rectified_mean_ac > 0.0) s.form = s.rms_ac / s.rectified_mean_ac;
    return s;
}

std::vector<double> interval_means(View trace, double from, double step, std::size_t count) {
    std::vector<double> out;
    out.reserve(count);
    std::size_t row = 0;
    for (std::size_t k = 0; k < count; ++k) {
        const double a = from + static_cast<double>(k) * step, b = from + static_cast<double>(k + 1) * step;
        double area = 0.0, width = 0.0;
        for (; row < trace.size(); ++row) {
            const Segment& s = trace[row];
            const double low = std::max(a, s.t0), high = std::min(b, s.t1);
            if (high > low) {
                area += (high - low) * (s.y0 + (s.y1 - s.y0) / (s.t1 - s.t0) * (0.5 * (low + high) - s.t0));
                width += high - low;
            }
            if (s.t1 > b) break;
        }
        out.push_back(width > 0.0 ? area / width : std::numeric_limits<double>::quiet_NaN());
    }
    return out;
}

}  // namespace sunshaft::trace
