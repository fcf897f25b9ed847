// Stations: the states of a site in which field tests are done, one row each, and how one gets there. Words, keys of
// lessons, what a case notes of them and the order of work follow from the row.
#pragma once

#include <limits>
#include <string>
#include <vector>

#include "bench/bench.hpp"

namespace sunshaft::bench {

// Each but those that begin at rest follows from another: covered and shorted from dead, lit is dead, bled and warm
// from running, and so the ones in which a hand moves something while it runs.
enum class Station {
    dead,
    covered,
    lit,
    shorted,
    running,
    shut,
    bled,
    warm,
    restarted,
    other,
    rolled,
    renewed,
    one_covered,
    lifted,
    freed
};

struct StationRow {
    Station station;
    const char* key;    // in lesson files
    const char* words;  // what was done
    bool runs;          // the drive is on, or was until this was done to it
    Station from;       // the one before it; itself: it begins at rest
    // Since what was done, s; NaN: as it settles. How a case notes it (diagnose/trials.hpp).
    double after_s = std::numeric_limits<double>::quiet_NaN();
    const char* mark = "";  // the act that tells it from all others, as "shut@valve"
};
const std::vector<StationRow>& stations();
const StationRow& row_of(Station station);

// What is done to come from the station before.
std::vector<site::Act> acts_to(const site::Works& works, Station to);
// A site with these faults, and the user's own keys and acts, in a station.
Bench at_station(const Scenario& scenario, Edits edits, Station station, double running_s = 8.0);
// From one station to the next in its line.
void lead_on(Bench& bench, Station to);
// An isolated site once its link has been waited for: nothing moves, and the electronics are dark.
void wait_for_link(Bench& bench);

}  // namespace sunshaft::bench
