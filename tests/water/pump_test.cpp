#include "water/pump.hpp"

#include <array>
#include <cmath>
#include <numbers>
#include <stdexcept>
#include <string>

#include "catch_shim.hpp"
#include "water/operating_point.hpp"
#include "water/quadrants.hpp"

using namespace sunshaft::water;
using sunshaft::test::approx;

namespace {

constexpr double rpm = std::numbers::pi / 30;
constexpr double rated = 2850 * rpm, best_flow = 6.0 / 3600;
Centrifugal borehole_pump(double efficiency = 0.58) { return centrifugal(rated, 62, best_flow, 45, efficiency, 998.2); }
ProgressiveCavity screw_pump() { return progressive_cavity(5e-5, 0.1, 1500 * rpm, 60, 2.0, 0.8, 998.2); }

double efficiency(const Centrifugal& pump, double speed, double flow) {
    return hydraulic_power(998.2, flow, pump.head(speed, flow)) / (pump.torque(speed, flow) * speed);
}

}  // namespace

TEST_CASE("centrifugal: the figures of the data sheet come back") {
    for (const double e : {0.1, 0.3, 0.58, 0.8})
        for (const double steep : {1.02, 1.38, 2.0, 3.0}) {
            const Centrifugal pump = centrifugal(rated, 45 * steep, best_flow, 45, e, 998.2);
            REQUIRE(pump.head(rated, 0) == approx(45 * steep).epsilon(1e-14));
            REQUIRE(pump.head(rated, best_flow) == approx(45).epsilon(1e-13));
            REQUIRE(efficiency(pump, rated, best_flow) == approx(e).epsilon(1e-12));
            // Flat at the best point, lower on both sides of it.
            const double d = 1e-4 * best_flow;
            const double slope =
                (efficiency(pump, rated, best_flow + d) - efficiency(pump, rated, best_flow - d)) / (2e-4 * e);
            REQUIRE(slope == approx(0).margin(1e-6));
            for (double x = 0.02; pump.head(rated, x * best_flow) > 0; x += 0.02)
                REQUIRE(efficiency(pump, rated, x * best_flow) <= e * (1 + 1e-12));
        }
}

// Affinity laws (Karassik et al., Pump Handbook): Q ~ n, H ~ n2, P ~ n3.
TEST_CASE("centrifugal: affinity laws, every quadrant") {
    const Centrifugal pump = borehole_pump();
    for (const double n : {0.5, 0.8, 0.9, 0.01, 1.3})
        for (const double speed : {rated, -rated, 0.3 * rated, 0.0})
            for (const double x : {-2.0, -0.5, 0.0, 0.4, 1.0, 1.7}) {
                const double q = x * best_flow;
                REQUIRE(pump.head(n * speed, n * q) ==
                        approx(n * n * pump.head(speed, q)).epsilon(1e-12).margin(1e-12));
                REQUIRE(pump.torque(n * speed, n * q) ==
                        approx(n * n * pump.torque(speed, q)).epsilon(1e-12).margin(1e-12));
            }
    // The rows every table prints.
    for (const auto& [n, h, p] : {std::array{0.5, 0.25, 0.125}, {0.8, 0.64, 0.512}, {0.9, 0.81, 0.729}}) {
        REQUIRE(pump.head(n * rated, n * best_flow) == approx(45 * h).epsilon(1e-12));
        REQUIRE(pump.torque(n * rated, n * best_flow) * n * rated ==
                approx(pump.torque(rated, best_flow) * rated * p).epsilon(1e-12));
    }
}

