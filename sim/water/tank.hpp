// The tank: its contents, and the float that stops the pump when it is full.
#pragma once

#include <algorithm>
#include <cmath>
#include <numbers>

namespace sunshaft::water {

struct Tank {
    double volume;        // m3
    double stop = 0.95;   // fill at which the float stops the pump
    double start = 0.85;  // and lets it go again, below stop

    // Fill 0..1 after dt, with constant flows in m3/s; what does not fit runs over, what is not there is not
    // drawn.
    double fill_after(double fill, double inflow, double outflow, double dt) const {
        return std::clamp(fill + (inflow - outflow) * dt / volume, 0.0, 1.0);
    }
    // A round tank as high as it is wide: depth of the water, m.
    double level(double fill) const { return fill * std::cbrt(4 * volume / std::numbers::pi); }
    // The float stands up (tank full): between start and stop it stays as it was.
    bool float_up(double fill, bool was_up) const { return fill >= (was_up ? start : stop); }
    bool operator==(const Tank&) const = default;
};

}  // namespace sunshaft::water
