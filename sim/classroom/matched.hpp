// Call-outs for one class that are as hard as each other: the suspects engine's own way through each takes about the
// same minutes past the same hazards, and leaves about as many faults that no test splits.
#pragma once

#include <cstdint>
#include <functional>
#include <string>
#include <vector>

#include "callout/path.hpp"

namespace sunshaft::classroom {

struct Handed {
    std::uint64_t seed = 0;
    callout::Callout call;
    callout::Path path;
};
struct Handout {
    std::vector<Handed> calls;
    bool matched = false;  // else the nearest there were
    int tried = 0;         // seeds
};
struct Wanted {
    int count = 2;  // pairs
    int level = 1;
    std::uint64_t first = 1;  // seed
    int most = 60;            // seeds tried
};

inline constexpr double minutes_apart = 0.15;
inline constexpr int group_apart = 2;

// Of one class: minutes within 15 %, the same hazards, no group larger by more than two.
bool alike(const std::vector<Handed>& calls);
// As many of them as are wanted, alike and as dangerous as the last; none: there are not so many. No fault is for more
// than a third of them, and a fifth at most are healthy (both rounded up): what one pair finds out the next has heard.
std::vector<Handed> some_alike(const std::vector<Handed>& all, std::size_t count);
// Share of what is being done, and what that is. May return false: then it throws diagnose::Stopped.
using Progress = std::function<bool(double share, const std::string& doing)>;
// Of those drawn the ones that look alike from outside are weighed first: they are the likeliest to match. What a look
// round tells, without a meter, is no exercise for one and is left out.
Handout match(const Scenario& scenario, const std::string& site, const diagnose::Priors& priors,
              const std::string& cache, const Wanted& wanted, const Progress& progress = {});
// "isolate, wires off": what its way takes one past, in words.
std::string hazard_words(const callout::Path& path);

}  // namespace sunshaft::classroom
