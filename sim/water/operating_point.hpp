// Where a pump and its main agree: the steady flow, for curves and for starting values.
#pragma once

#include "water/pump.hpp"
#include "water/rising_main.hpp"

namespace sunshaft::water {

struct OperatingPoint {
    double flow,
        head;       // m3/s, m; flow 0 where the pump cannot open the check valve, head then what it holds below it
    double torque;  // N m
    double shaft_power, hydraulic_power;  // W
    double efficiency() const { return shaft_power > 0 ? hydraulic_power / shaft_power : 0.0; }
};

// head(speed, Q) = static_head + loss(Q), the flow that a start from rest settles at. static_head is from the
// water in the well to the outlet, m. Speed of either sign. Relative error of the flow below 1e-12.
OperatingPoint operating_point(const Centrifugal& pump, double speed, double static_head, const RisingMain& main);
OperatingPoint operating_point(const ProgressiveCavity& pump, double speed, double static_head, const RisingMain& main);

}  // namespace sunshaft::water
