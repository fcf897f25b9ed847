#include "bench/drawn.hpp"

#include <algorithm>
#include <cmath>

#include "plant/slow.hpp"

namespace sunshaft::bench {

double drawn_down_to(const Bench& b, double flow) {
    constexpr double above_m = 0.1;
    const site::Works& w = b.site()->works;
    const double lowest = w.guards.dry.fitted ? w.guards.probe_depth : w.water.pump_depth;
    return std::max(w.water.static_level, std::min(plant::well(w).steady_level(std::max(0.0, flow)), lowest - above_m));
}

double outflow(const Bench& b) {
    const plant::Instant now = b.plant().look(b.state());
    return now.flow - now.slow.leak;
}

bool drawn_down(Bench& b) {
    constexpr double near_m = 0.04;
    if (b.site()->works.water.pump.index() == 0) return true;
    const double flow = outflow(b), level = drawn_down_to(b, flow);
    if (std::abs(level - b.state().water_level) < near_m) return true;
    const double on = flow > 0.0 ? 0.9 : 1.0;  // of the way there: the deeper the water, the less is pumped
    b.state().water_level += on * (level - b.state().water_level);
    return false;
}

}  // namespace sunshaft::bench