TEST_CASE("centrifugal: continuous where quadrants meet, finite everywhere") {
    const Centrifugal pump = borehole_pump();
    const double eps = 1e-12;
    for (double x = -3; x <= 3; x += 0.1) {
        REQUIRE(pump.head(x * rated, -eps * best_flow) == approx(pump.head(x * rated, 0)).margin(1e-9));
        REQUIRE(pump.torque(x * rated, -eps * best_flow) == approx(pump.torque(x * rated, 0)).margin(1e-9));
        REQUIRE(pump.head(-eps * rated, x * best_flow) == approx(pump.head(0, x * best_flow)).margin(1e-9));
        REQUIRE(pump.torque(-eps * rated, x * best_flow) == approx(pump.torque(0, x * best_flow)).margin(1e-9));
    }
    REQUIRE(pump.head(0, 0) == 0);
    REQUIRE(pump.torque(0, 0) == 0);
    // Head is smooth where a leaking check valve lets the flow turn.
    const double d = 1e-6 * best_flow;
    REQUIRE((pump.head(rated, d) - 2 * pump.head(rated, 0) + pump.head(rated, -d)) / 62 == approx(0).margin(1e-10));
}

TEST_CASE("centrifugal: no quadrant makes energy") {
    for (const double e : {0.01, 0.05, 0.2, 0.4, 0.58, 0.75, 0.85, 0.95})
        for (const double steep : {1.001, 1.2, 1.38, 2.0, 3.0, 10.0})
            for (const auto& [wear, share, ns] : {std::array{0.0, 0.49, 25.0},
                                                  {0.3, 0.49, 25.0},
                                                  {1.0, 0.49, 25.0},
                                                  {0.0, 0.4, 35.0},
                                                  {0.0, 0.8, 60.0},
                                                  {0.3, 0.3, 150.0}}) {
                const Centrifugal pump = worn(centrifugal(rated, 45 * steep, best_flow, 45, e, 998.2, ns, share), wear);
                if (wear == 0.0) REQUIRE(pump.head(-rated, 0) == approx(share * 45 * steep).epsilon(1e-12));
                double least_lost = 1;
                for (int i = 0; i < 7200; ++i) {
                    const double angle = i * std::numbers::pi / 3600;
                    const double speed = rated * std::cos(angle), q = best_flow * std::sin(angle);
                    const double shaft = pump.torque(speed, q) * speed;
                    least_lost = std::min(least_lost, shaft - hydraulic_power(998.2, q, pump.head(speed, q)));
                }
                INFO("efficiency " << e << " steepness " << steep << " wear " << wear << " share " << share);
                REQUIRE(least_lost > -1e-9);
            }
}

// B. Donsky, J. Basic Eng. 83 (1961) 685, radial pump of specific speed 25 (SI) in the tabulation of E. B.
// Wylie and V. L. Streeter, "Fluid Transients" (two public copies agree): head and torque over (a2 + v2) at 89
// angles of (speed a, flow v) from -180 to 180 degrees, in units of the best point.
const double measured_head[] = {
    0.634,  0.643,  0.646,  0.64,   0.629,  0.613,  0.595,  0.575, 0.552,  0.533, 0.516, 0.505, 0.504,  0.51,  0.512,
    0.522,  0.539,  0.559,  0.58,   0.601,  0.63,   0.662,  0.692, 0.722,  0.753, 0.782, 0.808, 0.832,  0.857, 0.879,
    0.904,  0.93,   0.959,  0.996,  1.027,  1.06,   1.09,   1.124, 1.165,  1.204, 1.238, 1.258, 1.271,  1.282, 1.288,
    1.281,  1.26,   1.225,  1.172,  1.107,  1.031,  0.942,  0.842, 0.733,  0.617, 0.5,   0.368, 0.24,   0.125, 0.011,
    -0.102, -0.168, -0.255, -0.342, -0.423, -0.494, -0.556, -0.62, -0.655, -0.67, -0.67, -0.66, -0.655, -0.64, -0.6,
    -0.57,  -0.52,  -0.47,  -0.43,  -0.36,  -0.275, -0.16,  -0.04, 0.13,   0.295, 0.43,  0.55,  0.62,   0.634};
