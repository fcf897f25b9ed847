// What the drive's own mind is at, in lines of words and figures, from a snapshot.
#pragma once

#include <string>
#include <vector>

#include "model/snapshot.hpp"

namespace sunshaft::view {

struct CardLine {
    std::string name, value;
    bool stands_out = false;  // a trip, a lock, something hot
};
// Empty on a site without a drive (mains).
std::vector<CardLine> drive_card(const Snapshot& snapshot);
// Warmth and lasting wear, as far as they are computed.
std::vector<CardLine> warmth_card(const Snapshot& snapshot);

// "12.4 s", "3 min 20 s", "2 h 5 min".
std::string span_words(double seconds);

}  // namespace sunshaft::view
