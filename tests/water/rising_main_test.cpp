#include "water/rising_main.hpp"

#include <cmath>
#include <limits>
#include <stdexcept>
#include <vector>

#include "catch_shim.hpp"
#include "water/pump.hpp"

using namespace sunshaft::water;
using sunshaft::test::approx;

namespace {
constexpr double nu_20 = 1.004e-6;  // m2/s
RisingMain pipe(double length, double diameter, double roughness, double viscosity = nu_20, double density = 998.2) {
    return {length, diameter, roughness, 0.0, density, viscosity};
}
}  // namespace

// L. F. Moody, "Friction factors for pipe flow", Trans. ASME 66 (1944) 671: the chart's relation
// (Colebrook-White, 3.7 and 2.51) in figures; F. M. White, "Fluid Mechanics", smooth-pipe list, agrees to its
// digits.
TEST_CASE("friction factor: table over Reynolds number and roughness") {
    const double reynolds[] = {4e3, 1e4, 1e5, 1e6, 1e7, 1e8};
    struct Row {
        double roughness, f[6];
    };
    const Row rows[] = {{0, {0.039907, 0.030883, 0.017990, 0.011645, 0.008103, 0.005940}},
                        {1e-5, {0.039917, 0.030898, 0.018044, 0.011870, 0.008996, 0.008188}},
                        {1e-4, {0.040008, 0.031037, 0.018514, 0.013441, 0.012166, 0.011999}},
                        {5e-4, {0.040412, 0.031644, 0.020327, 0.017207, 0.016753, 0.016704}},
                        {1e-3, {0.040910, 0.032382, 0.022175, 0.019943, 0.019667, 0.019639}},
                        {5e-3, {0.044711, 0.037630, 0.031306, 0.030465, 0.030377, 0.030368}},
                        {0.01, {0.049082, 0.043127, 0.038504, 0.037965, 0.037910, 0.037904}},
                        {0.05, {0.076987, 0.073801, 0.071781, 0.071574, 0.071553, 0.071551}}};
    for (const Row& row : rows)
        for (int i = 0; i < 6; ++i)
            REQUIRE(friction_factor(reynolds[i], row.roughness) == approx(row.f[i]).margin(5.1e-7));
}

// D. Clamond, "Efficient resolution of the Colebrook equation", Ind. Eng. Chem. Res. 48 (2009) 3665, as used in
// the tests of a public fluid-mechanics library: sixteen digits.
TEST_CASE("friction factor: published to all digits") {
    REQUIRE(friction_factor(1e5, 1e-4) == approx(0.01851386607747165).epsilon(1e-13));
    REQUIRE(friction_factor(1e5, 0.0) == approx(0.01798977308427384).epsilon(1e-13));
    // Written there with (6.97 / Re)^0.9, which is 5.7399.
    REQUIRE(swamee_jain(1e5, 1e-4) == approx(0.018452424431901808).epsilon(2e-6));
    REQUIRE(haaland(1e5, 1e-4) == approx(0.018265053014793857).epsilon(1e-13));
    // Fully rough limit 1 / sqrt f = -2 log10(e / 3.7).
    for (const double e : {1e-4, 1e-3, 0.01, 0.05}) {
        const double x = -2 * std::log10(e / 3.7);
        REQUIRE(friction_factor(1e12, e) == approx(1 / (x * x)).epsilon(1e-6));
    }
}

TEST_CASE("friction factor: the equation is solved to 1e-10 everywhere") {
    for (double re = 4000; re < 1e9; re *= 1.3)
        for (const double e : {0.0, 1e-7, 1e-5, 1e-3, 0.02, 0.1}) {
            const double x = 1 / std::sqrt(friction_factor(re, e));
            REQUIRE(x == approx(-2 * std::log10(e / 3.7 + 2.51 / re * x)).epsilon(1e-12));
        }
}

