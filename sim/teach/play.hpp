// A lesson being played: the same engine behind a terminal, a window and a scripted learner.
//
//     Play play(lesson, beliefs, {.seed = 3});
//     while (!play.over()) {
//         const Turn& turn = play.turn();      // lines to be read out; what is asked, if anything
//         play.answer(...);                    // what the learner says; "" where nothing is asked
//     }
//     play.outcome()                           // per exercise: got it or not yet; what was committed
//
// Predict, observe, explain, in that order. A value and a reason are committed before anything touches the points, and
// are neither marked nor changed; after the reading the learner picks the explanation that fits; then the computed
// reasons open. Exercises have three rounds on values of the seed's own, spread over the whole range, and are got only
// when every value and every reason is right.
#pragma once

#include <cstdint>
#include <deque>
#include <memory>
#include <set>
#include <string>
#include <vector>

#include "teach/asked.hpp"

namespace sunshaft::teach {

struct Turn {
    enum class Asks { nothing, value, choice };
    std::vector<std::string> lines;  // cautions stand before what they protect
    Asks asks = Asks::nothing;
    std::vector<std::string> choices;  // whole sentences, in the order shown
    std::string unit;                  // a bare figure is taken in
    const Asked* question = nullptr;   // what is asked about, as anybody can know it
};

// What one question brought.
struct Committed {
    bool exercise = false;
    diagnose::Typed typed;
    std::string reason, explanation;  // ids of beliefs
    bool value_right = false, reason_right = false;
    std::vector<std::string> matched;  // beliefs whose figure the answer is
};
struct Outcome {
    std::vector<Committed> committed;
    std::vector<bool> got;  // per exercise
    bool done = false;
};

struct PlayOptions {
    std::uint64_t seed = 1;
    std::string site = {};  // in place of the lesson's own
    // What others have computed already: pass the same to several lessons, played one after the other.
    std::shared_ptr<Benches> benches = {};
};

inline constexpr int rounds = 3;

class Play {
  public:
    Play(const Lesson& lesson, const Beliefs& beliefs, PlayOptions options = {});
    bool over() const { return over_; }
    const Turn& turn() const { return turn_; }
    void answer(const std::string& said);
    const Outcome& outcome() const { return outcome_; }
    // The questions of an exercise, as this seed has them; for who checks a lesson or prints it.
    std::vector<Asked> exercise(std::size_t n) const;
    std::vector<Asked> predictions() const;
    Answers& answers() { return answers_; }
    Benches& benches() { return *benches_; }

  private:
    enum class Kind { say, look, test, value, reason, observe, explain, reveal, mark, verdict, end };
    struct Beat {
        Kind kind;
        std::size_t question = 0, exercise = 0;
        std::string say = {};
        Look look = {};
    };
    void next();
    void carry_out(const Beat& beat);
    void caution(const State& state, const Look& look);
    void say(std::string line) { turn_.lines.push_back(std::move(line)); }
    void introduce(const Asked& asked);
    void choose(const Asked& asked, const char* question);
    std::string chosen(const std::string& said) const;
    void observe(const Asked& asked);
    void reveal(const Asked& asked, const Committed& mine);
    void mark(const Asked& asked, Committed& mine);

    const Lesson& lesson_;
    const Beliefs& beliefs_;
    PlayOptions options_;
    std::shared_ptr<Benches> benches_;
    Answers answers_;
    State base_;
    std::vector<Asked> questions_;
    std::vector<Committed> mine_;
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
