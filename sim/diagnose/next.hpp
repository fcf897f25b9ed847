// What to do next: which test tells most for its minutes, or whether to act now. Only for suspects.cpp and its tests.
#pragma once

#include <functional>
#include <vector>

#include "diagnose/suspects.hpp"

namespace sunshaft::diagnose {

// A suspect with the site it stands for.
struct Held {
    Suspect suspect;
    std::size_t cause = 0;
    Change change;
    std::array<double, 6> where{};      // its probability, by where its places lie
    const struct Pair* pair = nullptr;  // it is two causes; `cause` is the first
};

// Fills in Answer::next, bring, stop, and the suspects' groups and splits. stopped: the drive was found so.
void plan(Sights& sights, const Case& c, const Priors& priors, bool stopped, std::vector<Held>& suspects,
          Answer& answer, const std::function<bool(double)>& progress);

}  // namespace sunshaft::diagnose