TEST_CASE("friction factor: laminar, transition and bad figures") {
    REQUIRE(friction_factor(1000, 0.01) == approx(0.064).epsilon(1e-15));
    REQUIRE(std::isinf(friction_factor(0, 0)));
    // Value and slope meet at both ends of the transition.
    for (const double e : {0.0, 1e-3, 0.05})
        for (const double re : {2300.0, 4000.0}) {
            const double left = friction_factor(re - 1e-3, e), at = friction_factor(re, e),
                         right = friction_factor(re + 1e-3, e);
            REQUIRE(left == approx(at).epsilon(1e-6));
            REQUIRE((right - at) == approx(at - left).margin(1e-6 * at * 1e-2));
        }
    REQUIRE_THROWS_AS(friction_factor(-1, 0), std::invalid_argument);
    REQUIRE_THROWS_AS(friction_factor(std::nan(""), 0), std::invalid_argument);
    REQUIRE_THROWS_AS(friction_factor(1e5, 0.2), std::invalid_argument);
}

// Shortcuts against the full equation, within what their authors state: Swamee and Jain 1 % for e/D 1e-6..1e-2
// and Re 5e3..1e8; Haaland 1.5 % (2 % allowed) over Re 4e3..1e8.
TEST_CASE("friction factor: explicit approximations stay in their stated bands") {
    for (double re = 5e3; re <= 1e8; re *= 1.5)
        for (const double e : {1e-6, 1e-5, 1e-4, 1e-3, 1e-2}) {
            const double f = friction_factor(re, e);
            REQUIRE(swamee_jain(re, e) == approx(f).epsilon(0.03));
            REQUIRE(haaland(re, e) == approx(f).epsilon(0.02));
        }
    // Swamee and Jain at single points.
    REQUIRE(swamee_jain(4e3, 0) == approx(0.040551).margin(5e-7));
    REQUIRE(swamee_jain(1e5, 1e-3) == approx(0.022342).margin(5e-7));
    REQUIRE(swamee_jain(1e6, 1e-3) == approx(0.020029).margin(5e-7));
    // H. Blasius 1913, smooth: 0.316 Re^-1/4, a few per cent up to 1e5.
    REQUIRE(friction_factor(1e4, 0) == approx(0.0316).epsilon(0.025));
}

// Y. A. Cengel, J. M. Cimbala, "Fluid Mechanics", example 8-3: water at 60 F in 200 ft of 2 in stainless pipe
// at 0.2 ft3/s; the book prints f 0.0174, 1700 lbf/ft2, 27.3 ft, 461 W.
TEST_CASE("worked loss: stainless water pipe, US units") {
    const double ft = 0.3048, lbm = 0.45359237, g_book = 32.174 * ft;
    const double rho = 62.36 * lbm / (ft * ft * ft), mu = 7.536e-4 * lbm / ft;
    const RisingMain main = pipe(200 * ft, 2 * 0.0254, 7e-6 * ft, mu / rho, rho);
    const double flow = 0.2 * ft * ft * ft;
    REQUIRE(main.reynolds(flow) == approx(126431.9).epsilon(1e-6));
    REQUIRE(friction_factor(main.reynolds(flow), main.roughness / main.diameter) == approx(0.0174).margin(5e-5));
    const double head = main.loss(flow), pascal = rho * gravity * head;
    REQUIRE(pascal / 47.880259 == approx(1700).margin(5));                         // lbf/ft2
    REQUIRE(pascal / 47.880259 * 32.174 / 32.2 == approx(1698.85).epsilon(1e-5));  // with the book's 32.2 ft/s2
    REQUIRE(pascal / 6894.757 == approx(11.8).margin(0.05));
    REQUIRE(head / ft * gravity / g_book == approx(27.3).margin(0.1));
    REQUIRE(hydraulic_power(rho, flow, head) == approx(461).margin(0.5));
}

// The same example in the book's SI edition (999 kg/m3, 1.138e-3 Pa s, 5 cm, 6 L/s, 60 m, 2 um).
TEST_CASE("worked loss: stainless water pipe, SI units") {
    const RisingMain main = pipe(60, 0.05, 2e-6, 1.138e-3 / 999, 999);
    REQUIRE(main.reynolds(0.006) == approx(134126.5).epsilon(1e-6));
    REQUIRE(999 * gravity * main.loss(0.006) == approx(96204.33).epsilon(1e-6));
    REQUIRE(hydraulic_power(999, 0.006, main.loss(0.006)) == approx(577.226).epsilon(1e-6));
}

