// What meters, eyes and ears find at a site brought into its state: once, or more often where no two looks are alike.
// Only for sights.cpp.
#pragma once

#include <vector>

#include "diagnose/runs.hpp"

namespace sunshaft::diagnose {

void look_long_enough(const Run& run, const std::vector<Look>& looks, bool as_it_stands, Sight& seen);

}  // namespace sunshaft::diagnose
