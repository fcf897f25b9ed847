// What the tests of the desk share: a shipped site by name, the figure a meter shows.
#pragma once

#include "../site_named.hpp"
#include "catch_shim.hpp"
#include "model/desk.hpp"

namespace sunshaft::view {

using test::site_named;
// A phase lost after so many seconds, and as many as follow run.
inline std::shared_ptr<const Snapshot> lost_phase(Desk& desk, double before_s, double after_s) {
    desk.work(before_s);
    desk.plant("lost-phase", "splice.v", 1.0);
    desk.work(after_s);
    return desk.snapshot();
}
inline double shown(const Snapshot& s, int which) {
    REQUIRE(s.meters[static_cast<std::size_t>(which)].reading);
    REQUIRE(s.meters[static_cast<std::size_t>(which)].reading->value);
    return *s.meters[static_cast<std::size_t>(which)].reading->value;
}

}  // namespace sunshaft::view
