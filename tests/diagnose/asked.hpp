// What the tests of the suspects share: priors of few kinds, what is kept between them, the share of a suspect.
#pragma once

#include <set>
#include <string>

#include "../files/scratch.hpp"
#include "diagnose/suspects.hpp"
#include "site/faults.hpp"

namespace sunshaft::test {

// The shipped priors, of the catalogue only these kinds: what is asked of them is cheap to compute.
inline diagnose::Priors priors_of(const std::set<std::string>& kinds, bool data = false) {
    diagnose::Priors p = diagnose::load_priors(diagnose::shipped_priors());
    for (const site::FaultRow& row : site::fault_catalogue())
        if (!kinds.contains(row.kind)) p.fault[row.kind] = 0.0;
    if (!data) p.cause["site-data"] = 0.0;
    return p;
}

// Where what is computed once serves all that ask the same.
inline const Scratch& kept() {
    static const Scratch folder;
    return folder;
}

inline double share(const diagnose::Answer& a, const std::string& fault, const std::string& place = "*") {
    double sum = 0.0;
    for (const auto& s : a.suspects)
        if (s.fault == fault && (place == "*" || s.place == place)) sum += s.probability;
    return sum;
}

}  // namespace sunshaft::test
