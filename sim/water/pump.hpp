// Pumps: what head they hold against a flow at a shaft speed, and what torque that takes.
//
//   Centrifugal         curve and affinity laws, all four quadrants; centrifugal() builds one from data-sheet figures
//   ProgressiveCavity   displacement, slip, break-away; progressive_cavity() likewise
//   worn()              the same pump with its clearances worn open
//   dry_friction()      what holds a shaft at rest, and less while it turns
//   hydraulic_power(), npsh_available(), npsh_required(), cavitating()
//
// Plain structs with inline functions, since the solver calls them in its innermost loop. Speed rad/s, positive
// in the pump's own direction; flow m3/s, positive up the rising main; head m of water, positive pushing up.
// Torque N m is what the shaft must bring: J dw/dt = motor torque - torque, so it is negative where the water
// or the reversed shaft pulls the other way, and torque * speed < 0 means that the water drives the shaft.
// Speed and flow must be finite; every result then is.
#pragma once

#include <algorithm>
#include <array>
#include <limits>
#include <memory>
#include <numbers>

namespace sunshaft::water {

inline constexpr double gravity = 9.80665;  // m/s2, standard

// Power in lifted water, W: rho g Q H.
constexpr double hydraulic_power(double density, double flow, double head) { return density * gravity * flow * head; }

// Head that stands above the vapour pressure at the pump inlet, m: (p_atm - p_v) / (rho g) - lift - loss.
// Pressures absolute, Pa; lift from the water level up to the pump, negative for a submerged one.
// (Karassik et al., Pump Handbook, chapter on centrifugal pumps: net positive suction head available.)
constexpr double npsh_available(double atmospheric_pressure, double vapour_pressure, double density, double lift,
                                double suction_loss) {
    return (atmospheric_pressure - vapour_pressure) / (density * gravity) - lift - suction_loss;
}

// What a centrifugal pump needs of it, m, from the figure at rated speed and best flow: speed and flow as shares of
// these. With the square of the flow, a third of it with that of the speed (shape of makers' curves, common practice,
// no source).
constexpr double npsh_required(double at_best, double speed, double flow) {
    return at_best * (0.3 * speed * speed + 0.7 * flow * flow);
}
// Share of its head that is left where so much stands and so much is needed: 0.97 where they are equal, which is how
// the needed one is defined (Hydraulic Institute, Engineering Data Book, pump principles: NPSH3). Next to none is lost
// at half as much again, all of it at two thirds. The steepness is common practice, no source; power and efficiency
// stay as they are.
inline double cavitating(double available, double required) {
    if (!(required > 0.0) || available >= 2.0 * required) return 1.0;
    const double short_of = required / std::max(available, 1e-3 * required), square = short_of * short_of,
                 fourth = square * square;
    return std::max(0.0, 1.0 - 0.03 * fourth * fourth);
}

// What a pump does outside the pumping quadrant, as shares of its best point: quadrants.hpp fitted to this pump.
struct Outside {
    static constexpr std::size_t size = 89;
    std::array<double, size> head{}, torque{};        // m and N m, of a2 + v2; C1 between the entries
    std::array<double, size> head_by{}, torque_by{};  // their slopes, for each entry
    double reversed_slope = 0.0;                      // m: less of head turned backwards against forward flow, |a| v
    double turbine_drag = 0.0;                        // N m: less of what falling water gives, |a v|
};

// Centrifugal pump. Pumping (speed and flow forward) head and torque are quadratic forms in r = speed / rated_speed and
// Q; in the other three quadrants they follow the complete characteristics measured on pumps of its specific speed. All
// of it goes with the square along an affine line, so that the affinity laws (Q ~ n, H ~ n2, P ~ n3) are exact, and is
// continuous from quadrant to quadrant:
//
//     H = h0 r2 + h1 r Q + h2 Q2          T = (p0 r2 + p1 r Q + p2 Q2) / rated_speed          pumping
//     H = (a2 + v2) head(x)               T = (a2 + v2) torque(x)                             else
//
// Left out: the change of efficiency with size and speed (Reynolds number), hysteresis. `breakaway` holds
// the shaft at rest (dry_friction() below); torque() knows nothing of it.
struct Centrifugal {
    double rated_speed;  // rad/s
    double h0, h1, h2;   // m, s/m2, s2/m5; h2 < 0
    double p0, p1, p2;   // W, W s/m3, W s2/m6
    double best_flow = 1.0;
    std::shared_ptr<const Outside> outside{};
    double wear = 0.0;       // share of the closed-valve head lost
    double breakaway = 0.0;  // N m

