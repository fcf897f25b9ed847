// The bore as who comes finds it: drawn down by what is pumped, which takes minutes, without letting them pass.
#pragma once

#include "bench/bench.hpp"

namespace sunshaft::bench {

// Where such a flow, m3/s, leaves the water, m below ground: no deeper than a guard or the intake lets it. What a guard
// stops again and again stands just above it.
double drawn_down_to(const Bench& bench, double flow);
// What comes out of the main now, m3/s.
double outflow(const Bench& bench);
// Whether the water stands where what is pumped brings it, as near as a dip meter tells; else it is put there, and the
// pump has to find its point anew.
bool drawn_down(Bench& bench);

}  // namespace sunshaft::bench