// F. M. White, "Fluid Mechanics", oil in cast iron (nu 1e-5 m2/s, 200 mm, e 0.26 mm, 500 m, 0.2 m3/s): from the
// chart f 0.0225 and 117 m (as remembered), from the equation 117.352402 m with g = 9.81.
TEST_CASE("worked loss: oil in cast iron") {
    const RisingMain main = pipe(500, 0.2, 0.26e-3, 1e-5);
    REQUIRE(main.loss(0.2) == approx(117).margin(0.5));
    REQUIRE(main.loss(0.2) * gravity / 9.81 == approx(117.352402).epsilon(1e-7));
}

// Darcy-Weisbach with the equations above, worked out separately; g 9.80665, nu 1.004e-6.
TEST_CASE("worked loss: plastic, steel, galvanised, laminar") {
    REQUIRE(pipe(100, 0.05, 1.5e-6).loss(2e-3) == approx(2.2147290).epsilon(1e-7));
    REQUIRE(pipe(80, 0.0525, 4.6e-5).loss(3e-3) == approx(3.3635729).epsilon(1e-7));
    REQUIRE(pipe(60, 0.0409, 1.5e-4).loss(1.5e-3) == approx(2.9280630).epsilon(1e-7));
    REQUIRE(pipe(10, 0.02, 0, 1e-4).loss(5e-5) == approx(1.2983430).epsilon(1e-7));
    // Laminar: Hagen-Poiseuille 128 mu L Q / (pi D4 rho g).
    REQUIRE(pipe(10, 0.02, 0, 1e-4).loss(5e-5) ==
            approx(128 * 1e-4 * 10 * 5e-5 / (3.14159265358979 * 1.6e-7 * gravity)).epsilon(1e-12));
}

TEST_CASE("Hazen-Williams losses") {
    REQUIRE(hazen_williams_loss(1000, 0.3, 130, 0.1) == approx(6.423474).epsilon(1e-6));
    REQUIRE(hazen_williams_loss(100, 0.05, 150, 0.002) == approx(2.168141).epsilon(1e-6));
    REQUIRE(hazen_williams_loss(300, 0.1, 120, 0.01) == approx(6.622806).epsilon(1e-6));
    // Open page in US units: 200 gal/min, 3.048 in, C 140 loses 9 ft in 100 ft. The US form, 0.2083
    // (100/C)^1.852 q^1.852 / d^4.8655 (gal/min, in), rounds its exponent differently: 9.007 where the SI form
    // gives 8.878.
    const double gallons = 3.785411784e-3 / 60;
    REQUIRE(0.2083 * std::pow(200 * 100 / 140.0, 1.852) / std::pow(3.048, 4.8655) == approx(9.007264).epsilon(1e-4));
    REQUIRE(hazen_williams_loss(100, 3.048 * 0.0254, 140, 200 * gallons) == approx(9.007264).epsilon(0.015));
    // And against Darcy-Weisbach where it is meant to be used: new plastic pipe at 1 m/s.
    REQUIRE(pipe(100, 0.05, 1.5e-6).loss(2e-3) == approx(hazen_williams_loss(100, 0.05, 150, 2e-3)).epsilon(0.03));
}

TEST_CASE("main: inertance, minor losses, slope, sign") {
    RisingMain main = pipe(63, 0.04, 1.5e-6);
    REQUIRE(main.inertance() == approx(998.2 * 63 / main.area()).epsilon(1e-15));
    const double without = main.loss(1e-3);
    main.minor_loss = 6;
    const double v = 1e-3 / main.area();
    REQUIRE(main.loss(1e-3) - without == approx(6 * v * v / (2 * gravity)).epsilon(1e-12));
    REQUIRE(main.loss(-1e-3) == -main.loss(1e-3));
    REQUIRE(main.loss(0.0) == 0.0);
    for (double q = 1e-7; q < 1e-2; q *= 1.17) {
        const double d = 1e-6 * q;
        REQUIRE(main.loss_slope(q) == approx((main.loss(q + d) - main.loss(q - d)) / (2 * d)).epsilon(1e-6));
        REQUIRE(main.loss_slope(q) > 0);
    }
}

