// What hands may do at a part of the drawing: rows of the catalogue of acts in the words of a menu.
#pragma once

#include <string>
#include <vector>

#include "model/site_drawing.hpp"

namespace sunshaft::view {

struct Offer {
    std::string kind, place;  // of the act
    std::string words;        // "Part this connector"
    std::string caution;      // to be read first
};

// Title of the menu: "Connector s1.m3-", "Isolator".
std::string part_title(const Part& part);
// Only acts that would change something now.
std::vector<Offer> offers(const site::Site& site, const Part& part);

}  // namespace sunshaft::view
