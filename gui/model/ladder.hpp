// Ladder: test points as rungs, each at its voltage above the link's minus, and what the gap between two of them says.
#pragma once

#include <optional>
#include <string>
#include <vector>

#include "bench/bench.hpp"
#include "model/turn.hpp"

namespace sunshaft::view {

struct Rung {
    std::string point;
    double volts = 0.0;      // above link-; of a point of a floating array: above that array's own lowest
    bool known = true;       // false: hangs on nothing at all, no height is right
    bool floats = false;     // no switch and no rail holds it
    bool apart = false;      // floats with an array that nothing ties to the link: only gaps within it have a meaning
    bool reachable = true;   // by a hand in the field
    bool essential = false;  // stays where there is room for few
    bool metal = false;      // frame, casing, pipe, earth
    bool unearthed = false;  // of a circuit that has no tie to earth by itself
    bool red = false, black = false;
};
// From the highest to the lowest: link, outputs, motor, star point, and what the leads are on.
std::vector<Rung> ladder(const site::Site& site, const Moment& moment, const bench::Probes& probes);

// Volts red above black at that instant; nothing: a lead is missing, or nothing ties the two together.
std::optional<double> gap(const std::vector<Rung>& rungs);

// What is to be learned from the rungs the leads hang on, one or two sentences.
std::string ladder_words(const std::vector<Rung>& rungs, double link_V);

}  // namespace sunshaft::view
