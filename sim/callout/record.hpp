// What a call-out leaves in a journal (journal/journal.hpp), and what is read back from it.
//
//     Record record("ana.journal");
//     const Attempt& a = record.begin(call, {"Ana"}, {});   // a new attempt, or the open one at this very call-out
//     record.deed({...});                                   // kept when it returns
//     attempts(journal::read("ana.journal"))                // all there is, for whoever adds up
//
// The sealed call-out itself stands in the entry that begins an attempt, so that it is taken up without its file. The
// truth stands in no entry before the account. What was undone and struck out stays, with an entry that says so.
#pragma once

#include <algorithm>
#include <optional>
#include <string>
#include <vector>

#include "callout/account.hpp"
#include "journal/journal.hpp"

namespace sunshaft::callout {

struct Deed {
    enum class Kind {
        act,     // act
        undo,    // act: what was taken back
        read,    // seen
        strike,  // entry: which reading, counted from 0, was struck out, or counts again
        wait,    // seconds
        swap,    // the two at one laptop change roles
        touch    // seen, without what it showed: leads laid where they must not lie; what it read is noted by itself
    };
    Kind kind = Kind::act;
    double t = 0.0;  // simulated s since the visit began
    std::string act = {};
    bool unsafe = false;   // it was refused, and done all the same
    bool stopped = false;  // it was refused in an exam, and not done
    diagnose::Seen seen = {};
    std::size_t entry = 0;
    double seconds = 0.0;
    long n = 0;  // of its journal entry
};

// How an attempt is played.
struct Terms {
    bool exam = false;      // a refused act stays refused, and nothing is told of why before the end
    double minutes = 90.0;  // asked for; 0: as long as it takes
    double extra = 1.0;     // times that, for whoever is given extra time
    friend bool operator==(const Terms&, const Terms&) = default;
};

// One person's end of it.
struct Marked {
    std::string who, truth, named;  // in words
    std::string fault, kind;        // what was wrong and what was named, as the catalogue has them
    bool right = false, borne = false;
    double mark = 0.0, minutes = 0.0, best_minutes = 0.0;
    std::vector<std::string> unsafe, misled;
    struct Line {
        std::string rule, why;
        double points, of;
    };
    std::vector<Line> lines;
    std::string well, change;
};

struct Attempt {
    std::string journal, call;  // ids: of the journal, of the sealed call-out
    std::string at, site, sealed;
    long n = 0;      // of the entry that began it
    int starts = 0;  // how often it was begun or taken up
    std::vector<std::string> who;
    Terms terms;
    std::vector<Deed> deeds;
    std::vector<Marked> marked;  // one a person
    bool left = false;           // without a word
    bool over() const { return left || marked.size() >= std::max<std::size_t>(1, who.size()); }
    // The readings that count, as a case of its site; and what was done although it was refused.
    diagnose::Case notes() const;
    std::vector<std::string> unsafe() const;
};

// What a sealed text is known by: the same call-out has the same id on every laptop.
std::string id_of(const std::string& sealed);
std::vector<Attempt> attempts(const journal::Contents& contents);

// The journal of whoever sits at this laptop: a file in the usual folder, by their names.
std::string usual_journal(const std::vector<std::string>& who);

class Record {
  public:
    // Throws as journal::Journal does.
    explicit Record(const std::string& file, journal::Journal::Clock clock = {});
    // Counts as a start. An attempt at the same call-out by the same people that is not over is taken up, on its own
    // terms.
    const Attempt& begin(const Callout& call, const std::vector<std::string>& who, const Terms& terms);
    void deed(const Deed& deed);
    void marked(const std::string& who, const Callout& call, const Named& named, const Account& account);
    void leave();
    const Attempt& now() const { return now_; }
    const std::string& file() const { return journal_.file(); }

  private:
    journal::Journal journal_;
    Attempt now_;
};

// The newest attempt in a journal that is not over; nothing: there is none, or no journal.
std::optional<Attempt> unfinished(const std::string& file);

}  // namespace sunshaft::callout
