// What the tests of the desk share: a shipped site by name, the figure a meter shows.
#pragma once

#include "../site_named.hpp"
#include "catch_shim.hpp"
#include "model/desk.hpp"

namespace sunshaft::view {

using test::site_named;
inline double shown(const Snapshot& s, int which) {
    REQUIRE(s.meters[static_cast<std::size_t>(which)].reading);
    REQUIRE(s.meters[static_cast<std::size_t>(which)].reading->value);
    return *s.meters[static_cast<std::size_t>(which)].reading->value;
}

}  // namespace sunshaft::view
