// The answer as it is read aloud to someone on a ladder.
#pragma once

#include <string>
#include <vector>

#include "diagnose/suspects.hpp"

namespace sunshaft::diagnose {

// "about 8 in 10", "about 1 in 30"; never above 19 in 20.
std::string chance(double probability);
// Lines of at most 110 columns.
std::vector<std::string> words(const Answer& answer, const Case& c);

}  // namespace sunshaft::diagnose
