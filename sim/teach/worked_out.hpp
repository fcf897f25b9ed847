// Looks that no display shows by itself: a line of a spectrum, the hertz an ear hears, the volts that an insulation
// test leaves on a cable. Worked out of the same bench as every reading.
#pragma once

#include "teach/asked.hpp"

namespace sunshaft::teach {

// Of a look that is not `on_display()` and no gauge. Throws as bench::observe() does.
Seen worked_out(const bench::Bench& bench, const Look& look);

// The voltage an insulation test is made with: the lowest from 500 V on, as the tester itself takes it.
double tested_at(const meter::Function& insulation);

}  // namespace sunshaft::teach
