// What is known before anything is read: how often what is at fault, how long what takes, what people's words mean.
// All of it stands in scenarios/priors.toml, which says how it is meant; nothing of it in code.
#pragma once

#include <map>
#include <string>
#include <vector>

#include "diagnose/sights.hpp"

namespace sunshaft::diagnose {

struct Priors {
    std::map<std::string, double> cause, fault;  // weights, as in the file
    double two_at_once = 0.05;                   // share of calls with a second, independent cause
    struct Common {
        double share = 0.0;
        std::vector<std::string> of;
    };
    std::vector<Common> common;  // what one event does at once: the share that comes with another of them
    double slip = 0.02, slip_again = 0.1, unknown_slip = 0.35;
    std::map<std::string, std::string> where;
    double harmless_water = 0.03, harmless_leak = 1e6;  // share of the water; ohm
    double repair_fails = 0.1, well_by_restart = 0.3;
    std::vector<std::string> never_harmless;
    std::map<std::string, double> minutes, repair;
    struct Said {
        std::vector<std::string> says;
        double times = 1.0;
        std::vector<std::string> of;
    };
    std::vector<Said> intake;
    struct Told {
        std::vector<std::string> says, means;
    };
    std::vector<Told> told;

    // waiting | array | box | above-ground | bore | data
    std::string place_of(const std::string& kind, const std::string& group, const std::string& place) const;
    double minutes_to_repair(const std::string& kind, const std::string& where) const;
    double minute(const std::string& name) const;
    bool harmless(const std::string& kind, double severity) const;  // may count as health where it costs no water
    // How much likelier a cause becomes by what was said; understood: whether anything in the list is said so.
    double times(const std::string& cause, const std::vector<std::string>& said) const;
    bool understood(const std::string& said) const;
    // What the words of a sound, a look or a message mean; empty: not understood.
    std::vector<std::string> means(const std::string& words) const;
};
// Does a site that behaves so show that? One of the meanings of priors.toml.
bool shows(const Behaviour& behaviour, const std::string& meaning);

// Throws site::BadInput in one line with the place of the mistake.
Priors load_priors(const std::string& file);
std::string shipped_priors();
// All that stands under `says` there, in the file's own words: for the catalogues of other languages.
std::vector<std::string> listened_for(const std::string& file);

}  // namespace sunshaft::diagnose
