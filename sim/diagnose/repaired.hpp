// A case in which something was repaired, and read on afterwards.
#pragma once

#include <functional>

#include "diagnose/posterior.hpp"

namespace sunshaft::diagnose {

// The causes, with what was told of the days before weighed before any cover is opened, and the rest of it by the
// priors' words.
std::vector<Cause> causes_told(const Case& c, const Scenario& scenario, const Priors& priors, bool dusk, bool rough);

// How many of the readings were taken before the last repair and are put down to what was repaired then: something else
// has been wrong besides, and what was read since tells of that. 0: all readings are of the same site, and the repair
// was the wrong one, or was not well made.
//
// Before the repair cause c was as probable as pi(c). With r for what was repaired, what was read since is weighed
//
//     one cause   pi(c) for c other than r;  pi(r) fails for r;  either way nothing has changed
//     two         pi(r) second(r, c), hypotheses.hpp
//
// fails: priors.toml, [tried]. What was read again and differs is a slip, where nothing changed.
std::size_t before_a_repair(const Case& c, const Scenario& scenario, Sights& sights, const Priors& priors, bool dusk,
                            bool rough, const std::function<bool(double)>& progress);

}  // namespace sunshaft::diagnose
