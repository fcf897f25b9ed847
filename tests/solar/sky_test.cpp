// Transposition, air mass, glass and horizon against published and independently computed values.
#include "solar/sky.hpp"

#include <array>
#include <stdexcept>

#include "catch_shim.hpp"

using namespace sunshaft::solar;
using sunshaft::test::approx;

namespace {
SunPosition sun_at(double zenith, double azimuth) { return {zenith, 90 - zenith, azimuth, 1.0}; }
}  // namespace

TEST_CASE("air mass of Kasten and Young") {
    // Their table of 1989, from memory, reproduced by the formula.
    const std::array<std::pair<double, double>, 6> table = {
        {{0, 0.999712}, {30, 1.153992}, {60, 1.994293}, {75, 3.812912}, {85, 10.305791}, {90, 37.919608}}};
    for (const auto& [z, mass] : table) REQUIRE(air_mass(z) == approx(mass).epsilon(1e-6));
}

TEST_CASE("sky on a tilted plane after Hay and Davies, and Perez and others") {
    // Inputs and outputs of the unit tests of the open Python photovoltaic library (pvlib, test_irradiance.py): plane
    // tilted 40 degrees to the south, extraterrestrial 1321.1655834833 W/m2.
    const double outside = 1321.1655834833;
    const Plane plane{40, 180};
    struct Row {
        Irradiance light;
        double zenith, azimuth, incidence, hay_davies, isotropic, circumsolar, horizon;
    };
    const std::array<Row, 3> rows = {{{{316.1949056, 40.46149818, 79.73860422},
                                       82.85457044,
                                       66.71410338,
                                       99.023874,
                                       27.1775,
                                       26.84138589,
                                       0,
                                       4.62212181},
                                      {{939.95469881, 118.45831879, 1042.48031487},
                                       10.56413562,
                                       144.76567754,
                                       31.862553,
                                       102.9949,
                                       41.621826,
                                       61.619987,
                                       5.842518},
                                      {{646.22886049, 62.03376265, 257.20751138},
                                       72.41687122,
                                       287.04104128,
                                       87.028372,
                                       33.1909,
                                       31.72696071,
                                       4.47966439,
                                       9.25316454}}};
    for (const Row& r : rows) {
        const SunPosition sun = sun_at(r.zenith, r.azimuth);
        const PlaneIrradiance on = hay_davies(r.light, sun, outside, plane);
        REQUIRE(on.incidence_deg == approx(r.incidence).margin(1e-6));
        REQUIRE(on.sky == approx(r.hay_davies).epsilon(2e-6));
        const PerezSky sky = perez_sky(r.light, sun, outside, plane);
        REQUIRE(sky.isotropic == approx(r.isotropic).epsilon(2e-6));
        REQUIRE(sky.circumsolar == approx(r.circumsolar).epsilon(2e-6));
        REQUIRE(sky.horizon == approx(r.horizon).epsilon(2e-6));
    }
    // The same library's case with a negative horizon part.
    const PerezSky dull = perez_sky({19, 165, 0}, sun_at(57.564205, 187.346924), 1414, {34, 180});
    REQUIRE(dull.isotropic == approx(142.244753).epsilon(1e-6));
    REQUIRE(dull.circumsolar == approx(16.097574).epsilon(1e-6));
    REQUIRE(dull.horizon == approx(-6.133536).epsilon(1e-6));
    // Own case, worked by hand: plane of array.
    const SunPosition sun = sun_at(35, 150);
    const Irradiance light{820, 110, 781.704676};
    REQUIRE(plane_of_array(light, sun, {20, 180}).total() == approx(881.904939).epsilon(1e-8));
    REQUIRE(hay_davies(light, sun, 1361, {20, 180}).total() == approx(893.651913).epsilon(1e-8));
    REQUIRE(perez(light, sun, 1361, {20, 180}).total() == approx(898.047707).epsilon(1e-7));
}

TEST_CASE("glass lets slanting light through less") {
    // N. Martin, J. M. Ruiz (2001), a = 0.16: values of the open Python photovoltaic library's tests at 45 degrees.
    REQUIRE(incidence_modifier(0) == approx(1).epsilon(1e-12));
    REQUIRE(incidence_modifier(45) == approx(0.98986965).epsilon(1e-7));
    REQUIRE(incidence_modifier(60, 0.18) == approx(0.9414631).epsilon(1e-7));
    REQUIRE(incidence_modifier(85) == approx(0.42081016).epsilon(1e-7));
    REQUIRE(incidence_modifier(90) == approx(0).margin(1e-12));
    REQUIRE(incidence_modifier(120) == approx(0).margin(1e-12));
}

TEST_CASE("a horizon hides the sun") {
    REQUIRE(Horizon().flat());
    REQUIRE(Horizon().hides(sun_at(90.5, 100)));
    REQUIRE_FALSE(Horizon().hides(sun_at(89.5, 100)));
    const Horizon hills("90:10 180:0 270:20");
    REQUIRE(hills.height_deg(90) == approx(10));
    REQUIRE(hills.height_deg(135) == approx(5));
    REQUIRE(hills.height_deg(270) == approx(20));
    REQUIRE(hills.height_deg(0) == approx(15));  // halfway round from 20 at 270 to 10 at 90
    REQUIRE(hills.height_deg(359.99) == approx(hills.height_deg(0)).margin(0.01));
    REQUIRE(hills.hides(sun_at(82, 90)));
    REQUIRE_FALSE(hills.hides(sun_at(78, 90)));
    REQUIRE(Horizon("100:7").height_deg(300) == approx(7));
    for (const char* bad : {"90", "90:x", "400:3", "10:-2", "10:99", "nan:3"})
        REQUIRE_THROWS_AS(Horizon(bad), std::invalid_argument);
}
