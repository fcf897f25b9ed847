// What a lesson leaves in a learner's journal, beside the call-outs: who played it, what they got, and which beliefs
// they still hold. One entry a person when the lesson is over; nothing of what was typed.
#pragma once

#include <string>
#include <vector>

#include "journal/journal.hpp"
#include "teach/play.hpp"

namespace sunshaft::classroom {

struct LessonDone {
    std::string journal, at;
    std::string doubt;  // of the clock it is by, as of a Row (overview.hpp)
    long n = 0;         // of its entry
    std::string who, lesson, title, site;
    int got = 0, of = 0;              // exercises
    std::vector<std::string> missed;  // beliefs that were held and do not fit, as a learner would say them
    bool recalled = false;            // it opened with questions out of earlier ones
};

// Adds an entry for each of `who`: one, or the two of a pair. Throws as journal::Journal does.
void keep_lesson(const std::string& journal_file, const std::vector<std::string>& who, const teach::Lesson& lesson,
                 const std::string& site, const teach::Outcome& outcome, const teach::Beliefs& beliefs);
std::vector<LessonDone> lessons_done(const journal::Contents& contents);

}  // namespace sunshaft::classroom
