// A plane that turns about one axis: no angle of its rotation meets the sun more squarely.
#include "solar/tracking.hpp"

#include <algorithm>
#include <cmath>

#include "catch_shim.hpp"

using namespace sunshaft::solar;
using sunshaft::test::approx;

namespace {

double incidence(const Plane& p, const SunPosition& sun) { return plane_of_array({}, sun, p).incidence_deg; }

}  // namespace

TEST_CASE("the tracked plane meets the sun at the least incidence of all angles, about level and tilted axes") {
    for (const double tilt : {0.0, 20.0})
        for (const double axis_azimuth : {180.0, 0.0, 155.0})
            for (const double hour : {7.0, 9.5, 12.0, 14.25, 17.0}) {
                const SunPosition sun = sun_position(julian_day(2026, 4, 10, hour), 34.0, 0.0);
                if (sun.zenith_deg > 88) continue;
                const Axis axis{tilt, axis_azimuth, 90.0};
                double least = 180.0;
                for (double r = -90.0; r <= 90.0; r += 0.25) least = std::min(least, incidence(turned(axis, r), sun));
                INFO("tilt " << tilt << " axis " << axis_azimuth << " hour " << hour);
                CHECK(incidence(tracked(axis, sun), sun) == approx(least).margin(0.02));
            }
}

TEST_CASE("east in the morning, flat at noon on the meridian, west in the afternoon, held at its stop, flat by night") {
    const Axis axis{0.0, 180.0, 45.0};
    const auto at = [](double hour) { return sun_position(julian_day(2026, 3, 21, hour), 0.0, 0.0); };
    const Plane morning = tracked(axis, at(9.5)), evening = tracked(axis, at(15.0)), early = tracked(axis, at(6.7));
    CHECK(morning.azimuth_deg == approx(90.0).margin(1e-6));
    CHECK(evening.azimuth_deg == approx(270.0).margin(1e-6));
    CHECK(early.tilt_deg == approx(45.0));
    CHECK(early.azimuth_deg == approx(90.0).margin(1e-6));
    CHECK(tracked(axis, at(0.0)).tilt_deg == approx(0.0).margin(1e-9));
    // On the equator at the equinox the sun passes nearly over the axis: the plane's tilt is its zenith.
    CHECK(morning.tilt_deg == approx(at(9.5).zenith_deg).margin(0.2));
}
