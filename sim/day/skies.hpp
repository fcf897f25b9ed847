// Skies as somebody names them by eye, and what a figure of the light is worth, by where it comes from:
// scenarios/skies.toml, which says how it is meant; nothing of it in code.
#pragma once

#include <string>
#include <vector>

#include "day/weather.hpp"

namespace sunshaft::day {

struct NamedSky {
    std::string id, title;
    double beam = 1.0, scattered = 0.0;  // shares, of a cloudless sky's beam
    double band = 0.0, swing = 0.0;      // of the light in the plane: one standard deviation, and between readings
    double gap_s = 0.0, cloud_s = 0.0;   // mean lengths; 0: all day alike
    bool passes() const { return cloud_s > 0.0; }  // clouds do
};

// Where the figure of the light comes from.
struct SunSource {
    std::string id;
    std::vector<std::string> says;   // what people write for it, lower case
    std::string sky;                 // of NamedSky; empty: none
    double band = 0.0, swing = 0.0;  // shares of the light, as of the sky where it names one
    double module_K = 6.0;           // what the modules' warmth is known to
    std::vector<std::string> blind;  // kinds of faults such a figure says nothing of
    std::string caution;             // why not, in words; empty: nothing to say
};

struct Skies {
    std::vector<NamedSky> skies;
    std::vector<SunSource> sources;
    // Throws site::BadInput, which says what there is.
    const NamedSky& sky(const std::string& id) const;
    // By what somebody wrote: the first row one of whose words stands in it, else the last.
    const SunSource& source(const std::string& words) const;
};

// Throws site::BadInput `file:line:column: key: what is wrong`.
Skies parse_skies(const std::string& text, const std::string& file);
// As it lies in scenarios/; read once.
const Skies& shipped_skies();

// A cloudless day's light as it is left by this sky. Clouds pass by the seed, the same ones every time.
Weather under(const NamedSky& sky, Weather cloudless, unsigned seed = 1);

// What reaches the array of a site at one hour of its clock, under this sky. `cloud`: of a sky where clouds pass, under
// one; else in a gap.
Moment moment_at(const Scenario& scenario, const Date& date, double hour, const NamedSky& sky, bool cloud = false);

}  // namespace sunshaft::day
