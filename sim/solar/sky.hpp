// A sky that is brighter round the sun and at the horizon, glass that mirrors slanting light, hills in front: what of
// sun and sky gets into the cells of a tilted plane.
//
// Angles in degrees, azimuth from north over east, irradiance in W/m2, as in sun.hpp.
#pragma once

#include <string>
#include <vector>

#include "solar/sun.hpp"

namespace sunshaft::solar {

// Relative air mass. Source: F. Kasten, A. T. Young, "Revised optical air mass tables and approximation formula",
// Appl. Optics 28 (1989) 4735. Beyond 90 degrees that of 90.
double air_mass(double zenith_deg);

// Sky light round the sun counts as beam, the rest as isotropic. Source: J. E. Hay, J. A. Davies, "Calculation of the
// solar radiation incident on an inclined surface", Proc. First Canadian Solar Radiation Data Workshop (1980).
// extraterrestrial: normal to the beam, of the day.
PlaneIrradiance hay_davies(const Irradiance& arriving, const SunPosition& sun, double extraterrestrial,
                           const Plane& plane, double ground_albedo = 0.2);

// Isotropic, circumsolar and horizon parts by brightness and clearness of the sky. Source: R. Perez, P. Ineichen, R.
// Seals, J. Michalsky, R. Stewart, "Modeling daylight availability and irradiance components from direct and global
// irradiance", Solar Energy 44 (1990) 271-289, coefficients to three decimals. The horizon part may be negative; the
// sky's sum never is.
struct PerezSky {
    double isotropic, circumsolar, horizon;  // W/m2 on the plane
};
PerezSky perez_sky(const Irradiance& arriving, const SunPosition& sun, double extraterrestrial, const Plane& plane);
PlaneIrradiance perez(const Irradiance& arriving, const SunPosition& sun, double extraterrestrial, const Plane& plane,
                      double ground_albedo = 0.2);

enum class Transposition { isotropic, hay_davies, perez };
// "isotropic", "hay-davies", "perez". Throws std::invalid_argument in words.
Transposition parse_transposition(const std::string& text);
PlaneIrradiance transposed(Transposition model, const Irradiance& arriving, const SunPosition& sun,
                           double extraterrestrial, const Plane& plane, double ground_albedo = 0.2);

// Share of the light that a module's front lets through at an incidence, over that at none: (1 - exp(-cos / a)) / (1 -
// exp(-1 / a)). Source: N. Martin, J. M. Ruiz, "Calculation of the PV modules angular losses under field conditions by
// means of an analytical model", Sol. Energy Mater. Sol. Cells 70 (2001) 25-38; a = 0.16 is glass over silicon.
double incidence_modifier(double incidence_deg, double a = 0.16);

// What stands in front, seen from the array: heights at azimuths, straight between them, all round.
class Horizon {
  public:
    Horizon() = default;  // flat
    // "90:12 180:3 270:20". Throws std::invalid_argument in words.
    explicit Horizon(const std::string& text);
    double height_deg(double azimuth_deg) const;
    bool hides(const SunPosition& sun) const { return sun.elevation_deg <= height_deg(sun.azimuth_deg); }
    bool flat() const { return points_.empty(); }

  private:
    struct Point {
        double azimuth, height;
    };
    std::vector<Point> points_;  // by azimuth
};

}  // namespace sunshaft::solar
