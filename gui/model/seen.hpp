// What is seen and what is true. A snapshot tells all there is; this is what of it a person on the site could know
// while the planted faults are hidden: displays, lamps, water, what hands did. A panel is given the whole only where it
// was granted.
#pragma once

#include "model/day_view.hpp"
#include "model/snapshot.hpp"

namespace sunshaft::view {

// Faults, inner figures (joints, motor, watts, potentials without a meter), everything healthy to compare with and the
// log of plantings are gone; the site is the one without faults, and of every reading only the display is left.
Snapshot seen(const Snapshot& all);
// What the site as it is written should do that day.
DayView seen(const DayView& all);

// Without what any reading tells, before a lesson's figure is committed.
Snapshot unread(Snapshot s);

}  // namespace sunshaft::view
