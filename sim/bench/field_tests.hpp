// Field tests: what a person on site can do to find a fault, one row each. The blind-spot map, the sheet and
// `sunshaft read --test` go by this table; a new test is one row in it.
//
//   observation   what is looked at once: an instrument and a place (bench/observe.hpp)
//   station       the state of the site it is looked at in, and how one gets there
//   field test    the observations it consists of on a given site, all of one station
#pragma once

#include <string>
#include <vector>

#include "bench/hazards.hpp"
#include "bench/observe.hpp"

namespace sunshaft::bench {

// In the order of work. Each but the first two follows from the one before it in its line:
//   dead -> covered, dead -> lit -> shorted          nothing has run
//   running -> bled -> warm                          after so many seconds of running
//   running -> shut
//   restarted                                        a start from rest, a while after it
//   other                                            like running, fed from the second supply
enum class Station {
    dead,     // isolated, link discharged, pump wires off
    covered,  // the array covered besides
    lit,      // as dead, but it is the live modules that are measured
    shorted,  // a rated link across the array
    running,
    shut,       // the valve at the wellhead shut for a few seconds
    bled,       // isolator opened, 20 s later
    warm,       // and then the pump wires off
    restarted,  // isolator off, the link waited for, on again; 8 s later
    other       // running on the second supply, the switch turned and its breaker closed before the start
};

struct FieldTest {
    const char* id;      // "winding-ohms"
    const char* name;    // "winding ohms"
    const char* how;     // what is done, with what
    const char* short_;  // heading of a narrow column
    Station station;
    double minutes;   // about, one person with the tools at hand (common practice, no source)
    bool electrical;  // with a meter; else bucket, gauge, dip meter or camera
    // Beside the instrument's own band, of the value and in SI: what swings while a tracker hunts swings for a healthy
    // site too, a bucket and a watch are no better than 3 % (common practice, no source).
    double share, least;
    std::vector<Observation> (*observations)(const site::Works&);  // none: this site has nothing to be tested so
    bool of_link = false;  // compared as shares of the link's voltage, which the sun does not move
};
// What one of its readings is compared by, with its unit: the value, or its share of the link's; nothing where the
// display tells no figure.
std::optional<double> compared(const FieldTest& test, const meter::Reading& reading);
const std::vector<FieldTest>& field_tests();
const FieldTest* find_test(const std::string& id);

// How long after a restart it is looked at, s: the soft start is over, an overload has not tripped it yet.
inline constexpr double restarted_s = 8.0;
// A site with these faults, and the user's own keys and acts, in a station.
Bench at_station(const Scenario& scenario, Edits edits, Station station, double running_s = 8.0);
// From one station to the next in its line.
void lead_on(Bench& bench, Station to);
// An isolated site once its link has been waited for: nothing moves, and the electronics are dark.
void wait_for_link(Bench& bench);

// What must be known before the test is done: the acts that lead to its station, and every touch in it.
std::vector<Hazard> hazards(const FieldTest& test, const Bench& there);
// The same for any looks in a station.
std::vector<Hazard> hazards(const std::vector<Observation>& looks, Station station, const Bench& there);

}  // namespace sunshaft::bench
