// One look at a bench, with a meter of one's own.
#pragma once

#include <memory>
#include <utility>

#include "bench/observe.hpp"

namespace sunshaft::test {

inline bench::Observation look(meter::Spec meter, meter::Mode mode, bench::Probes probes, meter::Context set = {}) {
    return {std::move(probes), mode, "", std::make_shared<const meter::Spec>(std::move(meter)), std::move(set)};
}
inline meter::Reading read(const bench::Bench& b, meter::Spec meter, meter::Mode mode, bench::Probes probes,
                           meter::Context set = {}) {
    return bench::observe(b, look(std::move(meter), mode, std::move(probes), std::move(set)));
}

}  // namespace sunshaft::test
