// Suspecting: the readings of the notebook weighed beside the live bench, in a thread of its own
// (diagnose/suspects.hpp). A new question stops the one before it. It knows what was read and what is written of the
// site, never what is planted.
#pragma once

#include <memory>
#include <string>

#include "diagnose/suspects.hpp"
#include "model/background.hpp"

namespace sunshaft::view {

// What is known of the newest question.
struct Suspicion : Asked {
    diagnose::Case of;
    // Null: not yet. Of the question before it while this one is open; its case is `answered`.
    std::shared_ptr<const diagnose::Answer> answer;
    std::shared_ptr<const diagnose::Case> answered;
    bool with_tests = false;  // the answer also says what to do next
    // When it can be tested, where the case tells its hour; there before any reading is.
    std::optional<diagnose::Today> today;
};

class Suspecting {
  public:
    // Begins, unless it is the question that was asked last. Without any reading it forgets all but the hours. Never
    // waits.
    void ask(const diagnose::Case& c);
    void wait() { background_.wait(); }
    std::shared_ptr<const Suspicion> now() const { return background_.now(); }

  private:
    std::string asked_;  // as its file would be
    Background<Suspicion> background_;
};

}  // namespace sunshaft::view
