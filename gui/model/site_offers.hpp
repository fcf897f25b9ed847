// What hands may do on a site: which acts would change something now, their words, and what is to be read before one is
// done.
#pragma once

#include <string>
#include <vector>

#include "bench/hazards.hpp"
#include "model/site_drawing.hpp"

namespace sunshaft::view {

struct Offer {
    std::string kind, place;  // of the act
    std::string words;        // "Unplug this connector"
};

// Title of the menu: "Connector s1.m3-", "Isolator".
std::string part_title(const Part& part);
// Acts at a part of the drawing, of two opposites the one that applies.
std::vector<Offer> offers(const site::Site& site, const Part& part);
// The same for what a site has only one or a few of; connectors and single wires are left to the drawing.
std::vector<Offer> offers(const site::Site& site);

// The act at the valve that setting it to `opening` comes to and that asks first, as it is; empty: none. A screw pump
// bursts something before it slows down: with it any closing counts.
std::string valve_act(const site::Works& w, double opening);

// What stands on the card before an act, or a touch.
struct Caution {
    std::vector<std::string> words;    // the most severe first
    std::vector<std::string> refused;  // why it must not be done now, and what would happen; empty: it may
    std::string order;                 // what comes first, in the right order; empty where nothing is refused
};
// By the whole truth, hidden faults or not: a danger is never hidden. But in a call-out: Desk::caution().
Caution caution_of(const Snapshot& truth, const std::string& kind, const std::string& place);
Caution caution_of(const std::vector<bench::Hazard>& hazards);

}  // namespace sunshaft::view
