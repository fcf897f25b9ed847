// What a case tells, made into something that can be compared with what a site would show.
//
// Repeats are one fact: the same look in the same state counts once, with the mean of what was shown; where the figures
// contradict each other, the last stands and the others are told of.
#pragma once

#include <optional>
#include <string>
#include <vector>

#include "bench/senses.hpp"
#include "diagnose/case.hpp"
#include "diagnose/priors.hpp"
#include "diagnose/sights.hpp"
#include "diagnose/typed.hpp"

namespace sunshaft::diagnose {

struct Fact {
    enum class Kind {
        figure,
        over,     // over range
        behaves,  // a lamp, a sound, a message: yes or no
        says      // eyes and ears in the bench's own words (bench/senses.hpp): their number is the value
    };
    Kind kind = Kind::figure;
    std::size_t seen = 0;  // in the case; the first of its repeats
    int repeats = 1;
    State state;
    std::vector<Look> looks;  // by kind of meter where that is not known; else one
    double value = 0.0;       // SI
    double sd = 0.0;          // what the person leaves open: digits, "about", "jumps"
    bool at_most = false, at_least = false;
    double over_from = 0.0;           // over range: of that
    bool log = false;                 // compared by ratio: insulation, capacitance
    std::string gain;                 // readings with one gain error
    double gain_sd = 0.0;             // of it; 0: what the meter's band says
    double share = 0.0, least = 0.0;  // beside the meter's band: of the value, and SI
    std::vector<std::string> means;   // behaves: any of these (priors.toml), or the lamp's name after "lamp "
    bool denied = false;              // ... is not so
    bool well = false;                // read when all was well
    std::string unit;
    std::string text;  // read back: "3.6 ohm"
};
struct Facts {
    std::vector<Fact> list;
    std::vector<std::string> notes;  // what was put aside, and why
    struct Contradicted {
        std::size_t seen;
        std::string why;
    };
    std::vector<Contradicted> contradicted;
    double sun_swing = 0.03;  // share by which the sun moves between one reading and the next (day/skies.hpp)
};
// scenario: under the sky of the case. The sky itself is a reading of an irradiance meter and of a thermometer.
Facts facts(const Case& c, const Scenario& scenario, const Priors& priors);

// The mode a meter was read in: as it says, else the usual one where the leads or the clamp lay. Nothing: not known.
std::optional<meter::Mode> mode_of(const Seen& seen);

// A smell, a warm box or a dry outlet ("does not pump") that is told of before anything is looked at: an observation,
// no talk of what happened before.
std::optional<bench::Sensed> sensed_in_passing(const std::string& said);

// The value as it is compared: itself, or its logarithm.
double compared(const Fact& f, double value);
// Of what is shown while a motor runs and while its drive waits, that which was read.
Shown met(const Fact& f, const Shown& shown);
// By its lamps the drive had stopped when somebody came, and waited to try again, or had given up.
bool found_stopped(const Facts& facts);
bool lamp_on(const Behaviour& behaviour, const std::string& name);

}  // namespace sunshaft::diagnose
