// What meters, eyes and ears find at a site brought into its state: once, or more often where no two looks are alike.
// Only for sights.cpp.
#pragma once

#include <optional>
#include <vector>

#include "diagnose/runs.hpp"

namespace sunshaft::diagnose {

// A motor that takes too much runs until its drive stops it, waits, and is started again: the site while it waits.
// None: it is not stopped so. trips: it waits longer than it runs, or its trips are counted until it locks itself out.
struct Waiting {
    std::optional<bench::Bench> bench;
    bool trips = false;
};
Waiting waiting(const Run& run);

// wait: of the site as it stands; none where the state does not come from there.
void look_long_enough(const Run& run, const std::vector<Look>& looks, const State& state, const Waiting& wait,
                      Sight& seen);

}  // namespace sunshaft::diagnose
