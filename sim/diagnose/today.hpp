// When it can be tested today: of a case that tells its hour, from which hour on its site's tests work and mean
// something (day/when.hpp), with nothing wrong there.
//
// The hour is the sky's own, else the last reading's. An hour at which the sun here cannot give the light that was read
// is none of the site's clock and not used. The day is cloudless, or as the sky's words name it; where the light was
// read with the sun well up, it stays as much weaker or stronger than that all day.
#pragma once

#include <optional>
#include <string>
#include <vector>

#include "diagnose/case.hpp"

namespace sunshaft::diagnose {

// Tests that wait for the same thing.
struct Opening {
    const char* what;                // in English: text::tr()
    std::vector<std::string> tests;  // ids
    bool now = false;                // they can be done
    double from_h = not_given;       // hours of the clock, if not now: the next time; not given: not today
    double to_h = not_given;         // the end of that stretch
    double from_W_m2 = not_given;    // the weakest light in the module plane in which they can
    bool array = false;              // of the array: good volts in weak light tell nothing
};
struct Today {
    std::string date;
    double hour = 0.0, sun_W_m2 = 0.0;  // in the module plane
    std::string sky;                    // what the hours hold for, a sentence
    std::vector<Opening> openings;      // what does not work at any hour
    const Opening* of(const std::string& test) const;
};

// Nothing: no hour is known, or such a site has no day. A day's run in steps of ten minutes: some ms, of magnets up to
// a hundred.
std::optional<Today> today_of(const Case& c, const Scenario& scenario);
// With the light worked out of hour and named sky, where it was not read. Throws site::BadInput as site_of().
Case with_its_light(Case c);
// Whether the sun here cannot give at the sky's hour what was read.
bool hour_amiss(const Case& c, const Scenario& scenario);

std::string clock_of(double hour);  // "09:40"
// Sentences; none where all of it works now and for hours to come.
std::vector<std::string> words(const Today& today);

}  // namespace sunshaft::diagnose
