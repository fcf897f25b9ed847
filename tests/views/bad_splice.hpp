// A call-out for tests: a bad splice on the bench rig.
#pragma once

#include "callout/seal.hpp"

namespace sunshaft::view {

inline callout::Callout bad_splice() {
    callout::Callout c;
    c.site = "bench-rig";
    c.owner.own = "Since Tuesday it runs rough.";
    c.faults = {{"high-resistance-splice", "v", 4.0, 0.0}};
    c.truth = {"high-resistance-splice", "v"};
    return c;
}
// The same, sealed, for a journal to be kept of it.
inline callout::Callout sealed_bad_splice() {
    callout::Callout c = bad_splice();
    c.sealed = callout::sealed(c);
    return c;
}

}  // namespace sunshaft::view
