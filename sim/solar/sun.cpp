#include "solar/sun.hpp"

#include <fmt/format.h>

#include <algorithm>
#include <cmath>
#include <numbers>
#include <stdexcept>

#include "text/language.hpp"

namespace sunshaft::solar {
namespace {

double sin_deg(double x) { return std::sin(x * degree); }
double cos_deg(double x) { return std::cos(x * degree); }

double within_circle(double x) {
    const double turn = std::fmod(x, 360.0);
    return turn < 0 ? turn + 360 : turn;
}

bool leap(int year) { return year % 4 == 0 && (year % 100 != 0 || year % 400 == 0); }

int days_in_month(int year, int month) {
    constexpr int days[] = {31, 28, 31, 30, 31, 30, 31, 31, 30, 31, 30, 31};
    return days[month - 1] + (month == 2 && leap(year) ? 1 : 0);
}

void check_date(int year, int month, int day) {
    if (month < 1 || month > 12) throw std::invalid_argument(text::say("month {}: expected 1 to 12", month));
    if (day < 1 || day > days_in_month(year, month))
        throw std::invalid_argument(
            text::say("day {} of month {}: expected 1 to {}", day, month, days_in_month(year, month)));
}

// What the air lifts the sun by, in degrees; the source stops where the sun's upper rim is below the horizon.
double refraction(double elevation_deg, const Air& air) {
    if (elevation_deg < -0.8333) return 0;
    const double thin = air.pressure_Pa / 101000 * 283 / (273 + air.temperature_degC);
    return thin * 1.02 / (60 * std::tan((elevation_deg + 10.3 / (elevation_deg + 5.11)) * degree));
}

}  // namespace

double julian_day(int year, int month, int day, double hours_utc) {
    check_date(year, month, day);
    if (month <= 2) {
        --year;
        month += 12;
    }
    const double century = std::floor(year / 100.0);
    return std::floor(365.25 * (year + 4716)) + std::floor(30.6001 * (month + 1)) + day + 2 - century +
           std::floor(century / 4) - 1524.5 + hours_utc / 24;
}

int day_of_year(int year, int month, int day) {
    check_date(year, month, day);
    for (int m = 1; m < month; ++m) day += days_in_month(year, m);
    return day;
}

SunPosition sun_position(double julian_day_utc, double latitude_deg, double longitude_east_deg, const Air& air) {
    const double days = julian_day_utc - 2451545.0;
    const double T = (days + 69.0 / 86400) / 36525;  // centuries of uniform time since the year 2000

    // Along the ecliptic (ch. 25).
    const double mean_longitude = 280.46646 + T * (36000.76983 + T * 0.0003032);
    const double anomaly = 357.52911 + T * (35999.05029 - T * 0.0001537);
    const double eccentricity = 0.016708634 - T * (0.000042037 + T * 0.0000001267);
    const double centre = (1.914602 - T * (0.004817 + T * 0.000014)) * sin_deg(anomaly) +
                          (0.019993 - T * 0.000101) * sin_deg(2 * anomaly) + 0.000289 * sin_deg(3 * anomaly);
    const double distance =
        1.000001018 * (1 - eccentricity * eccentricity) / (1 + eccentricity * cos_deg(anomaly + centre));
    const double node = 125.04 - 1934.136 * T;
    const double nutation = -0.00478 * sin_deg(node);
    const double longitude = mean_longitude + centre - 0.00569 + nutation;
    const double obliquity = 23.43929111 - T * (0.013004167 + T * (1.639e-7 - T * 5.036e-7)) + 0.00256 * cos_deg(node);

    // In the sky of the place.
    const double right_ascension = std::atan2(cos_deg(obliquity) * sin_deg(longitude), cos_deg(longitude)) / degree;
    const double sin_declination = sin_deg(obliquity) * sin_deg(longitude);
    const double cos_declination = std::sqrt(1 - sin_declination * sin_declination);
    const double century = days / 36525;
    const double sidereal = 280.46061837 + 360.98564736629 * days +
                            century * century * (0.000387933 - century / 38710000) + nutation * cos_deg(obliquity);
    const double hour_angle = sidereal + longitude_east_deg - right_ascension;
    // East, north and up.
    const double east = -cos_declination * sin_deg(hour_angle);
    const double north =
        sin_declination * cos_deg(latitude_deg) - cos_declination * sin_deg(latitude_deg) * cos_deg(hour_angle);
    const double up =
        sin_declination * sin_deg(latitude_deg) + cos_declination * cos_deg(latitude_deg) * cos_deg(hour_angle);

    const double from_centre = std::atan2(up, std::hypot(east, north)) / degree;
    const double parallax = 8.794 / 3600 / distance * cos_deg(from_centre);
    const double elevation = from_centre - parallax + refraction(from_centre - parallax, air);
    return {90 - elevation, elevation, within_circle(std::atan2(east, north) / degree), distance};
}

double extraterrestrial_normal(double day_of_year, double solar_constant) {
    const double day_angle = 2 * std::numbers::pi * (day_of_year - 1) / 365;
    return solar_constant * (1.00011 + 0.034221 * std::cos(day_angle) + 0.00128 * std::sin(day_angle) +
                             0.000719 * std::cos(2 * day_angle) + 0.000077 * std::sin(2 * day_angle));
}

Irradiance bird_clear_sky(double zenith_deg, double extraterrestrial_normal, const ClearAir& air) {
    if (zenith_deg >= 89) return {};
    const double cos_zenith = cos_deg(zenith_deg);
    const double mass = 1 / (cos_zenith + 0.15 * std::pow(93.885 - zenith_deg, -1.25));
    const double mass_here = mass * air.pressure_Pa / 101300;

    // What each constituent lets through.
    const double rayleigh = std::exp(-0.0903 * std::pow(mass_here, 0.84) * (1 + mass_here - std::pow(mass_here, 1.01)));
    const double o = air.ozone_cm * mass;
    // Exponent of the authors' spreadsheet (2012); 0.3035 is also in circulation and changes the sum by 2e-5.
    const double ozone =
        1 - 0.1611 * o * std::pow(1 + 139.48 * o, -0.3034) - 0.002715 * o / (1 + 0.044 * o + 0.0003 * o * o);
    const double gases = std::exp(-0.0127 * std::pow(mass_here, 0.26));
    const double w = air.water_cm * mass;
    const double water = 1 - 2.4959 * w / (std::pow(1 + 79.034 * w, 0.6828) + 6.385 * w);
    const double depth = 0.2758 * air.aerosol_380nm + 0.35 * air.aerosol_500nm;
    const double aerosol =
        std::exp(-std::pow(depth, 0.873) * (1 + depth - std::pow(depth, 0.7088)) * std::pow(mass, 0.9108));
    const double aerosol_absorbed = 1 - 0.1 * (1 - mass + std::pow(mass, 1.06)) * (1 - aerosol);
    const double aerosol_scattered = 1 - aerosol / aerosol_absorbed;

    const double sky_albedo = 0.0685 + (1 - air.forward_scatter) * aerosol_scattered;
    const double direct = 0.9662 * extraterrestrial_normal * aerosol * water * gases * ozone * rayleigh;
    const double scattered = extraterrestrial_normal * cos_zenith * 0.79 * ozone * water * gases * aerosol_absorbed *
                             (0.5 * (1 - rayleigh) + air.forward_scatter * aerosol_scattered) /
                             (1 - mass + std::pow(mass, 1.02));
    const double global = (direct * cos_zenith + scattered) / (1 - air.ground_albedo * sky_albedo);
    return {direct, global - direct * cos_zenith, global};
}

PlaneIrradiance plane_of_array(const Irradiance& arriving, const SunPosition& sun, const Plane& plane,
                               double ground_albedo) {
    const double cos_tilt = cos_deg(plane.tilt_deg);
    const double cos_incidence = cos_deg(sun.zenith_deg) * cos_tilt + sin_deg(sun.zenith_deg) *
                                                                          sin_deg(plane.tilt_deg) *
                                                                          cos_deg(sun.azimuth_deg - plane.azimuth_deg);
    const bool lit = sun.zenith_deg < 90 && cos_incidence > 0;
    return {std::acos(std::clamp(cos_incidence, -1.0, 1.0)) / degree,
            lit ? arriving.direct_normal * cos_incidence : 0.0, arriving.diffuse_horizontal * (1 + cos_tilt) / 2,
            arriving.global_horizontal * ground_albedo * (1 - cos_tilt) / 2};
}

}  // namespace sunshaft::solar
