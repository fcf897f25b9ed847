// The wipe's pairs of values: what the healthy twin has and what the site has, side by side.
#pragma once

#include <string>
#include <vector>

#include "model/snapshot.hpp"

namespace sunshaft::view {

struct Pair {
    std::string name, unit;
    struct Value {
        std::string healthy, site;
        bool differs = false;  // by more than a meter there would swallow
    };
    std::vector<Value> values;  // of the currents three, else one
};
// Water and shaft where there are any, level, currents of u, v, w.
std::vector<Pair> pairs(const Snapshot& site, const Snapshot& twin);

}  // namespace sunshaft::view
