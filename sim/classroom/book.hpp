// The class's book: one SQLite file into which the instructor's program merges learners' journals.
//
//     Book book("class.sqlite");
//     for (const Merged& m : book.merge("/media/stick")) ...
//     book.attempts()
//
// Nobody else writes it. It stands on a disk of this machine: its write-ahead log does not work across hosts, so a
// folder on a network is refused. What stands in it stays; the same journal merged again changes nothing, a longer one
// adds what is new, a shorter one nothing. Two journals that begin alike and then differ (a laptop that was copied)
// stand beside each other. Order within a journal is by its own count: the clocks of laptops are wrong.
#pragma once

#include <memory>
#include <string>
#include <vector>

#include "callout/record.hpp"
#include "classroom/lesson_record.hpp"

namespace sunshaft::classroom {

struct Merged {
    std::string file, id;  // id empty: nothing in it counts
    long taken = 0, known = 0;
    std::size_t spoilt = 0;
    bool beside = false;  // differs from one merged before: both stand
    std::string trouble;  // one line; empty: none
    friend bool operator==(const Merged&, const Merged&) = default;
};

// An instructor's word on one line of an account. The line it overrules stays.
struct Overruled {
    std::string journal;
    long attempt = 0;  // the entry that began it
    std::string who, rule, reason, by, at;
    double points = 0.0;
};

class Book {
  public:
    // Made where it is not there. Throws std::invalid_argument or std::runtime_error in one line.
    explicit Book(const std::string& file);
    ~Book();
    Book(const Book&) = delete;
    Book& operator=(const Book&) = delete;

    // A journal, or every *.journal in a folder and below, in the order of their names. Trouble with one does not stop
    // the others.
    std::vector<Merged> merge(const std::string& path);
    // All that is in it, in the order it was merged in.
    std::vector<callout::Attempt> attempts() const;
    std::vector<LessonDone> lessons() const;  // the same of lessons
    // A learner keeps the number of the first merge: exports without names go by it. 0: not in the book.
    long number_of(const std::string& who) const;
    // Throws std::invalid_argument where there is no such line, or no reason.
    void overrule(const Overruled& word);
    std::vector<Overruled> overruled() const;

  private:
    struct Own;
    std::unique_ptr<Own> own_;
};

}  // namespace sunshaft::classroom
