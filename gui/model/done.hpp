// What was done to the bench, as a dated list: one entry for each act of undo, which walks it.
#pragma once

#include <cstddef>
#include <string>

#include "bench/bench.hpp"
#include "model/meters_at_hand.hpp"

namespace sunshaft::view {

struct Done {
    double t = 0.0;         // simulated s
    std::string clock;      // by the wall, "14:05:09"
    std::string words;      // "Planted: lost phase, splice.u"
    std::size_t depth = 0;  // once it is done so many entries stand, those that are not told included
    bool undone = false;    // redo would do it again
};

// What of the bench undo goes back to, and the words of a change from one to the next: of faults, acts, keys, meters
// and leads, what there is; empty: nothing that may be told.
struct Bearing {
    const bench::Edits& edits;
    const MeterChanges& meters;
    const bench::Probes& probes;
};
std::string change_words(const Bearing& before, const Bearing& after, bool faults_hidden);

}  // namespace sunshaft::view
