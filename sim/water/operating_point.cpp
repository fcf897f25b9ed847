#include "water/operating_point.hpp"

#include "roots/roots.hpp"

namespace sunshaft::water {
namespace {

// Head falls and loss rises with flow wherever the two can cross after a start from rest, so there is one crossing.
template <class Head, class Torque>
OperatingPoint meet(Head head, Torque torque, double speed, double static_head, const RisingMain& main) {
    const auto surplus = [&](double flow) { return head(flow) - static_head - main.loss(flow); };
    double flow = 0.0;
    if (surplus(0.0) > 0) {
        double low = 0.0, high = 1e-6;
        while (surplus(high) > 0 && high < 1e6) {
            low = high;
            high *= 2;
        }
        flow = roots::root(surplus, low, high);
    }
    const double h = head(flow), t = torque(flow);
    return {flow, h, t, t * speed, hydraulic_power(main.density, flow, h)};
}

}  // namespace

OperatingPoint operating_point(const Centrifugal& pump, double speed, double static_head, const RisingMain& main) {
    return meet([&](double q) { return pump.head(speed, q); }, [&](double q) { return pump.torque(speed, q); }, speed,
                static_head, main);
}

OperatingPoint operating_point(const ProgressiveCavity& pump, double speed, double static_head,
                               const RisingMain& main) {
    return meet([&](double q) { return pump.head(speed, q, main.density); },
                [&](double q) { return pump.torque(speed, q, main.density); }, speed, static_head, main);
}

}  // namespace sunshaft::water