const double measured_torque[] = {
    -0.684, -0.547, -0.414, -0.292, -0.187, -0.105, -0.053, -0.012, 0.042, 0.097, 0.156, 0.227, 0.3,   0.371, 0.444,
    0.522,  0.596,  0.672,  0.738,  0.763,  0.797,  0.837,  0.865,  0.883, 0.886, 0.877, 0.859, 0.838, 0.804, 0.758,
    0.703,  0.645,  0.583,  0.52,   0.454,  0.408,  0.37,   0.343,  0.331, 0.329, 0.338, 0.354, 0.372, 0.405, 0.45,
    0.486,  0.52,   0.552,  0.579,  0.603,  0.616,  0.617,  0.606,  0.582, 0.546, 0.5,   0.432, 0.36,  0.288, 0.214,
    0.123,  0.037,  -0.053, -0.161, -0.248, -0.314, -0.372, -0.58,  -0.74, -0.88, -1,    -1.12, -1.25, -1.37, -1.49,
    -1.59,  -1.66,  -1.69,  -1.77,  -1.65,  -1.59,  -1.52,  -1.42,  -1.32, -1.23, -1.1,  -0.98, -0.82, -0.684};

TEST_CASE("centrifugal: complete characteristics of a measured radial pump") {
    const Centrifugal pump = centrifugal(1, 1.288, 1, 1, 0.85, 1 / gravity);  // torque of its best point: 1 / 0.85
    for (int i = 0; i < 89; ++i) {
        const double angle = (i - 44) * std::numbers::pi / 44, a = std::cos(angle), v = std::sin(angle);
        const double head = pump.head(a, v) - measured_head[i], torque = pump.torque(a, v) * 0.85 - measured_torque[i];
        INFO(i << ": head " << head << ", torque " << torque);
        const bool pumps = i > 44 && i < 66;  // there one parabola each
        const bool joins = i >= 66;           // and here it goes over into the measured pump
        CHECK(std::fabs(head) < (pumps ? 0.27 : joins ? (i < 74 ? 0.27 : i < 82 ? 0.05 : 1e-3) : 1e-12));
        CHECK(std::fabs(torque) < (pumps ? 0.25 : joins ? (i < 74 ? 0.25 : i < 82 ? 0.05 : 1e-3) : 1e-12));
    }
    REQUIRE(pump.head(1, 1) == approx(1).epsilon(1e-12));
}

TEST_CASE("centrifugal: turned backwards it holds less the higher its specific speed") {
    // Axes of the two measured pumps: 0.634 of 1.288 and -0.69 of 1.97.
    const auto share = [](double ns) {
        const Centrifugal p = centrifugal(rated, 62, best_flow, 45, 0.58, 998.2, ns);
        return p.head(-rated, 0) / p.head(rated, 0);
    };
    CHECK(share(25) == approx(0.634 / 1.288).epsilon(1e-12));
    CHECK(share(10) == share(25));
    CHECK(share(147) == approx(-0.69 / 1.97).epsilon(1e-12));
    double last = share(25);
    for (double ns = 30; ns < 147; ns += 10) {
        CHECK(share(ns) < last);
        last = share(ns);
    }
    CHECK(specific_speed(2850 * rpm, 6.0 / 3600, 5.0) == approx(34.80).epsilon(1e-3));  // worked by hand
    // Both tables close and pass their own best point, index 55.
    for (const double ns : {25.0, 147.0}) {
        const Quadrants q = quadrants(ns);
        CHECK(q.head.front() == q.head.back());
        CHECK(q.torque.front() == q.torque.back());
        CHECK(q.head[55] == 0.5);
        CHECK(q.torque[55] == 0.5);
    }
}

