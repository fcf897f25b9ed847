// A shipped site by its name.
#pragma once

#include <string>

#include "site/load.hpp"

namespace sunshaft::test {

inline Scenario site_named(const std::string& name) { return site::load_scenario(site::find_scenario(name)); }
inline Scenario orchard() { return site_named("hill-orchard"); }

}  // namespace sunshaft::test
