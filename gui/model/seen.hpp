// What is seen and what is true. A snapshot tells all there is; this is what of it a person on the site could know
// while the planted faults are hidden: displays, lamps, water, what hands did. A panel is given the whole only where it
// was granted.
#pragma once

#include "bench/hazards.hpp"
#include "model/day_view.hpp"
#include "model/snapshot.hpp"

namespace sunshaft::view {

// Faults, inner figures (joints, motor, watts, potentials without a meter), everything healthy to compare with and the
// log of plantings are gone; the site is the one without faults, and of every reading only the display is left.
Snapshot seen(const Snapshot& all);
// What the site as it is written should do that day.
DayView seen(const DayView& all);

// What is to be read before the first touch: of the leads as they lie, on the meters they go to.
std::vector<bench::Hazard> hazards_of(const bench::Scene& scene, const Snapshot& s);

// Without what any reading tells, before a lesson's figure is committed.
Snapshot unread(Snapshot s);

// The same of a call-out: only what eyes on site would see is left. Link, amperes, flow, speed, level and warmth
// appear only as readings taken; water is none, a trickle or a stream; the scope shows where the leads lie; the drive
// tells its lamps. Equal outward signs make equal snapshots, whatever is wrong.
Snapshot outside(const Snapshot& all);

}  // namespace sunshaft::view
