// What the tests of the suspects share: priors of few kinds, what is kept between them, readings of hill-orchard as a
// case has them, the share of a suspect.
#pragma once

#include <set>
#include <string>

#include "../files/scratch.hpp"
#include "catch_shim.hpp"
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

// What can be wrong with the lines to the motor.
inline const std::set<std::string> lines = {"high-resistance-splice", "lost-phase", "core-broken",
                                            "winding-partly-shorted", "cable-earth-leakage"};

inline diagnose::Answer ask(const std::string& text, const std::set<std::string>& kinds, bool tests = false) {
    diagnose::Diagnosis d(diagnose::parse_case(text, "my.toml"), priors_of(kinds), kept().path());
    return d.answer({}, tests);
}

inline const std::string dead = "do = [\"open@isolator\", \"pull@pump\"]\nmode = \"ohm\"\n";
inline std::string ohms(const char* red, const char* black, const char* shown) {
    return "[[seen]]\n" + dead + "red = \"lead." + red + "\"\nblack = \"lead." + black + "\"\nshown = \"" + shown +
           "\"\n";
}
inline std::string clamp(const char* around, const char* shown, const char* mode = "aca") {
    return std::string("[[seen]]\naround = \"") + around + "\"\nmode = \"" + mode + "\"\nshown = \"" + shown + "\"\n";
}
inline const std::string at_orchard = "site = \"hill-orchard\"\n";

inline void sums(const diagnose::Answer& a) {
    double where = 0.0, all = 0.0;
    for (const double x : a.where) {
        where += x;
        CHECK(x >= 0.0);
    }
    for (const auto& s : a.suspects) {
        all += s.probability;
        CHECK_FALSE(s.group.empty());
    }
    CHECK(where == approx(1.0).epsilon(1e-9));
    CHECK(all == approx(1.0).epsilon(1e-9));
}

}  // namespace sunshaft::test
