// The least of each fault that each field test sees: the map of blind spots over severities. A test sees it where some
// reading moved by more than three times what the two accuracy bands leave open (as in bench/blind.hpp, which plants
// each fault once at its usual severity and runs the live solver). Here the readings are those suspects are weighed by.
#pragma once

#include <functional>
#include <string>
#include <vector>

#include "bench/field_tests.hpp"
#include "diagnose/sights.hpp"

namespace sunshaft::diagnose {

struct LeastSeen {
    const site::FaultRow* row;
    std::string place;
    // By test. much: of what there can be of the fault, from none (0; site::nothing_at) towards its usual severity,
    // from so much on it is seen; NaN: at no severity. A fault without degrees is seen at 1 or not at all. Between two
    // severities looked at it is taken where a line through the logarithms of both distances crosses three.
    std::vector<double> much;
    double severity(std::size_t test) const;
    bool fewer_is_worse() const;  // it is seen from that severity down
};

// kind: this fault in all its places; empty: every fault of the site once. Under the sky of the scenario of sights.
// progress(fraction) may return false: then Stopped is thrown.
std::vector<LeastSeen> least_seen(Sights& sights, const std::string& kind = "",
                                  const std::function<bool(double)>& progress = {});

// How far off a healthy site's the readings of a test are, in units of what the bands of both leave open. A test that
// is compared as shares of the link's volts has these as its last look.
double distance(const bench::FieldTest& test, const std::vector<bench::Observation>& looks, const Sight& ill,
                const Sight& healthy);

}  // namespace sunshaft::diagnose
