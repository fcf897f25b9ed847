#include "solar/tracking.hpp"

#include <algorithm>
#include <cmath>
#include <numbers>

namespace sunshaft::solar {
namespace {

struct Vec {
    double east, north, up;
};
double dot(const Vec& a, const Vec& b) { return a.east * b.east + a.north * b.north + a.up * b.up; }

// Level, to the left of who looks along the axis: east of one that points south; and straight up from the axis.
Vec left_of(const Axis& a) { return {-std::cos(a.azimuth_deg * degree), std::sin(a.azimuth_deg * degree), 0.0}; }
Vec above(const Axis& a) {
    const double s = std::sin(a.tilt_deg * degree), c = std::cos(a.tilt_deg * degree);
    return {s * std::sin(a.azimuth_deg * degree), s * std::cos(a.azimuth_deg * degree), c};
}

}  // namespace

Plane turned(const Axis& axis, double rotation_deg) {
    const double c = std::cos(rotation_deg * degree), s = std::sin(rotation_deg * degree);
    const Vec a = left_of(axis), u = above(axis);
    const Vec n{c * u.east - s * a.east, c * u.north - s * a.north, c * u.up - s * a.up};
    Plane plane;
    plane.tilt_deg = std::acos(std::clamp(n.up, -1.0, 1.0)) / degree;
    plane.azimuth_deg = std::fmod(std::atan2(n.east, n.north) / degree + 360.0, 360.0);
    return plane;
}

Plane tracked(const Axis& axis, const SunPosition& sun) {
    if (sun.zenith_deg >= 90.0) return turned(axis, 0.0);
    const double z = sun.zenith_deg * degree, az = sun.azimuth_deg * degree;
    const Vec to{std::sin(z) * std::sin(az), std::sin(z) * std::cos(az), std::cos(z)};
    const double rotation = std::atan2(-dot(to, left_of(axis)), dot(to, above(axis))) / degree;
    return turned(axis, std::clamp(rotation, -axis.most_deg, axis.most_deg));
}

}  // namespace sunshaft::solar