TEST_CASE("loss table: close to the main, odd, rising, smooth") {
    struct Case {
        double diameter, roughness, minor, max;
    };
    for (const Case& c : {Case{0.04, 1.5e-6, 6, 3.5e-3}, Case{0.0125, 1.5e-4, 0, 1e-4}, Case{0.3, 4.6e-5, 1e4, 0.5},
                          Case{0.05, 0, 6, 1e-5}, Case{0.02, 2e-3, 2, 2e-3}}) {
        RisingMain main = pipe(100, c.diameter, c.roughness);
        main.minor_loss = c.minor;
        const LossTable table(main, c.max);
        double worst = 0, before = 0;
        for (int i = 1; i <= 200000; ++i) {
            const double q = c.max * i / 200000.0, exact = main.loss(q), read = table(q);
            worst = std::max(worst, std::fabs(read - exact) / exact);
            REQUIRE(read > before);
            before = read;
        }
        INFO("diameter " << c.diameter << " worst relative error " << worst);
        CHECK(worst < 1e-6);
        REQUIRE(table(-c.max / 3) == -table(c.max / 3));
        REQUIRE(table(0.0) == 0.0);
        // Slope across the borders of the regimes and of the table.
        const double per_re = main.area() * nu_20 / c.diameter;
        for (const double q : {2300 * per_re, 4000 * per_re, std::max(c.max, 6000 * per_re)}) {
            const double d = 1e-6 * q;
            REQUIRE((table(q + d) - table(q)) == approx(table(q) - table(q - d)).epsilon(1e-4));
        }
        REQUIRE(table(10 * std::max(c.max, 6000 * per_re)) > 50 * table(std::max(c.max, 6000 * per_re)));
    }
}

TEST_CASE("loss table: nothing, nonsense") {
    REQUIRE(LossTable()(1.0) == 0.0);
    RisingMain main = pipe(100, 0.05, 0);
    REQUIRE_THROWS_AS(LossTable(pipe(100, 0, 0), 1), std::invalid_argument);
    REQUIRE_THROWS_AS(LossTable(main, std::nan("")), std::invalid_argument);
    main.minor_loss = std::numeric_limits<double>::infinity();
    REQUIRE_THROWS_AS(LossTable(main, 1), std::invalid_argument);
    main.minor_loss = 0;
    main.length = 0;
    REQUIRE(LossTable(main, 1e-3)(5e-4) == 0.0);
}

TEST_CASE("gate valve: handbook rows, rising as it closes") {
    REQUIRE(gate_valve_loss(1) == approx(0.17).epsilon(1e-12));
    REQUIRE(gate_valve_loss(0.75) == approx(0.9).epsilon(1e-12));
    REQUIRE(gate_valve_loss(0.5) == approx(4.5).epsilon(1e-12));
    REQUIRE(gate_valve_loss(0.25) == approx(24).epsilon(1e-12));
    REQUIRE(std::isinf(gate_valve_loss(0)));
    for (int i = 1; i < 1000; ++i) REQUIRE(gate_valve_loss(i / 1000.0) > gate_valve_loss((i + 1) / 1000.0));
    REQUIRE_THROWS_AS(gate_valve_loss(1.1), std::invalid_argument);
}

// Handbook values (the correlations' own sources are in the header): density 0.01 %, viscosity 0.5 %, pressure
// 0.1 %.
TEST_CASE("water: density, viscosity, vapour pressure") {
    struct Row {
        double degC, density, viscosity, pressure;
    };
    for (const Row& row : {Row{5, 999.964, 1.5182e-3, 872.53}, Row{10, 999.700, 1.3059e-3, 1228.11},
                           Row{15, 999.100, 1.1375e-3, 1705.68}, Row{20, 998.204, 1.0016e-3, 2339.19},
                           Row{25, 997.045, 0.8900e-3, 3169.82}, Row{30, 995.647, 0.7972e-3, 4246.92},
                           Row{40, 992.216, 0.6527e-3, 7385.11}}) {
        const Water water = water_at(row.degC);
        REQUIRE(water.density == approx(row.density).epsilon(1e-4));
        REQUIRE(water.dynamic_viscosity == approx(row.viscosity).epsilon(5e-3));
        REQUIRE(water.vapour_pressure == approx(row.pressure).epsilon(1e-3));
    }
    // Densest at 3.98 degC (any handbook).
    REQUIRE(water_at(3.98).density > water_at(3.5).density);
    REQUIRE(water_at(3.98).density > water_at(4.5).density);
    REQUIRE(water_at(20).kinematic_viscosity() == approx(1.0034e-6).epsilon(1e-3));
    REQUIRE_THROWS_AS(water_at(-1), std::invalid_argument);
    REQUIRE_THROWS_AS(water_at(std::nan("")), std::invalid_argument);
}
