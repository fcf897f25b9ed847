// A lesson on paper: two pages for the learner (what is said, waves, points, blank displays, reasons to tick) and the
// answers on a sheet of their own. Same lesson, seed and site: the same values as on a screen. Both carry the seed and
// a check word made from the answers, so that a sheet of answers is not laid beside other values.
#pragma once

#include <string>
#include <vector>

#include "report/paper.hpp"
#include "teach/play.hpp"

namespace sunshaft::teach {

struct Worksheet {
    std::string pages, answers;  // PDF
    std::string word;            // "gravel 31"
    std::vector<report::Paper::Placed> placed, placed_answers;
};
Worksheet worksheet(const Lesson& lesson, const Beliefs& beliefs, const PlayOptions& options = {});

}  // namespace sunshaft::teach
