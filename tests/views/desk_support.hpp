// What the tests of the desk share: a shipped site by name, the figure a meter shows.
#pragma once

#include "catch_shim.hpp"
#include "model/desk.hpp"
#include "site/load.hpp"

namespace sunshaft::view {

inline Scenario site_named(const char* name) { return site::load_scenario(site::find_scenario(name)); }
inline double shown(const Snapshot& s, int which) {
    REQUIRE(s.meters[static_cast<std::size_t>(which)].reading);
    REQUIRE(s.meters[static_cast<std::size_t>(which)].reading->value);
    return *s.meters[static_cast<std::size_t>(which)].reading->value;
}

}  // namespace sunshaft::view
