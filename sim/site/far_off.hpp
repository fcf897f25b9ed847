// Which key of a scenario lies farthest from what is usual: what a computation that fails can point at.
#pragma once

#include <string>
#include <string_view>
#include <vector>

#include "site/scenario.hpp"

namespace sunshaft::site {

// "; look at motor.inertia_kg_m2: it is 1e-06, 0.002 is usual"; a key of these sections first, else any; empty where
// none is more than 30 times off.
std::string far_off(const Scenario& scenario, const std::vector<std::string_view>& sections);

}  // namespace sunshaft::site
