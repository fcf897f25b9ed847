// Words that a lesson says on a screen, in a terminal and on paper alike.
#pragma once

#include <string>
#include <string_view>
#include <vector>

#include "teach/asked.hpp"

namespace sunshaft::teach {

std::string figure_of(double value, const std::string& unit);  // "over range", "11.2 m3/h"
std::string_view mode_words(meter::Mode mode);                 // "volts AC"
// The same of a look, with how long it has run where that is not the usual.
std::string state_words(const Look& look);
// A key as said on paper: "the voltage of the supply"; itself where nobody has words for it.
std::string key_words(const std::string& path);
// The state a question is asked in: its station, the keys set beyond the first `common` ones, the faults it tells of.
std::vector<std::string> conditions(Benches& benches, std::size_t common, const Asked& asked);
// The same of a look in a lesson's step; and where nothing is wrong, though the lesson tells of faults.
std::vector<std::string> setting(Benches& benches, const Lesson& lesson, const State& base, const Look& look);
// "Known: ...": a reading given with a question, "when all was well" where its fault was not there yet.
std::string known_words(Benches& benches, const Asked& asked, const Look& given);
// Ids of its reasons, in the order they are shown at this seed.
std::vector<std::string> reasons_in_order(const Lesson& lesson, std::uint64_t seed, const Asked& asked);

}  // namespace sunshaft::teach
