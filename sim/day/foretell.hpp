// Where a site comes to run in its own sun, foretold by the day's averages and handed to the live solver as a state.
//
// The averages know what they know within one or two per cent; from there what is left is a matter of turns, not of a
// start of seconds. Whoever takes the state up sees himself whether it stays there (plant/steady.hpp).
#pragma once

#include <string>
#include <vector>

#include "plant/run.hpp"
#include "site/scenario.hpp"

namespace sunshaft::day {

struct Foretold {
    bool runs = false;   // starts and runs on, for all the averages know
    std::string reason;  // why not: it waits, stands, trips, or nobody knows
    bool full = false;   // with all the drive may give, or at the speed ceiling; else at the tracker's voltage
    plant::State state;
    double target_V = 0.0;  // of the tracker, true
};

// fresh: as plant.start() gives it, of the site with these faults. neighbour, running: another site of the same drive
// and kind of motor, and a state in which it runs; of that comes what the averages do not know.
Foretold foretell(const Scenario& scenario, const std::vector<site::Fault>& faults, plant::Plant& plant,
                  const plant::State& fresh, const site::Site& neighbour, const plant::State& running);

}  // namespace sunshaft::day
