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
    bool supposed = false;  // that path is another's of its kind; nobody weighed this one
};
struct Handout {
    std::vector<Handed> calls;
    bool matched = false;  // else the nearest there were
    int drawn = 0;         // seeds
    int weighed = 0;       // of them, what the engine's own way through was worked out of
};
struct Wanted {
    int count = 2;  // pairs
    int level = 1;
    std::uint64_t first = 1;  // seed
    int most = 60;            // call-outs weighed
};

inline constexpr double minutes_apart = 0.15;
inline constexpr int group_apart = 2;

// Of one class: minutes within 15 %, the same hazards, no group larger by more than two.
bool alike(const std::vector<Handed>& calls);
// As many of them as are wanted, alike: those of which the fewest are supposed, then those whose minutes lie nearest.
// None: there are not so many.
// No fault is for more than a third of them, and a fifth at most are healthy (both rounded up): what one pair finds out
// the next has heard.
std::vector<Handed> most_alike(const std::vector<Handed>& all, std::size_t count);
// Share of what is being done, and what that is. May return false: then it throws diagnose::Stopped.
using Progress = std::function<bool(double share, const std::string& doing)>;
// Many are drawn, which costs little, and few weighed. Of those with the same fault and the same signs one is weighed
// for all, the commonest signs first: from the same signs the same tests come first. Once as many as are wanted should
// be alike by that, they are weighed themselves. What a look round tells, without a meter, is no exercise for one and
// is left out. The same for a seed whatever the number of threads, and whatever the cache holds.
Handout match(const Scenario& scenario, const std::string& site, const diagnose::Priors& priors,
              const std::string& cache, const Wanted& wanted, const Progress& progress = {});
// "isolate, wires off": what its way takes one past, in words.
std::string hazard_words(const callout::Path& path);
// How close they are: minutes, groups, what they take one to.
std::string closeness_words(const std::vector<Handed>& calls);

}  // namespace sunshaft::classroom
