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

}  // namespace sunshaft::trace
