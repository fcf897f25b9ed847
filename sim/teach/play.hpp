// A lesson being played: the same engine behind a terminal, a window and a scripted learner.
//
//     Play play(lesson, beliefs, {.seed = 3});
//     while (!play.over()) {
//         const Turn& turn = play.turn();      // lines to be read out; what is asked, if anything
//         play.answer(...);                    // what the learner says; "" goes on where nothing is asked
//     }
//     play.outcome()                           // per exercise: got it or not yet; what was committed
//
// Predict, observe, explain, in that order. A value and a reason are committed before anything touches the points, and
// are neither marked nor changed; after the reading the learner picks the explanation that fits; then the computed
// reasons open. Exercises have three rounds on values of the seed's own, spread over the whole range, and are got only
// when every value and every reason is right.
//
// Stepwise (a window): it waits for the leads to be laid by hand, and after each thing there is to read; each turn
// brings the bench as the site is then. Of a class: nobody types a figure, everybody writes one down, and what is asked
// is a show of hands, one count a choice; what the hands say is told after all have been counted, and is not marked. Of
// a pair each commits while the other looks away, each is marked, and meter and notes change hands at every reading.
#pragma once

#include <array>
#include <cstdint>
#include <deque>
#include <memory>
#include <set>
#include <string>
#include <vector>

#include "teach/asked.hpp"

namespace sunshaft::teach {

struct Line {
    enum class Kind { say, caution, state, known, ask, kept, shows, fits, against, hands, why, mark };
    Kind kind = Kind::say;
    std::string words;
    std::string plain() const;  // as a terminal prints it
};

struct Turn {
    enum class Asks { nothing, go_on, leads, value, choice, hands };
    std::vector<Line> lines;  // cautions stand before what they protect
    Asks asks = Asks::nothing;
    std::vector<std::string> choices;  // whole sentences, in the order shown
    std::string unit;                  // a bare figure is taken in
    const Asked* question = nullptr;   // what is asked about, as anybody can know it
    bool sealed = false;               // figure and reason are still to come: nothing may be measured
    bool closed = false;               // the computed reasons are not open yet

    // Stepwise: the site as it is now (null: as before), where the leads lie or have to lie, what the scope shows.
    std::shared_ptr<const bench::Bench> bench = {};
    std::string bench_key = {};  // tells one state from another
    std::optional<Look> look = {};
    std::vector<std::string> show = {};
    int person = -1;  // of a pair: who answers, 0 or 1
    // Of a class, once counted: the choices with their hands, before the reading and after it (-1: not yet).
    struct Hands {
        std::string says;
        int before, after;
    };
    std::vector<Hands> spread = {};
};

// What one question brought.
struct Committed {
    bool exercise = false, recall = false;
    int person = 0;      // of a pair 0 or 1
    std::string lesson;  // its id
    std::string about;   // of a recall: the belief it came back for, if one
    diagnose::Typed typed;
    std::string reason, explanation;  // ids of beliefs
    bool value_right = false, reason_right = false;
    std::vector<std::string> matched;               // beliefs whose figure the answer is
    std::map<std::string, int> hands, hands_after;  // of a class, by belief
    std::vector<std::string> missed() const;        // beliefs that the answer gave away as held and that do not fit
};
struct Outcome {
    std::vector<Committed> committed;
    std::vector<bool> got;        // per exercise; of a class none
    std::vector<bool> got_other;  // of a pair: by the second
    bool done = false;
};

// A question out of an earlier lesson: the first round of its exercise at a seed of its own.
struct Recall {
    std::shared_ptr<const Lesson> lesson;
    std::size_t exercise = 0;
    std::uint64_t seed = 1;
    std::string about = {};  // the belief that is due; empty: none
};

struct PlayOptions {
    std::uint64_t seed = 1;
    std::string site = {};  // in place of the lesson's own
    // What others have computed already: pass the same to several lessons, played one after the other.
    std::shared_ptr<Benches> benches = {};
    bool stepwise = false, of_class = false, in_pair = false;
    std::vector<Recall> recall = {};    // asked first
    std::size_t from_step = 0;          // begins there; for who writes a lesson
    std::vector<std::string> who = {};  // of a pair: their names; else A and B
};

inline constexpr int rounds = 3;

class Play {
  public:
    // The lesson and the beliefs must outlive it.
    Play(const Lesson& lesson, const Beliefs& beliefs, PlayOptions options = {});
    bool over() const { return over_; }
    const Turn& turn() const { return turn_; }
    void answer(const std::string& said);
    const Outcome& outcome() const { return outcome_; }
    // How far it has come: the step or exercise it is at and how many there are, recall not counted.
    std::pair<std::size_t, std::size_t> progress() const;
    // The questions of an exercise, as this seed has them; for who checks a lesson or prints it.
    std::vector<Asked> exercise(std::size_t n) const;
    std::vector<Asked> predictions() const;
    Answers& answers() { return answers_; }
    Benches& benches() { return *benches_; }

