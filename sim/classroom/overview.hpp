// What a class did, from its book: rows per learner and call-out, what went wrong in many heads, and the files that
// leave the room.
#pragma once

#include <cstdint>
#include <string>
#include <vector>

#include "classroom/book.hpp"

namespace sunshaft::classroom {

// One person's end of one attempt.
struct Row {
    std::string who;    // as to be shown: a name, or "learner 3"
    long number = 0;    // of the learner
    long attempt = 0;   // 1, 2, ...: which of this learner's
    std::string at;     // by the laptop's clock
    std::string doubt;  // of that clock; empty: none
    std::string site, journal;
    long entry = 0;  // where the attempt begins in its journal
    bool exam = false, over = false;
    int starts = 0;
    std::vector<std::string> with;  // the others at this laptop
    callout::Marked marked;         // as the program marked it; empty while it is not over
    std::vector<Overruled> overruled;
    double mark() const;  // with what the instructor overruled; of one rule the last word stands
    // What an unsafe act does to the mark, in words: it caps it; or who lifted that by giving points on S1, and why.
    // Empty: there was none.
    std::string cap_words() const;

  private:
    const Overruled* cap_lifted() const;  // by this word; null: by none
};
struct Learner {
    std::string who;
    long number = 0, attempts = 0, over = 0, unsafe = 0;
    long lessons = 0, got = 0;      // played to the end, and with every exercise right
    double last = 0.0, best = 0.0;  // marks; kept both
};
// What several people took for something else.
struct Misconception {
    std::string sentence;
    long times = 0;
    std::vector<std::string> who;
};
struct Overview {
    std::vector<Row> rows;
    std::vector<LessonDone> lessons;  // `who` as to be shown
    std::vector<Learner> learners;
    std::vector<Misconception> misconceptions;  // most frequent first
};

// names: else "learner N" stands for each, nowhere a name. now: s since 1970, UTC, of the instructor's machine: a
// laptop's clock that is ahead of it is doubted.
Overview overview(const Book& book, bool names, std::int64_t now);

std::string csv(const Overview& o);
std::string lessons_csv(const Overview& o);  // a row a person and lesson
// Experience API 1.0: one JSON array, a statement a person and finished call-out or lesson; accounts in place of
// addresses.
std::string xapi(const Overview& o, std::int64_t now);
// Why a statement must be rejected by that specification; empty: nothing speaks against it.
std::string why_rejected(const std::string& statement);
// A4, pure black. who: one learner's page; empty: the class. Throws std::invalid_argument when nobody is called so.
std::string paper(const Overview& o, const std::string& who = "");

}  // namespace sunshaft::classroom
