// Where a plane that turns about one axis faces. Angles in degrees, azimuth from north over east, as in sun.hpp.
#pragma once

#include "solar/sun.hpp"

namespace sunshaft::solar {

// An axis along which the modules lie, and how far they turn about it to either side.
struct Axis {
    double tilt_deg = 0.0;       // 0 lies flat
    double azimuth_deg = 180.0;  // the way its lower end points
    double most_deg = 60.0;
};

// The plane turned to the sun as nearly as the axis lets it; flat about the axis while the sun is down. No
// back-tracking: rows that shade each other are a horizon (sky.hpp).
// Source: W. F. Marion, A. P. Dobos, "Rotation angle for the optimum tracking of one-axis trackers", NREL/TP-6A20-58891
// (2013); angle and signs as in the pvlib-python library; tests hold it to the least incidence of all angles.
Plane tracked(const Axis& axis, const SunPosition& sun);
// The plane at one angle of rotation, growing towards the west of an axis that points south.
Plane turned(const Axis& axis, double rotation_deg);

}  // namespace sunshaft::solar
