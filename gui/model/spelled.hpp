// Points looked for with a lead in the hand: by part of their name, as somebody types it, or by steps of the arrows.
#pragma once

#include <cstddef>
#include <optional>
#include <string>
#include <vector>

#include "model/geometry.hpp"

namespace sunshaft::view {

struct Spot {
    std::string name, where;  // where: in words
    Point at;
};

// Which of them have in them what was typed. First those whose name begins so, then those whose name has it further in,
// then those where the words have it. Nothing typed: all, as they are. Accents and capitals do not count.
std::vector<Spot> spelled(const std::vector<Spot>& spots, const std::string& typed);

// From there one step that way: the nearest of these that lies rather along it than aside. Null: there is none.
const Spot* stepped(Point from, Point way, const std::vector<Spot>& spots);

}  // namespace sunshaft::view