TEST_CASE("centrifugal: what the trade sees") {
    const Centrifugal pump = borehole_pump();
    // Reversed: water still goes up, with about half the head or less and part of the flow (common practice, no
    // source).
    REQUIRE(pump.head(-rated, 0) == approx(0.49 * 62).epsilon(0.01));
    REQUIRE(pump.head(-rated, 0.43 * best_flow) > 0);
    REQUIRE(pump.head(-rated, 0.47 * best_flow) < 0);
    REQUIRE(pump.torque(-rated, 0.2 * best_flow) < 0);
    // Water running back through it drives it backwards up to a runaway speed not far from the rated one.
    REQUIRE(pump.torque(0, -best_flow) > 0);
    const double q = -best_flow;
    double low = 0, high = 3 * rated;
    for (int i = 0; i < 60; ++i) (pump.torque(-(low + high) / 2, q) > 0 ? low : high) = (low + high) / 2;
    const double at_rated_head = low / rated * std::sqrt(45 / pump.head(-low, q));
    REQUIRE(at_rated_head > 0.7);
    REQUIRE(at_rated_head < 1.4);
    // Closed valve takes less power than the best point, an open pipe no more than a fifth above it.
    REQUIRE(pump.torque(rated, 0) < 0.6 * pump.torque(rated, best_flow));
    for (double up = 0; pump.head(rated, up) > 0; up += 0.01 * best_flow)
        REQUIRE(pump.torque(rated, up) < 1.2 * pump.torque(rated, best_flow));
    // Worn: less head, hardly less power.
    REQUIRE(worn(pump, 0.3).head(rated, 0) == approx(0.7 * 62).epsilon(1e-12));
    REQUIRE(worn(pump, 0.3).torque(rated, best_flow) == pump.torque(rated, best_flow));
}

TEST_CASE("centrifugal: nonsense is refused with words") {
    REQUIRE_THROWS_AS(centrifugal(0, 62, 1e-3, 45, 0.5, 998), std::invalid_argument);
    REQUIRE_THROWS_AS(centrifugal(300, 45, 1e-3, 45, 0.5, 998), std::invalid_argument);
    REQUIRE_THROWS_AS(centrifugal(300, 62, std::nan(""), 45, 0.5, 998), std::invalid_argument);
    REQUIRE_THROWS_AS(centrifugal(300, 62, 1e-3, 45, 1.0, 998), std::invalid_argument);
    REQUIRE_THROWS_AS(worn(borehole_pump(), 1.5), std::invalid_argument);
    try {
        centrifugal(300, 40, 1e-3, 45, 0.5, 998);
        FAIL("accepted");
    } catch (const std::invalid_argument& error) {
        REQUIRE(std::string(error.what()) ==
                "pump: shut-off head is 40, expected more than the head at the best point");
    }
}

// rho g Q H in SI and in US units (gal/min times ft over 3960, any handbook; water of 8.34 lb/gal).
TEST_CASE("power in lifted water, suction head") {
    REQUIRE(hydraulic_power(998.2, 0.010, 50) == approx(4894.499).epsilon(1e-6));
    REQUIRE(hydraulic_power(998.2, 5.0 / 3600, 30) == approx(407.874918).epsilon(1e-8));
    const double gallon = 3.785411784e-3, pound = 0.45359237, horsepower = 745.69987;
    REQUIRE(hydraulic_power(8.3333 * pound / gallon, 40 * gallon / 60, 200 * 0.3048) / horsepower ==
            approx(40 * 200 / 3960.0).epsilon(1e-4));
    REQUIRE(npsh_available(101325, 2339, 998.2, 3, 0.8) == approx(6.311964).epsilon(1e-6));
    REQUIRE(npsh_available(101325, 2339, 998.2, -12, 0) > 22);  // submerged
}

