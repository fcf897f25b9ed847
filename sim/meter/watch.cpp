#include "meter/watch.hpp"

#include <fmt/format.h>

#include <algorithm>
#include <cmath>
#include <stdexcept>

#include "meter/chain.hpp"

namespace sunshaft::meter {

namespace {

Filter whole_filter(const Function& fn) {
    Filter f;
    f.high_pass(fn.coupling_Hz)
        .low_pass(fn.bandwidth_Hz, fn.bandwidth_order)
        .low_pass(fn.lowpass_Hz, fn.lowpass_order);
    return f;
}

}  // namespace

Watch watch(const Spec& spec, Mode mode, trace::View wave, const Context& context) {
    if (drives_circuit(mode) || times_crossings(mode))
        throw std::invalid_argument(fmt::format("mode {} cannot be watched over a wave", mode_name(mode)));
    const Function& fn = spec.function(mode);
    trace::check(wave);
    const double interval = 1.0 / spec.update_per_s, t0 = trace::start(wave);
    const auto count = static_cast<std::size_t>(std::floor(trace::duration(wave) / interval * (1.0 + 1e-12)));
    if (count < 1)
        throw std::invalid_argument("watching a meter: the trace is shorter than one update of the display");
    std::vector<double> edges;
    for (std::size_t k = 0; k <= count; ++k) edges.push_back(t0 + static_cast<double>(k) * interval);
    const std::vector<Response> seen = whole_filter(fn).respond_from_rest(wave, edges);

    // Of what is left of a step after each update, so much stays: 1 % after the settling time.
    const double stays = spec.settling_s > 0.0 ? std::pow(0.01, interval / spec.settling_s) : 0.0;
    const auto& ranges = fn.ranges;
    std::size_t range = ranges.size() - 1;
    if (context.manual_range) {
        const Display held = display(spec, mode, 0.0, context.manual_range);
        range = static_cast<std::size_t>(std::find(ranges.begin(), ranges.end(), held.range) - ranges.begin());
    }
    Watch w;
    double smooth = 0.0, sum = 0.0;
    std::size_t shown = 0;
    for (std::size_t k = 0; k < count; ++k) {
        const Response& now = seen[k];
        const double quantity = fn.detector == Detector::mean      ? now.mean
                                : fn.detector == Detector::average ? now.rectified_mean
                                                                   : now.rms * now.rms;
        smooth = stays * smooth + (1.0 - stays) * quantity;
        const double value = fn.detector == Detector::mean      ? smooth
                             : fn.detector == Detector::average ? sine_form * smooth
                                                                : std::sqrt(std::max(0.0, smooth));
        w.peak_low = std::min(w.peak_low.value_or(now.min), now.min);
        w.peak_high = std::max(w.peak_high.value_or(now.max), now.max);
        const bool up = std::fabs(value) > ranges[range] && range + 1 < ranges.size();
        const bool down = range > 0 && std::fabs(value) < 0.9 * ranges[range - 1];
        if (!context.manual_range && (up || down)) {
            range = up ? range + 1 : range - 1;
            ++w.range_changes;
            w.updates.push_back({edges[k + 1], std::nullopt, "----", ranges[range], false});
            continue;
        }
        const Display d = display(spec, mode, value, ranges[range]);
        w.updates.push_back(
            {edges[k + 1], d.over ? std::nullopt : std::optional(value), d.text, d.range, d.over});
        if (d.over) continue;
        w.min = std::min(w.min.value_or(value), value);
        w.max = std::max(w.max.value_or(value), value);
        sum += value;
        ++shown;
    }
    if (shown > 0) w.average = sum / static_cast<double>(shown);
    if (const Update& last = w.updates.back(); last.value) {
        const double near = 3.0 * resolution(spec, last.range) + 0.005 * std::fabs(*last.value);
        for (auto it = w.updates.rbegin();
             it != w.updates.rend() && it->value && std::fabs(*it->value - *last.value) <= near; ++it)
            w.settled_s = it->t - t0;
    }
    return w;
}

std::optional<Surge> surge(const Spec& spec, Mode mode, trace::View current, double trigger_A,
                           double window_s) {
    if (!takes_clamp(mode))
        throw std::invalid_argument(
            fmt::format("mode {} takes no clamp and catches no surge", mode_name(mode)));
    if (!(trigger_A > 0.0 && window_s > 0.0))
        throw std::invalid_argument("surge: trigger and window must be positive");
    trace::check(current);
    for (const trace::Segment& s : current) {
        double at = s.t0;
        if (std::fabs(s.y0) <= trigger_A) {
            if (std::fabs(s.y1) <= trigger_A) continue;
            const double level = s.y1 > 0.0 ? trigger_A : -trigger_A;
            at = s.t0 + (s.t1 - s.t0) * (level - s.y0) / (s.y1 - s.y0);
        }
        const double end = std::min(at + window_s, trace::finish(current));
        if (!(end > at)) return std::nullopt;
        const Response r = whole_filter(spec.function(mode)).respond_from_rest(current, {at, end}).front();
        return Surge{at, r.rms, std::max(std::fabs(r.min), std::fabs(r.max))};
    }
    return std::nullopt;
}

}  // namespace sunshaft::meter
