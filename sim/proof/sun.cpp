#include <cmath>
#include <numbers>

#include "proof/proof.hpp"
#include "solar/sky.hpp"

namespace sunshaft::proof {
namespace {

// 17 October 2003, 12:30:30 at UTC-7, 39.742476 N, 105.1786 W, 820 mbar, 11 degC.
solar::SunPosition worked_example() {
    return solar::sun_position(solar::julian_day(2003, 10, 17, 19.5 + 30.0 / 3600), 39.742476, -105.1786, {82000, 11});
}

// The spreadsheet's first of January, 11:30 at 40 N, 105 W, 840 mbar. It writes pi as 3.14159.
solar::Irradiance new_year() {
    solar::ClearAir air;
    air.pressure_Pa = 84000;
    return solar::bird_clear_sky(63.52421726 * 3.14159 / std::numbers::pi, solar::extraterrestrial_normal(1), air);
}

constexpr double beyond_air = 1321.1655834833;  // W/m2
constexpr solar::Plane forty_degrees{40, 180};
solar::SunPosition sun_standing(double zenith, double azimuth) { return {zenith, 90 - zenith, azimuth, 1}; }
// A high sun and a low one.
const solar::SunPosition sun_high = sun_standing(10.56413562, 144.76567754),
                         sun_low = sun_standing(72.41687122, 287.04104128);
constexpr solar::Irradiance light_high{939.95469881, 118.45831879, 1042.48031487},
    light_low{646.22886049, 62.03376265, 257.20751138};

}  // namespace

std::vector<Row> sun_rows() {
    std::vector<Row> r;
    auto add = [&](const char* what, const char* source, double expected, double tolerance, std::function<double()> f) {
        r.push_back({"sun", what, source, expected, tolerance, std::move(f)});
    };
    const char* reda =
        "I. Reda, A. Andreas, Solar Energy 76 (2004) 577-589, worked example (by a public unit test); within the 0.01 "
        "degree stated here";
    add("zenith of the sun, 17 October 2003, 12:30:30, 39.74 N: degree", reda, 50.1116220240, 0.01 / 50.11,
        [] { return worked_example().zenith_deg; });
    add("azimuth of the sun there and then: degree", reda, 194.3402405102, 0.01 / 194.34,
        [] { return worked_example().azimuth_deg; });
    add("distance of the sun then: astronomical units", reda, 0.9965422974, 1e-5,
        [] { return worked_example().distance_au; });
    add("incidence there and then on 30 degrees, 10 degrees east of south: degree", reda, 25.1870002004, 0.01 / 25.187,
        [] {
            return solar::plane_of_array({}, worked_example(), {30, 170}).incidence_deg;
        });
    const char* bird =
        "R. E. Bird, R. L. Hulstrom, SERI/TR-642-761 (1981), spreadsheet of 2012 (by the test data of pvlib-python)";
    add("cloudless sky, 1 January, 11:30, 40 N: normal to the beam, W/m2", bird, 805.171223, 2e-5,
        [] { return new_year().direct_normal; });
    add("cloudless sky, 1 January, 11:30, 40 N: on the ground, W/m2", bird, 450.215507, 2e-5,
        [] { return new_year().global_horizontal; });
    add("cloudless sky, 1 January, 11:30, 40 N: from the sky, W/m2", bird, 91.25379149, 2e-5,
        [] { return new_year().diffuse_horizontal; });
    const char* isotropic =
        "B. Y. H. Liu, R. C. Jordan, Solar Energy 7 (1963) 53-74; value of the unit tests of pvlib-python";
    add("isotropic sky of 100 W/m2 on 40 degrees: W/m2", isotropic, 88.30222215594891, 1e-12, [] {
        return solar::transposed(solar::Transposition::isotropic, {0, 100, 0}, sun_standing(0, 180), beyond_air,
                                 forty_degrees)
            .sky;
    });
    const char* hay =
        "J. E. Hay, J. A. Davies, Proc. First Canadian Solar Radiation Data Workshop (1980); values of the unit tests "
        "of pvlib-python";
    add("sky by Hay and Davies on 40 degrees, sun high: W/m2", hay, 102.9949, 2e-6, [] {
        return solar::transposed(solar::Transposition::hay_davies, light_high, sun_high, beyond_air, forty_degrees).sky;
    });
    add("sky by Hay and Davies on 40 degrees, sun low: W/m2", hay, 33.1909, 2e-6, [] {
        return solar::transposed(solar::Transposition::hay_davies, light_low, sun_low, beyond_air, forty_degrees).sky;
    });
    const char* perez =
        "R. Perez et al., Solar Energy 44 (1990) 271-289; unit tests of pvlib-python, whose parts hold, not their sum";
    add("sky by Perez on 40 degrees, sun low, part alike all over: W/m2", perez, 31.72696071, 2e-6,
        [] { return solar::perez_sky(light_low, sun_low, beyond_air, forty_degrees).isotropic; });
    add("sky by Perez on 40 degrees, sun low, part round the sun: W/m2", perez, 4.47966439, 2e-6,
        [] { return solar::perez_sky(light_low, sun_low, beyond_air, forty_degrees).circumsolar; });
    add("sky by Perez on 40 degrees, sun low, part at the horizon: W/m2", perez, 9.25316454, 2e-6,
        [] { return solar::perez_sky(light_low, sun_low, beyond_air, forty_degrees).horizon; });
    add("sky by Perez on 40 degrees, sun low, all of it: W/m2", perez, 45.45978964, 2e-6, [] {
        return solar::transposed(solar::Transposition::perez, light_low, sun_low, beyond_air, forty_degrees).sky;
    });
    return r;
}

}  // namespace sunshaft::proof
