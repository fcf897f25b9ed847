#include "water/pump.hpp"

#include <fmt/format.h>

#include <cmath>
#include <stdexcept>

namespace sunshaft::water {
namespace {

void demand(bool met, const char* what, double value, const char* expected) {
    if (!met) throw std::invalid_argument(fmt::format("pump: {} is {:g}, expected {}", what, value, expected));
}

void demand_positive(const char* what, double value) {
    demand(std::isfinite(value) && value > 0, what, value, "more than 0");
}

// Power at closed valve over power at the best point, as small as the data have it unless the balance of water
// forced through faster than the pump pushes (x past the zero of the head) asks for more: P >= efficiency * N
// at every x.
double closed_valve_share(double steepness, double efficiency) {
    constexpr double radial_pump = 0.45;
    const double s = steepness;
    double share = radial_pump;
    double x = 1.01;
    while (x < 100.0 / efficiency) {
        const double gain = efficiency * (1 + s - s * x * x) - (1 + 2 * s - 2 * s * x);
        share = std::max(share, 1.01 * x * gain / ((1 - x) * (1 - x)));
        x *= 1.01;
    }
    return share;
}

}  // namespace

Centrifugal centrifugal(double rated_speed, double shutoff_head, double best_flow, double best_head,
                        double best_efficiency, double density, double reversed_share) {
    demand_positive("rated speed", rated_speed);
    demand_positive("best flow", best_flow);
    demand_positive("best head", best_head);
    demand_positive("density", density);
    demand(std::isfinite(shutoff_head) && shutoff_head > best_head, "shut-off head", shutoff_head,
           "more than the head at the best point");
    demand(best_efficiency > 0 && best_efficiency < 1, "best efficiency", best_efficiency, "between 0 and 1");
    demand(reversed_share > 0 && reversed_share < 1, "reversed share", reversed_share, "between 0 and 1");

    const double q = best_flow, q2 = best_flow * best_flow;
    const double s = shutoff_head / best_head - 1;
    const double k = closed_valve_share(s, best_efficiency);
    const double power = hydraulic_power(density, best_flow, best_head) / best_efficiency;

    // Donsky's radial pump in units of its best point: values on the axes, then fitted cross terms. Its own
    // shut-off head is 1.288 and its efficiency was about 0.85 (the latter not printed with the table).
    constexpr double reversed_runs_out = 0.437;
    constexpr double standing_head = 0.692, standing_torque = 0.865, reversed_torque = 0.684;
    constexpr double turbine_head = -0.277, turbine_torque = 0.392, back_torque = 0.257;
    constexpr double its_efficiency = 0.85;
    const double better = std::min(1.0, best_efficiency / its_efficiency), quality = better * better;
    const double reversed_head = reversed_share * (1 + s);
    // Steeper where a flat curve and a low efficiency would let a standing pump draw power from forced flow.
    const double reversed_slope = std::max(
        (reversed_head - s * reversed_runs_out * reversed_runs_out) / reversed_runs_out, (k - 2 * s) / best_efficiency);
    const double reversed_cross = std::max(2.249, reversed_head);

    Centrifugal pump{};
    pump.rated_speed = rated_speed;
    pump.h0 = shutoff_head;
    pump.h1 = 0.0;
    pump.h2 = -s * best_head / q2;
    pump.p0 = power * k;
    pump.p1 = power * (1 + 2 * s - 2 * k) / q;
    pump.p2 = power * (k - 2 * s) / q2;
    pump.back_h2 = best_head * standing_head / q2;
    pump.back_p1 = power * quality * back_torque / q;
    pump.back_p2 = power * quality * standing_torque / q2;
    pump.reversed_h0 = best_head * reversed_head;
    pump.reversed_h1 = best_head * reversed_slope / q;
    pump.reversed_p0 = -power * reversed_torque;
    pump.reversed_p1 = power * reversed_cross / q;
    pump.turbine_h1 = best_head * turbine_head / q;
    pump.turbine_p1 = power * quality * turbine_torque / q;
    return pump;
}

Centrifugal worn(Centrifugal pump, double wear) {
    demand(wear >= 0 && wear <= 1, "wear", wear, "0 to 1");
    pump.h0 *= 1 - wear;
    pump.reversed_h0 *= 1 - wear;
    pump.back_p1 *= 1 - wear;  // less is drawn from water running back, too
    pump.back_p2 *= 1 - wear;
    pump.turbine_p1 *= 1 - wear;
    return pump;
}

ProgressiveCavity progressive_cavity(double displacement, double slip_fraction, double rated_speed, double rated_head,
                                     double breakaway, double running, double density) {
    demand_positive("displacement", displacement);
    demand_positive("rated speed", rated_speed);
    demand_positive("rated head", rated_head);
    demand_positive("density", density);
    demand(slip_fraction >= 0 && slip_fraction < 1, "slip fraction", slip_fraction, "0 to below 1");
    demand(breakaway >= 0 && std::isfinite(breakaway), "break-away torque", breakaway, "0 or more");
    demand(running >= 0 && std::isfinite(running), "running friction", running, "0 or more");
    ProgressiveCavity pump{displacement, 0.0, breakaway, running};
    pump.slip = std::max(slip_fraction, 1e-3) * pump.per_radian() * rated_speed / (density * gravity * rated_head);
    return pump;
}

ProgressiveCavity worn(ProgressiveCavity pump, double wear) {
    demand(wear >= 0 && wear < 1, "wear", wear, "0 to below 1");
    pump.slip /= (1 - wear) * (1 - wear);
    return pump;
}

}  // namespace sunshaft::water
