// What of a reading belongs to its moment: while a link discharges and a shaft runs down, figures change by the minute.
#pragma once

#include <string_view>
#include <vector>

#include "diagnose/case.hpp"
#include "meter/meter.hpp"
#include "site/faults.hpp"

namespace sunshaft::callout {

inline constexpr double before_s = 12.0;    // as long the pump has run when a call-out begins
inline constexpr double settles_s = 300.0;  // a link through its bleed resistor, a shaft that water turns

// The acts done so far, each at its time, and when they last changed: taking one back is no act.
struct Doings {
    const std::vector<site::Act>& acts;
    double changed = 0.0, now = 0.0;  // s since the site ran
};

// Notes beside a reading whose `act` stands what of it changes: its seconds where one act has cut off a site that ran;
// else that it was read on the way, so that it is kept and not weighed. Only clock and display say which, so that it
// gives nothing away.
void date(diagnose::Seen& seen, const Doings& done);

// The display itself says that these points are live: volts from 50 up, or a tester that refuses.
bool shows_live(meter::Mode mode, std::string_view shown);

}  // namespace sunshaft::callout