TEST_CASE("progressive cavity: displacement and slip") {
    const ProgressiveCavity pump = screw_pump();
    const double w = 1500 * rpm, ideal = 5e-5 * 25;
    REQUIRE(pump.flow(w, 0, 998.2) == approx(ideal).epsilon(1e-12));
    REQUIRE(pump.flow(w, 60, 998.2) == approx(0.9 * ideal).epsilon(1e-12));
    REQUIRE(pump.head(w, 0.9 * ideal, 998.2) == approx(60).epsilon(1e-9));
    REQUIRE(pump.head(w, pump.flow(w, 35, 998.2), 998.2) == approx(35).epsilon(1e-9));
    // Against the same head the loss is the same at half speed: 20 % of the ideal flow there.
    REQUIRE(pump.flow(w / 2, 60, 998.2) == approx(0.8 * ideal / 2).epsilon(1e-12));
    REQUIRE(worn(pump, 0.5).flow(w, 60, 998.2) == approx(0.6 * ideal).epsilon(1e-12));
    // Torque D dp / 2 pi and running friction; volumetric times mechanical efficiency.
    const double dp = 998.2 * gravity * 60, t = pump.torque(w, 0.9 * ideal, 998.2);
    REQUIRE(t == approx(5e-5 * dp / (2 * std::numbers::pi) + 0.8).epsilon(1e-9));
    REQUIRE(hydraulic_power(998.2, 0.9 * ideal, 60) / (t * w) < 0.9);
    // Closed valve: pressure until the shaft stalls, ten times the rated head here.
    REQUIRE(pump.head(w, 0, 998.2) == approx(600).epsilon(1e-9));
    // Reversed against a shut check valve: one atmosphere of suction, no more.
    REQUIRE(pump.pressure(-w, 0) == -101325);
    REQUIRE(pump.torque(-w, 0, 998.2) == approx(-5e-5 * 101325 / (2 * std::numbers::pi) - 0.8).epsilon(1e-12));
    REQUIRE_THROWS_AS(progressive_cavity(0, 0.1, 100, 60, 2, 1, 998), std::invalid_argument);
    REQUIRE_THROWS_AS(progressive_cavity(1e-5, 1, 100, 60, 2, 1, 998), std::invalid_argument);
    REQUIRE(std::isfinite(progressive_cavity(1e-5, 0, 100, 60, 2, 1, 998).pressure(100, 0)));
}

TEST_CASE("dry friction: breaks away, then runs easier") {
    REQUIRE(dry_friction(2.0, 0.8, 0) == 2.0);
    double last = 2.0;
    for (double w = 0; w < 60; w += 1e-2) {
        const double now = dry_friction(2.0, 0.8, w);
        REQUIRE(dry_friction(2.0, 0.8, -w) == now);
        REQUIRE(now <= last);
        REQUIRE(last - now < 1e-2 * 2.0 * 1.2 / 30);  // no jump: the steepest slope of (1 - x2)2 is 1.54
        last = now;
    }
    REQUIRE(dry_friction(2.0, 0.8, 30) == 0.8);
    REQUIRE(dry_friction(2.0, 0.8, 300) == 0.8);
    REQUIRE(dry_friction(0.8, 0.8, 5) == 0.8);
    // A pump's own: against the turning, whichever way.
    const ProgressiveCavity pump = screw_pump();
    for (const double w : {-100.0, -1.0, 1.0, 100.0})
        REQUIRE(pump.torque(w, 0, 998.2) - pump.per_radian() * pump.pressure(w, 0) ==
                approx((w > 0 ? 1 : -1) * dry_friction(2.0, 0.8, w)).epsilon(1e-12));
}

TEST_CASE("progressive cavity: no quadrant makes energy") {
    const ProgressiveCavity pump = screw_pump();
    for (double w = -300; w <= 300; w += 7)
        for (double q = -3e-3; q <= 3e-3; q += 1e-4)
            REQUIRE(pump.torque(w, q, 998.2) * w - q * pump.pressure(w, q) > -1e-9);
}

