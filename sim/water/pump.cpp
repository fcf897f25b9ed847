#include "water/pump.hpp"

#include <fmt/format.h>

#include <cmath>
#include <stdexcept>

#include "text/language.hpp"
#include "water/quadrants.hpp"

namespace sunshaft::water {
namespace {

void demand(bool met, const char* what, double value, const char* expected) {
    if (!met)
        throw std::invalid_argument(
            text::say("pump: {} is {:g}, expected {}", text::tr(what), value, text::tr(expected)));
}

void demand_positive(const char* what, double value) {
    demand(std::isfinite(value) && value > 0, what, value, text::id("more than 0"));
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

// A table's value on the way from speed share a and flow share v, cubic between its entries.
double between(const std::array<double, Outside::size>& table, const std::array<double, Outside::size>& slope, double a,
               double v) {
    const double at = (std::numbers::pi + std::atan2(v, a)) * (44 / std::numbers::pi);
    const auto n = std::min(static_cast<std::size_t>(std::max(at, 0.0)), Outside::size - 2);
    const double y = at - static_cast<double>(n), z = 1 - y;
    const double d = table[n + 1] - table[n];
    return table[n] + y * d + y * z * (z * (slope[n] - d) - y * (slope[n + 1] - d));
}

// Slopes by the entries beside; at the axes, where another quadrant begins, from inside.
void lay_slopes(const std::array<double, Outside::size>& table, std::array<double, Outside::size>& slope) {
    for (std::size_t n = 0; n < Outside::size; ++n) {
        const std::size_t before = n % 22 == 0 && (n == 0 || n == 66) ? n : n - 1,
                          after = n == 44 || n == 88 ? n : n + 1;
        slope[n] = (table[after] - table[before]) / static_cast<double>(after - before);
    }
}

// The measured characteristics moved onto a pump's own figures.
struct Own {
    double specific_speed, reversed_share, steepness, closed_valve, efficiency, best_head, best_torque;
};
std::shared_ptr<const Outside> fit(const Own& own) {
    constexpr double its_efficiency = 0.85;
    const double better = std::min(1.0, own.efficiency / its_efficiency), quality = better * better;
    const Quadrants measured = quadrants(own.specific_speed);
    const double s = own.steepness, k = own.closed_valve;
    const double share = std::isnan(own.reversed_share) ? measured.head[0] / measured.head[44] : own.reversed_share;
    const double closed = 1 + s - measured.head[44], reversed = share * (1 + s) - measured.head[0],
                 forced = -s - measured.head[66], forced_torque = k - 2 * s - measured.torque[66];
    auto out = std::make_shared<Outside>();
    for (std::size_t n = 0; n < Outside::size; ++n) {
        const double angle = (static_cast<double>(n) - 44) * (std::numbers::pi / 44);
        const double a = std::cos(angle), v = std::sin(angle), a2 = a * a;
        // Where this pump's parabola meets the measured pump, in a few tens of degrees.
        const double near_forced = v * v * (1 - std::abs(a)) * (1 - std::abs(a));
        double h = measured.head[n], t = measured.torque[n];
        if (n <= 22) h += reversed * a2;
        else if (n <= 44) h += closed * a2;
        else if (n >= 66) h += reversed * a2 + forced * near_forced;
        if (n <= 22) t = measured.torque[0] * a2 + quality * (t - measured.torque[0] * a2);
        else if (n <= 44) t = k * a2 + quality * (t - measured.torque[44] * a2);
        else if (n >= 66) t += forced_torque * near_forced;
        out->head[n] = h, out->torque[n] = t;
    }
    lay_slopes(out->head, out->head_by);
    out->head_by[44] = 0.0;  // as the pumping quadrant begins
    lay_slopes(out->torque, out->torque_by);
    // No more power out than in, in units of the shaft's at the best point: eta v h <= a t.
    constexpr int looks = 400;
    constexpr double margin = 1.02;
    for (int n = 1; n < looks; ++n) {
        const double left = 1.0 - static_cast<double>(n) / looks;  // closer together towards a shaft at rest
        const double angle = std::numbers::pi / 2 * (1.0 - left * left), c = std::cos(angle), d = std::sin(angle);
        const auto gain = [&](double a, double v) {
            return own.efficiency * v * between(out->head, out->head_by, a, v) -
                   a * between(out->torque, out->torque_by, a, v);
        };
        out->reversed_slope = std::max(out->reversed_slope, margin * gain(-c, d) / (own.efficiency * c * d * d));
        out->turbine_drag = std::max(out->turbine_drag, margin * gain(-c, -d) / (c * c * d));
    }
    for (std::size_t n = 0; n < Outside::size; ++n) {
        out->head[n] *= own.best_head, out->head_by[n] *= own.best_head;
        out->torque[n] *= own.best_torque, out->torque_by[n] *= own.best_torque;
    }
    out->reversed_slope *= own.best_head;
    out->turbine_drag *= own.best_torque;
    return out;
}

}  // namespace

Centrifugal centrifugal(double rated_speed, double shutoff_head, double best_flow, double best_head,
                        double best_efficiency, double density, double specific_speed, double reversed_share) {
    demand_positive(text::id("rated speed"), rated_speed);
    demand_positive(text::id("best flow"), best_flow);
    demand_positive(text::id("best head"), best_head);
    demand_positive(text::id("density"), density);
    demand_positive(text::id("specific speed"), specific_speed);
    demand(std::isfinite(shutoff_head) && shutoff_head > best_head, text::id("shut-off head"), shutoff_head,
           text::id("more than the head at the best point"));
    demand(best_efficiency > 0 && best_efficiency < 1, text::id("best efficiency"), best_efficiency,
           text::id("between 0 and 1"));
    demand(std::isnan(reversed_share) || (reversed_share > 0 && reversed_share < 1), text::id("reversed share"),
           reversed_share, text::id("between 0 and 1"));

    const double q = best_flow, q2 = best_flow * best_flow;
    const double s = shutoff_head / best_head - 1;
    const double k = closed_valve_share(s, best_efficiency);
    const double power = hydraulic_power(density, best_flow, best_head) / best_efficiency;

    Centrifugal pump{};
    pump.rated_speed = rated_speed;
    pump.h0 = shutoff_head;
    pump.h1 = 0.0;
    pump.h2 = -s * best_head / q2;
    pump.p0 = power * k;
    pump.p1 = power * (1 + 2 * s - 2 * k) / q;
    pump.p2 = power * (k - 2 * s) / q2;
    pump.best_flow = best_flow;
    pump.outside = fit({specific_speed, reversed_share, s, k, best_efficiency, best_head, power / rated_speed});
    return pump;
}

double Centrifugal::head_outside(double a, double v) const {
    const double h = (a * a + v * v) * between(outside->head, outside->head_by, a, v);
    // Worn, it loses at closed valve a share of what it holds there, whichever way it turns.
    const double lost = wear * (a > 0 ? h0 : std::max(0.0, outside->head.front())) * a * a;
    return h - lost - (a < 0 && v > 0 ? outside->reversed_slope * -a * v : 0.0);
}

double Centrifugal::torque_outside(double a, double v) const {
    const double t = (a * a + v * v) * between(outside->torque, outside->torque_by, a, v);
    if (v >= 0) return t;
    // Clearances let water past that would have turned it.
    const double axis = (a > 0 ? outside->torque[44] : outside->torque.front()) * a * a;
    const double drag = a < 0 ? outside->turbine_drag * a * v : 0.0;
    return axis + (1 - wear) * (t - axis) - drag;
}

Centrifugal worn(Centrifugal pump, double wear) {
    demand(wear >= 0 && wear <= 1, text::id("wear"), wear, text::id("0 to 1"));
    pump.h0 *= 1 - wear;
    pump.wear = 1 - (1 - wear) * (1 - pump.wear);
    return pump;
}

ProgressiveCavity progressive_cavity(double displacement, double slip_fraction, double rated_speed, double rated_head,
                                     double breakaway, double running, double density) {
    demand_positive(text::id("displacement"), displacement);
    demand_positive(text::id("rated speed"), rated_speed);
    demand_positive(text::id("rated head"), rated_head);
    demand_positive(text::id("density"), density);
    demand(slip_fraction >= 0 && slip_fraction < 1, text::id("slip fraction"), slip_fraction, text::id("0 to below 1"));
    demand(breakaway >= 0 && std::isfinite(breakaway), text::id("break-away torque"), breakaway, text::id("0 or more"));
    demand(running >= 0 && std::isfinite(running), text::id("running friction"), running, text::id("0 or more"));
    ProgressiveCavity pump{displacement, 0.0, breakaway, running};
    pump.slip = std::max(slip_fraction, 1e-3) * pump.per_radian() * rated_speed / (density * gravity * rated_head);
    return pump;
}

ProgressiveCavity worn(ProgressiveCavity pump, double wear) {
    demand(wear >= 0 && wear < 1, text::id("wear"), wear, text::id("0 to below 1"));
    pump.slip /= (1 - wear) * (1 - wear);
    return pump;
}

}  // namespace sunshaft::water
