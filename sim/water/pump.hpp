// Pumps: what head they hold against a flow at a shaft speed, and what torque that takes.
//
// Plain structs with inline functions, since the solver calls them in its innermost loop. Speeds rad/s, flow m3/s,
// head m of water, torque N m. Reversed and braking quadrants are declared in each function.
#pragma once

#include <string>
#include <variant>

namespace sunshaft::water {

inline constexpr double gravity = 9.80665;

// Centrifugal pump: H = h0 r^2 + h1 r Q + h2 Q |Q| with r = speed / rated speed (affinity laws: Q ~ n, H ~ n^2,
// P ~ n^3; any text, for example Karassik, Pump Handbook). Shaft torque from a power curve with the same scaling.
struct Centrifugal {
    double rated_speed;      // rad/s
    double h0, h1, h2;       // m, s/m2, s2/m5 (h2 < 0)
    double p0, p1, p2, p3;   // shaft power at rated speed: p0 + p1 Q + p2 Q^2 + p3 Q^3, W
    double head(double speed, double flow) const;
    double torque(double speed, double flow) const;  // N m, sign of speed
};
// From three figures everybody has: shut-off head, best-efficiency point and its efficiency (all at rated speed).
Centrifugal centrifugal(double rated_speed, double shutoff_head, double best_flow, double best_head,
                        double best_efficiency, double density);

// Progressive-cavity pump: Q = D w / 2 pi - slip * dp; torque = D dp / 2 pi + running friction, break-away at rest.
struct ProgressiveCavity {
    double displacement;   // m3 per revolution
    double slip;           // m3/s per Pa
    double breakaway;      // N m
    double running;        // N m
    double head(double speed, double flow, double density) const;
    double torque(double speed, double flow, double density) const;
};

}  // namespace sunshaft::water