// H = 62 r2 - 3.5e5 Q2 on 30 m and 200 m of 50 mm (e 1.5 um, nu 1.004e-6, K 5), solved separately with the
// Colebrook-White equation.
TEST_CASE("operating point: worked separately at four speeds") {
    const double q = 0.005, h = 62 - 3.5e5 * q * q;
    const Centrifugal pump = centrifugal(rated, 62, q, h, 0.6, 998.2);
    const RisingMain main{200, 0.05, 1.5e-6, 5, 998.2, 1.004e-6};
    struct Row {
        double r, flow, head, power;
    };
    for (const Row& row : {Row{1.0, 4.894346e-3, 53.615882, 2568.777}, Row{0.9, 3.824777e-3, 45.099877, 1688.573},
                           Row{0.8, 2.570329e-3, 37.367694, 940.206}, Row{0.7, 4.34706e-4, 30.313861, 128.996}}) {
        const OperatingPoint at = operating_point(pump, row.r * rated, 30, main);
        REQUIRE(at.flow == approx(row.flow).epsilon(1e-5));
        REQUIRE(at.head == approx(row.head).epsilon(1e-5));
        REQUIRE(at.hydraulic_power == approx(row.power).epsilon(1e-5));
        REQUIRE(at.efficiency() < 0.6);
        REQUIRE(at.shaft_power == approx(at.torque * row.r * rated).epsilon(1e-15));
    }
    // No flow below r = sqrt(30 / 62) = 0.695608; the pump then holds its shut-off head.
    REQUIRE(operating_point(pump, 0.6957 * rated, 30, main).flow > 0);
    const OperatingPoint shut = operating_point(pump, 0.6955 * rated, 30, main);
    REQUIRE(shut.flow == 0);
    REQUIRE(shut.head == approx(62 * 0.6955 * 0.6955).epsilon(1e-12));
    REQUIRE(shut.efficiency() == 0);
    // Reversed: none at 30 m and a little more than 62 * 0.49 would lift, some at 20 m.
    REQUIRE(operating_point(pump, -rated, 31, main).flow == 0);
    const double some = operating_point(pump, -rated, 20, main).flow;
    REQUIRE(some > 0);
    REQUIRE(some < 0.5 * operating_point(pump, rated, 20, main).flow);
}

TEST_CASE("operating point: progressive cavity") {
    const ProgressiveCavity pump = screw_pump();
    const RisingMain main{70, 0.04, 1.5e-6, 5, 998.2, 1.004e-6};
    const OperatingPoint at = operating_point(pump, 1500 * rpm, 50, main);
    REQUIRE(at.head == approx(50 + main.loss(at.flow)).epsilon(1e-9));
    REQUIRE(at.flow == approx(pump.flow(1500 * rpm, at.head, 998.2)).epsilon(1e-9));
    REQUIRE(at.efficiency() > 0.5);
    REQUIRE(at.efficiency() < 0.9);
    REQUIRE(operating_point(pump, 0, 50, main).flow == 0);
}

TEST_CASE("a pump short of inlet pressure loses head, 3 % of it where it just has what it needs") {
    CHECK(cavitating(4.0, 4.0) == approx(0.97));
    CHECK(cavitating(8.0, 4.0) == 1.0);
    CHECK(cavitating(6.0, 4.0) > 0.998);
    CHECK(cavitating(2.5, 4.0) == 0.0);
    CHECK(cavitating(-1.0, 4.0) == 0.0);
    CHECK(cavitating(1.0, 0.0) == 1.0);
    double last = 1.0;
    for (double available = 8.0; available > 2.0; available -= 0.1) {
        const double left = cavitating(available, 4.0);
        CHECK(left <= last);
        last = left;
    }
    CHECK(npsh_required(5.0, 1.0, 1.0) == approx(5.0));
    CHECK(npsh_required(5.0, 0.5, 0.5) == approx(1.25));  // with the square along an affine curve
    // Atmosphere less vapour of 20 degC, 2 m under water, without loss.
    CHECK(npsh_available(101325, 2339, 998.2, -2, 0) == approx(12.112).epsilon(1e-3));
}
