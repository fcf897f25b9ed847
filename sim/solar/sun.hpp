// Where the sun stands, what a cloudless sky sends down, and how much of it falls into a tilted plane.
//
// Angles are in degrees because the trade and the sources use them; azimuth counts from north over east.
// Irradiance is in W/m2, pressure in Pa.
#pragma once

#include <numbers>

namespace sunshaft::solar {

inline constexpr double degree = std::numbers::pi / 180;  // rad

// Julian day of a date of the Gregorian calendar; hours in UTC, any value (24.5 is half past midnight the next
// day). Source: J. Meeus, "Astronomical Algorithms", 2nd ed. (1998), ch. 7.
// Throws std::invalid_argument for a month outside 1 to 12 or a day the month does not have.
double julian_day(int year, int month, int day, double hours_utc);

// 1 for the first of January.
int day_of_year(int year, int month, int day);

struct SunPosition {
    double zenith_deg;     // apparent: with refraction
    double elevation_deg;  // 90 - zenith
    double azimuth_deg;    // 0 to 360, north 0, east 90
    double distance_au;
};

// Air at the site, for refraction only.
struct Air {
    double pressure_Pa = 101325;
    double temperature_degC = 15;
};

// The sun seen from a place, to about 0.01 degree from 1950 to 2050.
// Source: Meeus (as above), ch. 25 "low accuracy" and ch. 12 (sidereal time), with the parallax of ch. 40;
// refraction from I. Reda, A. Andreas, "Solar position algorithm for solar radiation applications", Solar
// Energy 76 (2004) 577-589, eq. 42. Earth's clock is taken as 69 s behind uniform time (2017 to 2026; 10 s
// matter 0.0001 degree).
SunPosition sun_position(double julian_day_utc, double latitude_deg, double longitude_east_deg, const Air& air = {});

// What arrives on the ground.
struct Irradiance {
    double direct_normal;
    double diffuse_horizontal;
    double global_horizontal;
};

// Normal to the beam, outside the atmosphere. Source: J. W. Spencer, "Fourier series representation of the
// position of the sun", Search 2 (1971) 172. The solar constant of the clear-sky source below is the default.
double extraterrestrial_normal(double day_of_year, double solar_constant = 1367);

// A cloudless atmosphere. Columns are as if condensed to a layer of that thickness.
struct ClearAir {
    double pressure_Pa = 101325;
    double ozone_cm = 0.3;
    double water_cm = 1.5;
    double aerosol_380nm = 0.15;  // optical depths
    double aerosol_500nm = 0.1;
    double forward_scatter = 0.85;
    double ground_albedo = 0.2;
};

// Clear-sky irradiance; nothing from a zenith angle of 89 degrees on, where the source ends.
// Source: R. E. Bird, R. L. Hulstrom, "A simplified clear sky model for direct and diffuse insolation on
// horizontal surfaces", SERI/TR-642-761 (1981).
Irradiance bird_clear_sky(double zenith_deg, double extraterrestrial_normal, const ClearAir& air = {});

struct Plane {
    double tilt_deg = 0;       // 0 lies flat, 90 stands
    double azimuth_deg = 180;  // where it faces; south by default
};

struct PlaneIrradiance {
    double incidence_deg;  // between beam and the plane's normal
    double beam, sky, ground;
    double total() const { return beam + sky + ground; }
};

// Isotropic sky. Source: B. Y. H. Liu, R. C. Jordan, "The long-term average performance of flat-plate
// solar-energy collectors", Solar Energy 7 (1963) 53-74.
PlaneIrradiance plane_of_array(const Irradiance& arriving, const SunPosition& sun, const Plane& plane,
                               double ground_albedo = 0.2);

}  // namespace sunshaft::solar
