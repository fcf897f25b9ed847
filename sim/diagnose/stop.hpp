// Which suspects no test that is to hand tells apart, and whether to act now or to look again. Only for next.cpp.
#pragma once

#include "diagnose/trials.hpp"

namespace sunshaft::diagnose {

// Suspects that count: by number in the list, and how probable each is among them.
struct Crowd {
    std::vector<std::size_t> who;
    std::vector<double> p;
    double all = 0.0;
};

// Suspect::group and Suspect::split.
void group(const std::vector<Candidate>& candidates, const Crowd& crowd, const Scenario& scenario, const Priors& priors,
           std::vector<Held>& suspects);
// visits: as they are ordered.
Stop stop_or_go(const Case& c, const Priors& priors, const Crowd& crowd, const std::vector<Held>& suspects,
                const std::vector<Candidate>& candidates, const std::vector<Visit>& visits, const Answer& answer);

}  // namespace sunshaft::diagnose
