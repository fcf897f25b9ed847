#include "site/cable.hpp"

#include <cmath>
#include <limits>
#include <stdexcept>

#include "catch_shim.hpp"

using namespace sunshaft::site;
using sunshaft::test::approx;

// IEC 60228, tables of class 2 and 5, plain copper (three open reproductions agree): exact.
TEST_CASE("cable: rows of IEC 60228") {
    const double mm2[] = {0.75, 1, 1.5, 2.5, 4, 6, 10, 16, 25, 35, 50, 70, 95};
    const double class2[] = {24.5, 18.1, 12.1, 7.41, 4.61, 3.08, 1.83, 1.15, 0.727, 0.524, 0.387, 0.268, 0.193};
    const double class5[] = {26.0, 19.5, 13.3, 7.98, 4.95, 3.30, 1.91, 1.21, 0.780, 0.554, 0.386, 0.272, 0.206};
    for (int i = 0; i < 13; ++i) {
        REQUIRE(iec60228_ohm_per_m(mm2[i], 2) == class2[i] / 1000);
        REQUIRE(iec60228_ohm_per_m(mm2[i], 5) == class5[i] / 1000);
    }
}

TEST_CASE("cable: between and beyond the rows") {
    for (const int k : {2, 5}) {
        double before = std::numeric_limits<double>::infinity();
        for (double mm2 = 0.1; mm2 < 500; mm2 *= 1.01) {
            const double r = iec60228_ohm_per_m(mm2, k);
            REQUIRE(r < before);
            // Between the conductivity of the annealed standard (17.241e-9 ohm m) and a fifth more.
            REQUIRE(r * mm2 * 1e-6 > 17.241e-9);
            REQUIRE(r * mm2 * 1e-6 < 1.2 * 17.241e-9);
            before = r;
        }
        // Halfway in 1/A between 4 and 6 mm2 lies 4.8 mm2.
        REQUIRE(iec60228_ohm_per_m(4.8, k) ==
                approx((iec60228_ohm_per_m(4, k) + iec60228_ohm_per_m(6, k)) / 2).epsilon(1e-12));
        REQUIRE(iec60228_ohm_per_m(190, k) == approx(iec60228_ohm_per_m(95, k) / 2).epsilon(1e-15));
        REQUIRE(iec60228_ohm_per_m(0.375, k) == approx(iec60228_ohm_per_m(0.75, k) * 2).epsilon(1e-15));
    }
    REQUIRE_THROWS_AS(iec60228_ohm_per_m(0, 2), std::invalid_argument);
    REQUIRE_THROWS_AS(iec60228_ohm_per_m(std::nan(""), 2), std::invalid_argument);
    REQUIRE_THROWS_AS(iec60228_ohm_per_m(4, 1), std::invalid_argument);
}

// Wire table of HyperPhysics (Georgia State University) after T. L. Floyd, in ohm per 1000 ft; ASTM B258
// diameters.
TEST_CASE("cable: AWG") {
    struct Row {
        int gauge;
        double ohm_per_1000_ft, ohm_per_km, mm2, mm;
    };
    for (const Row& row : {Row{14, 2.525, 8.28533, 2.08091, 1.62773}, Row{12, 1.588, 5.21069, 3.30877, 2.05253},
                           Row{10, 0.9989, 3.27704, 5.26115, 2.58819}, Row{8, 0.6282, 2.06095, 8.36556, 3.26364},
                           Row{6, 0.3951, 1.29614, 13.30177, 4.11538}, Row{4, 0.2485, 0.81515, 21.15064, 5.18940},
                           Row{2, 0.1563, 0.51265, 33.63083, 6.54371}}) {
        const double r = awg_ohm_per_m(row.gauge), d = awg_diameter(row.gauge);
        REQUIRE(r * 304.8 == approx(row.ohm_per_1000_ft).epsilon(5e-4));
        REQUIRE(r * 1000 == approx(row.ohm_per_km).margin(5.1e-6));
        REQUIRE(d * 1000 == approx(row.mm).margin(5.1e-6));
        REQUIRE(3.14159265358979 / 4 * d * d * 1e6 == approx(row.mm2).margin(5.1e-6));
    }
    REQUIRE_THROWS_AS(awg_ohm_per_m(-1), std::invalid_argument);
    REQUIRE_THROWS_AS(awg_ohm_per_m(41), std::invalid_argument);
}

TEST_CASE("cable: temperature") {
    // Coefficient of the annealed standard, IEC 60028.
    REQUIRE(at_temperature(1, 20) == 1);
    REQUIRE(at_temperature(1, 40) == approx(1.0786).epsilon(1e-12));
    REQUIRE(at_temperature(1, 60) == approx(1.1572).epsilon(1e-12));
    REQUIRE(at_temperature(1, 75) == approx(1.21615).epsilon(1e-12));
    REQUIRE(at_temperature(1, 90) == approx(1.2751).epsilon(1e-12));
    // The other usual form, (234.5 + T) / 254.5, agrees to 5e-5; the correction factors printed with IEC 60228
    // (measured to 20 degC: 1.042, 0.962, 0.862, 0.781) to 0.5 %.
    for (const double t : {40.0, 60.0, 75.0, 90.0})
        REQUIRE(at_temperature(1, t) == approx((234.5 + t) / 254.5).epsilon(5e-5));
    REQUIRE(1 / at_temperature(1, 10) == approx(1.042).epsilon(5e-3));
    REQUIRE(1 / at_temperature(1, 30) == approx(0.962).epsilon(5e-3));
    REQUIRE(1 / at_temperature(1, 60) == approx(0.862).epsilon(5e-3));
    REQUIRE(1 / at_temperature(1, 90) == approx(0.781).epsilon(5e-3));
}

// Ohm's law on the table, worked separately; reactance neglected.
TEST_CASE("cable: worked drops") {
    const double root3 = std::sqrt(3.0);
    // Three-phase, 100 m of 4 mm2 class 2, 8 A at power factor 0.85.
    const double r20 = 100 * iec60228_ohm_per_m(4, 2), r60 = at_temperature(r20, 60);
    REQUIRE(r20 == approx(0.461).epsilon(1e-12));
    REQUIRE(r60 == approx(0.5334692).epsilon(1e-9));
    REQUIRE(root3 * 8 * r20 * 0.85 == approx(5.429633).epsilon(1e-7));
    REQUIRE(root3 * 8 * r60 * 0.85 == approx(6.283171).epsilon(1e-7));
    REQUIRE(3 * 8 * 8 * r60 == approx(102.426086).epsilon(1e-8));
    // DC pair, 50 m one way, 6 mm2 class 5 at 70 degC, 8.2 A.
    const double pair = 2 * 50 * at_temperature(iec60228_ohm_per_m(6, 5), 70);
    REQUIRE(pair == approx(0.394845).epsilon(1e-9));
    REQUIRE(8.2 * pair == approx(3.237729).epsilon(1e-9));
    REQUIRE(8.2 * 8.2 * pair == approx(26.549378).epsilon(1e-7));
    // Line-line ohms at the top: motor 3.2 ohm, 100 m of 2.5 mm2 class 5, both at 15 degC.
    REQUIRE(at_temperature(3.2 + 200 * iec60228_ohm_per_m(2.5, 5), 15) == approx(4.701759).epsilon(1e-6));
}
