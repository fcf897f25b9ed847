// The blind-spot map: which field test sees which fault, computed. Every fault of the catalogue is planted once at its
// usual severity on this site (or one of them at all its places and at five severities), every field test is carried
// out on it and on the healthy site, and the readings compared:
//
//   seen    some reading of the test moved by more than three times what the two accuracy bands leave open
//   weak    by more than once, but less than three times
//   blind   by less: these readings fit the healthy site as well
//
// Signatures of two faults that fit each other in every reading mean that the tests cannot tell them apart.
#pragma once

#include <functional>
#include <string>
#include <vector>

#include "bench/field_tests.hpp"

namespace sunshaft::bench {

// One reading of a test: a value and how far off it may be; NaN value: over range.
struct Probe {
    double value, tolerance;
};
enum class Sight { blind, weak, seen };

struct Signature {
    site::Fault fault;
    std::string group, title;
    std::vector<std::vector<Probe>> readings;  // by test
    std::vector<Sight> sight;                  // by test
    std::vector<std::size_t> alike;            // other rows that no test tells from this one
    // Others that no electrical test tells from it, and the first test that does.
    struct Parted {
        std::size_t other, test;
    };
    std::vector<Parted> parted;
};

// Largest distance between two sets of readings, in units of what their tolerances leave open.
double distance(const std::vector<Probe>& a, const std::vector<Probe>& b);

Sight sight(const std::vector<Probe>& ill, const std::vector<Probe>& healthy);

struct BlindPlan {
    std::string kind = {};  // this fault only, everywhere it can be and at five severities; empty: every fault once
    // the site has run this long when the live tests are done: what takes time to show may need minutes
    double running_s = 8.0;
};
// One row for each fault of the plan that has a place on this site. progress(fraction) may be empty; once it says false
// the work stops and nothing comes back. What a test throws is thrown here, after all have stopped.
std::vector<Signature> blind_map(const Scenario& scenario, const BlindPlan& plan = {},
                                 const std::function<bool(double)>& progress = {});
// The readings of all tests on this site with these faults; of one `only` of field_tests(), where one is named: the
// others then have none, and no time goes into their stations.
std::vector<std::vector<Probe>> carry_out(const Scenario& scenario, const std::vector<site::Fault>& faults,
                                          double running_s = 8.0, const FieldTest* only = nullptr);

}  // namespace sunshaft::bench
