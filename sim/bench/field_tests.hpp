// Field tests: what a person on site can do to find a fault, one row each. The blind-spot map, the sheet and
// `sunshaft read --test` go by this table; a new test is one row in it.
//
//   observation   what is looked at once: an instrument and a place (bench/observe.hpp)
//   station       the state of the site it is looked at in (stations.hpp)
//   field test    the observations it consists of on a given site, all of one station
#pragma once

#include <string>
#include <vector>

#include "bench/hazards.hpp"
#include "bench/observe.hpp"
#include "bench/stations.hpp"

namespace sunshaft::bench {

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

// What must be known before the test is done: the acts that lead to its station, and every touch in it.
std::vector<Hazard> hazards(const FieldTest& test, const Bench& there);
// The same for any looks in a station.
std::vector<Hazard> hazards(const std::vector<Observation>& looks, Station station, const Bench& there);

}  // namespace sunshaft::bench
