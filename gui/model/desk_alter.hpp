// For tests: one field of the snapshot on show is altered, so that the picture can be required to follow. Never in a
// user's hand.
#pragma once

#include <string>
#include <vector>

#include "model/day_view.hpp"
#include "model/snapshot.hpp"

namespace sunshaft::view {

// What can be altered, and the part of the window that must change: "meters", "inside", "clamp", "cutaway", "strip",
// "top".
struct Alteration {
    std::string field, where;
    void (*apply)(Snapshot& snapshot);
    void (*day)(DayView& day) = nullptr;  // of the strip's day
};
const std::vector<Alteration>& alterations();

}  // namespace sunshaft::view