    double head(double speed, double flow) const {
        const double r = speed * (1 / rated_speed);  // the division does not wait for the speed
        if (r < 0 || flow < 0) [[unlikely]]
            return head_outside(r, flow / best_flow);
        return h0 * r * r + (h1 * r + h2 * flow) * flow;
    }
    double torque(double speed, double flow) const {
        const double per_rated = 1 / rated_speed, r = speed * per_rated;
        if (r < 0 || flow < 0) [[unlikely]]
            return torque_outside(r, flow / best_flow);
        return (p0 * r * r + (p1 * r + p2 * flow) * flow) * per_rated;
    }
    // m and N m at shares of rated speed and best flow, one of them negative.
    double head_outside(double a, double v) const;
    double torque_outside(double a, double v) const;
    bool operator==(const Centrifugal&) const = default;
};

// A pump from the figures on every data sheet, all at rated speed: head at closed valve, and flow, head and
// efficiency (above 0, below 1) at the best point; shutoff_head > best_head. Throws std::invalid_argument on
// anything else.
//
// Pumping quadrant, with x = Q / best flow, s = shutoff_head / best_head - 1 and N = x (1 + s - s x2) the
// hydraulic power in units of that at the best point:
//
//     H = best_head (1 + s - s x2)        P = P_best (N + (1 - x)2 (k + s x))
//
// The second bracket is the one that makes P a quadratic in x for every k, so that efficiency / best_efficiency
// = N / (N + (1 - x)2 (k + s x)) peaks at x = 1, with zero slope, and is below that everywhere else. k is the
// share of power taken at closed valve: 0.45 as in the data below, more where a steep curve and a low
// efficiency need it so that even water forced through the pump faster than it can push loses energy in it.
//
// The other three quadrants are those of a measured pump of that specific speed (quadrants.hpp), moved on the axes onto
// this pump's own figures: head and torque at closed valve, head and torque of water forced through at rest. Turned
// backwards with its valve closed a radial pump keeps 49 % of its shut-off head, less with rising specific speed, none
// from about 80 on; another share may be given. Torque drawn from water running back goes with the square of the
// efficiency, up to the 0.85 assumed for the measured pumps, which makes a pump as turbine a little less efficient than
// as pump. Where a pump far from the measured ones would bring out more power than goes in, turned backwards it pushes
// less and as a turbine it gives less.
Centrifugal centrifugal(double rated_speed, double shutoff_head, double best_flow, double best_head,
                        double best_efficiency, double density, double specific_speed = 25.0,
                        double reversed_share = std::numeric_limits<double>::quiet_NaN());

// Wear opens the clearances: part of the head is lost, the power stays. wear 0..1 is the share of head lost at
// closed valve (common practice, no source).
Centrifugal worn(Centrifugal pump, double wear);

// Dry friction of a turning shaft, N m, to be taken against the turning: `rest` holds it at a stand, and falls to
// `running` at 30 rad/s and beyond as a film builds up (Stribeck; R. Stribeck, Z. VDI 46 (1902) 1341; the speed is
// common practice, no source):
//
//     running + (rest - running) (1 - (w / 30)2)2
//
// At rest the shaft holds against anything up to `rest`, whichever way it pulls: who integrates has to remember that it
// stands (plant/driver.hpp).
inline double dry_friction(double rest, double running, double speed) {
    constexpr double settled = 30.0;  // rad/s
    const double y = std::max(0.0, 1.0 - speed * speed * (1 / (settled * settled)));
    return running + (rest - running) * y * y;
}

// Progressive-cavity pump: a positive displacement that leaks back in proportion to its pressure,
//
//     Q = D w / 2 pi - slip dp         T = D dp / 2 pi + dry friction, against the turning
//
// (R. J. L. Moineau's principle; linear slip as in any text on positive-displacement pumps). Reversed, it draws
// from the main; the pressure across it then stops at one atmosphere of suction. Water running back turns it as
// a motor once D dp / 2 pi passes the friction.
struct ProgressiveCavity {
    double displacement;  // m3 per revolution
    double slip;          // m3/s per Pa, > 0
    double breakaway;     // N m
    double running;       // N m

    static constexpr double most_suction = 101325.0;  // Pa

    double pressure(double speed, double flow) const {  // Pa
        return std::max(-most_suction, (per_radian() * speed - flow) / slip);
    }
    double head(double speed, double flow, double density) const { return pressure(speed, flow) / (density * gravity); }
    // The other way round: the flow at a head it works against, m3/s.
    double flow(double speed, double head, double density) const {
        return per_radian() * speed - slip * density * gravity * head;
    }
    // The same call as head(); how heavy the water is makes no difference to a given flow. At speed 0: without
    // friction.
    double torque(double speed, double flow, double /*density*/) const {
        const double turning = speed > 0.0 ? 1.0 : (speed < 0.0 ? -1.0 : 0.0);
        return per_radian() * pressure(speed, flow) + turning * dry_friction(breakaway, running, speed);
    }
    double per_radian() const { return displacement / (2 * std::numbers::pi); }
    bool operator==(const ProgressiveCavity&) const = default;
};

// From what its data sheet says: displacement, and the share of it (0 to below 1) that slips back at rated
// speed against rated head; a share below 0.001 is taken as 0.001, no stator is tighter. Throws
// std::invalid_argument.
ProgressiveCavity progressive_cavity(double displacement, double slip_fraction, double rated_speed, double rated_head,
                                     double breakaway, double running, double density);

ProgressiveCavity worn(ProgressiveCavity pump, double wear);  // wear w: the stator leaks 1 / (1 - w)2 as much

}  // namespace sunshaft::water
