// What can be wrong on a site, each cause with its places, its severities and how likely it was before anything was
// read: every fault of the catalogue, health, what makes a healthy site rightly wait, and what is written wrongly.
#pragma once

#include <string>
#include <vector>

#include "diagnose/case.hpp"
#include "diagnose/priors.hpp"
#include "diagnose/sights.hpp"

namespace sunshaft::diagnose {

struct Cause {
    // A kind of the catalogue, or health, low-sun, full-tank, low-water, setting, site-data, reading,
    // nothing-here-fits.
    std::string fault;
    // All the places it stands for; the first is the one that is computed. One module in the middle of a string shows
    // what every other of it shows, as long as no lead has lain on it.
    std::vector<std::string> places;
    std::string title;
    std::string where;  // waiting | array | box | above-ground | bore | data
    double prior = 0.0;
    // Severities: with `graded`, points on a range that is taken as equally likely from share 0 to 1; else cases that
    // are equally likely.
    bool graded = false;
    struct Point {
        double share, severity;
        Change change;
    };
    std::vector<Point> points;
};
// The severity of a share, and the site with it.
Cause::Point point(const site::FaultRow& row, const std::string& place, double share);

// Sums to one. scenario: under the sky of the case. dusk: that sky cannot drive the healthy site.
std::vector<Cause> causes(const Scenario& scenario, const Case& c, const Priors& priors, bool dusk, bool rough = false);

// How likely the second is, where the first of two causes is known to be there: by itself, and as what one event does
// at once (Priors::Common), with prior(k) of cause k,
//
//     two_at_once prior(second) + sum over events of share prior(second) / sum of prior(k) of its other kinds
double second(const std::vector<Cause>& causes, const Priors& priors, std::size_t first, std::size_t second);

// The scenario under the sky the case tells of.
Scenario under_its_sky(Scenario scenario, const Case& c);

}  // namespace sunshaft::diagnose