  private:
    enum class Kind { say, show, pause, lay, look, test, value, reason, observe, explain, reveal, mark, verdict, end };
    struct Beat {
        Kind kind;
        std::size_t question = 0, at = 0;  // at: the step or exercise
        std::string say = {};
        Look look = {};
        std::vector<std::string> show = {};
        int person = 0;
    };
    struct Question {
        Asked asked;
        const Lesson* lesson;
        std::uint64_t seed;
        std::size_t common;  // keys that are the lesson's own and said there
    };
    void lay_out();
    void ask(std::size_t n, std::size_t at, bool exercise);
    std::size_t question(Asked asked, const Lesson& lesson, std::uint64_t seed, std::size_t common);
    void next();
    void carry_out(const Beat& beat);
    void look(const Beat& beat);
    void ask_value(const Beat& beat, const Question& of);
    void ask_reason(const Beat& beat, const Question& of);
    void ask_explanation(const Beat& beat, const Question& of);
    void verdict(const Beat& beat);
    void lay(const Beat& beat);
    void test(const std::string& id);
    void stand(const State& state, const Look& look);
    void show(const Beat& beat);
    void caution(const State& state, const Look& look);
    void say(Line::Kind kind, std::string words) { turn_.lines.push_back({kind, std::move(words)}); }
    void introduce(const Question& question);
    void set_out(const Look& look);
    void choose(const Question& question, const char* words);
    std::string chosen(const std::string& said) const;
    bool count(const std::string& said, Committed& mine);
    void tell_hands(const Question& question, const Committed& mine, bool after);
    void observe(const Asked& asked);
    void reveal(const Asked& asked, std::size_t question);
    void mark(const Asked& asked, std::size_t question);
    void mark_one(const Asked& asked, Committed& mine);
    int people() const { return options_.in_pair ? 2 : 1; }
    Committed& mine(std::size_t question, int person) {
        return mine_[question * static_cast<std::size_t>(people()) + static_cast<std::size_t>(person)];
    }
    std::string name(int person) const {
        const auto n = static_cast<std::size_t>(person);
        return options_.who.size() > n ? options_.who[n] : person ? "B" : "A";
    }
    std::string whose(int person) const { return options_.in_pair ? name(person) + ": " : ""; }
    void turn_of(const Beat& beat);
    void go_on() {
        if (options_.stepwise) turn_.asks = Turn::Asks::go_on;
    }

    const Lesson& lesson_;
    const Beliefs& beliefs_;
    PlayOptions options_;
    std::shared_ptr<Benches> benches_;
    Answers answers_;
    State base_;
    std::vector<Question> questions_;
    std::vector<Committed> mine_;  // question by question, of a pair the first one's before the second's
    int readings_ = 0;             // laid by hand so far
    std::deque<Beat> beats_;
    Beat now_{Kind::say};
    Turn turn_;
    std::vector<std::string> order_;   // ids of the choices shown
    std::set<std::string> cautioned_;  // sentences said already
    Outcome outcome_;
    bool over_ = false;
};

// Everything that can be wrong with a lesson beyond its form: places that are not there, beliefs that are not refuted,
// values at which right and wrong coincide, rounds that one answer would pass. Computes every question at these seeds,
// on the lesson's site and its second one. Throws site::BadInput, `file:line:column: key: ...`.
void check(const Lesson& lesson, const Beliefs& beliefs, int seeds = 3, std::shared_ptr<Benches> benches = {});

}  // namespace sunshaft::teach
