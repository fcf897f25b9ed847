// What a learner did, session after session, in a small file on this machine; and what the next lesson opens with.
//
//     Progress p = read_progress(file);                      // none yet: empty
//     options.recall = recall(p, lessons, beliefs);          // up to three questions, on new values
//     ...                                                    // play
//     p.sessions.push_back(session_of(lesson.id, outcome));
//     write_progress(file, p);
//
// Days do not count, sessions do: an apprentice comes on Tuesdays. Of the three questions one is out of the last
// lesson, one out of an older one, one about the belief that is due longest. A belief that was missed is due 1 session
// later; answered right 3 after that, then 7, then it is done with; missed again it begins anew (the intervals are a
// choice, no source).
#pragma once

#include <map>
#include <memory>
#include <string>
#include <vector>

#include "teach/play.hpp"

namespace sunshaft::teach {

struct Session {
    std::string lesson;
    bool got = false;                 // all of its exercises
    std::vector<std::string> missed;  // beliefs that were held and do not fit
    std::vector<std::string> right;   // beliefs asked about in recall and not held any more
};
struct Progress {
    std::vector<Session> sessions;
};

// The session at which a belief comes back, counted from 0; beliefs that are done with are not there.
std::map<std::string, std::size_t> due(const Progress& progress);
// Of lessons that are among these and have an exercise; fewer than three where there is not so much to recall.
std::vector<Recall> recall(const Progress& progress, const std::vector<Lesson>& lessons, const Beliefs& beliefs);
// What of a play is kept.
Session session_of(const Lesson& lesson, const Outcome& outcome);

// Both throw site::BadInput in one line; a file that is not there is an empty progress.
Progress read_progress(const std::string& file);
void write_progress(const std::string& file, const Progress& progress);
std::string progress_file();  // the user's own; empty: nowhere to keep it

}  // namespace sunshaft::teach
