// A wave as a trace: straight lines between dense samples.
#pragma once

#include "trace/trace.hpp"

namespace sunshaft::test {

// f: of the time, s.
template <class F>
trace::Trace drawn(F f, double seconds, int count, double begin = 0.0) {
    trace::Trace out;
    const auto at = [&](int k) { return begin + seconds * k / count; };
    for (int k = 0; k < count; ++k) out.push_back({at(k), at(k + 1), f(at(k)), f(at(k + 1))});
    return out;
}

}  // namespace sunshaft::test
