#include "model/memories.hpp"

#include <algorithm>
#include <cmath>

namespace sunshaft::view {

void keep(std::optional<Memory>& memory, const meter::Reading& r) {
    if (!r.value) return;
    const double shown = r.resolution > 0.0 ? r.resolution * std::round(*r.value / r.resolution) : *r.value;
    if (!memory) memory = Memory{shown, shown, {}, {}};
    memory->low = std::min(memory->low, shown);
    memory->high = std::max(memory->high, shown);
    // The wave as it comes to the detector; a rectifier is part of that already.
    const meter::Stage* last = nullptr;
    for (const meter::Stage& stage : r.stages)
        if (!stage.wave.empty() && stage.name != "rectifier") last = &stage;
    if (!last) return;
    for (const trace::Segment& s : last->wave) {
        memory->peak_low = std::min({memory->peak_low.value_or(s.y0), s.y0, s.y1});
        memory->peak_high = std::max({memory->peak_high.value_or(s.y0), s.y0, s.y1});
    }
}

void InrushWait::look(const History& history, const History::Signed& signals, const meter::Spec& clamp,
                      meter::Mode mode, double now) {
    if (!armed_ || caught_ || signals.empty() || !clamp.has(mode)) return;
    constexpr double before = 0.01, behind = 0.005;  // s
    double since = 0.0;
    for (const auto& [name, sign] : signals) {
        if (!history.has(name)) return;
        since = std::max(since, history.from(name));
    }
    const double from = std::max(scanned_, since);
    if (!triggered_ && now > from) {
        const double trigger = meter::surge_trigger(clamp.function(mode), {});
        for (const trace::Segment& s : history.wave(signals, from, now))
            if (std::abs(s.y0) > trigger || std::abs(s.y1) > trigger) {
                triggered_ = s.t0;
                break;
            }
        if (!triggered_) scanned_ = now;
    }
    if (!triggered_ || now < *triggered_ + meter::surge_window_s + behind) return;
    const trace::Trace wave =
        history.wave(signals, std::max(since, *triggered_ - before), *triggered_ + meter::surge_window_s + behind);
    if (!wave.empty()) caught_ = std::make_shared<const meter::Surge>(meter::surge(clamp, mode, wave));
}

}  // namespace sunshaft::view
