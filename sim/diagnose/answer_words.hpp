// The answer as it is read aloud to someone on a ladder.
#pragma once

#include <string>
#include <vector>

#include "diagnose/suspects.hpp"

namespace sunshaft::diagnose {

// "about 8 in 10", "about 1 in 30"; never above 19 in 20.
std::string chance(double probability);
// One of `wheres` in words: "above ground".
const char* where_words(std::size_t n);
// The name of a field test by its id; "lift": what it takes to see the pump itself.
std::string test_name(const std::string& id);
// "high-resistance splice, at splice.v", and "some 2.4 ohm"; empty: it has no degrees.
std::string name(const Suspect& suspect);
std::string how_bad(const Suspect& suspect);
// Where a test must wait for light, or the light is weak for it: a sentence. Empty: nothing to say.
std::string in_this_light(const Proposal& proposal);
// Which of the tests that Answer::stop names must wait for light, and until when: sentences.
std::vector<std::string> stop_waits(const Answer& answer);
// "Readings 1 to 7 are put down to what was repaired: tank float stuck up."
std::string put_down_words(const PutDown& p);
// Of all that is proposed at once: what the stop names, and the next test. Said before either.
std::vector<bench::Hazard> hazards(const Answer& answer);
// Lines of at most 110 columns.
std::vector<std::string> words(const Answer& answer, const Case& c);

}  // namespace sunshaft::diagnose
