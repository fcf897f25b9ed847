// What is left to be done on a site: each test with what it takes from how the site stands now, how well it tells one
// suspect from another, and what is done together on one visit. Only for next.cpp and its tests.
#pragma once

#include <functional>
#include <string>
#include <vector>

#include "bench/field_tests.hpp"
#include "diagnose/next.hpp"

namespace sunshaft::diagnose {

// By suspect and suspect: 1 what shows the same, 0 what shows something else, exp(-d^2 / 2) between.
using Likeness = std::vector<std::vector<double>>;

struct Candidate {
    const bench::FieldTest* test;
    std::vector<bench::Observation> looks;
    int exposure = 0;              // Proposal::exposure
    double minutes = 0.0;          // of the test, once one is there
    double way = 0.0;              // to the state it is done in, as the site stands now; on a visit only once
    std::string lacks;             // what must be brought for it
    std::vector<Sight> seen = {};  // by suspect: what it would show
    Likeness likeness = {};
    double bits = 0.0;
    bool now = true;  // Proposal::now
};
// Tests that share a state of the site, done one after the other. Together they tell less than the sum of each.
struct Visit {
    std::vector<std::size_t> tests;  // of the candidates; the one that tells most for its minutes leads
    Likeness likeness;
    double bits = 0.0, minutes = 0.0;
    int exposure = 0;
    bool possible = true;  // with what is to hand
    bool now = true;       // in this light
};

// 0 ask, 1 look and listen, 2 the drive's display, 3 clamp with covers on or a hand on what is moved, 4 isolated and
// proved dead, 5 live contact.
int exposure_of(const bench::FieldTest& test);
// How one gets there, and when it is read.
State state_for(bench::Station station, const site::Works& works);
// All that is done on the way there, as "open@isolator"; and back, where something moved that is not to stay so.
std::vector<std::string> way_to(bench::Station station, const site::Works& works);
std::vector<std::string> way_back(bench::Station station, const site::Works& works);

// What has not been read yet, of what can be.
std::vector<Candidate> left_to_do(const site::Works& works, const Case& c, const Priors& priors);
// Squared distance of two suspects in the readings of a test, in units of what both leave open.
double distance2(const bench::FieldTest& test, const std::vector<bench::Observation>& looks, const Sight& a,
                 const Sight& b);
// Asks the physics what each suspect would show of each candidate. probability: of each, together 1. stopped: the drive
// was found so, and whoever looks now sees what such a suspect shows while it waits.
void look_ahead(Sights& sights, const std::vector<Change>& suspects, const std::vector<double>& probability,
                bool stopped, std::vector<Candidate>& candidates, const std::function<bool(double)>& progress);
// What can be done now first; of that the gentlest of those that are worth it, of one exposure the one that tells most
// for its minutes.
std::vector<Visit> visits(const std::vector<Candidate>& candidates, const std::vector<double>& probability);

inline constexpr double worth_bits = 0.1;

}  // namespace sunshaft::diagnose
