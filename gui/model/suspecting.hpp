// Suspecting: the readings of the notebook weighed beside the live bench, in a thread of its own
// (diagnose/suspects.hpp). A new question stops the one before it. It knows what was read and what is written of the
// site, never what is planted.
#pragma once

#include <condition_variable>
#include <memory>
#include <mutex>
#include <string>
#include <thread>

#include "diagnose/suspects.hpp"

namespace sunshaft::view {

// What is known of the newest question.
struct Suspicion {
    diagnose::Case of;
    // Null: not yet. Of the question before it while this one is open; its case is `answered`.
    std::shared_ptr<const diagnose::Answer> answer;
    std::shared_ptr<const diagnose::Case> answered;
    bool with_tests = false;  // the answer also says what to do next
    bool open = false;        // still worked at
    double progress = 0.0;    // 0 .. 1
    std::string trouble;      // why there is no answer, one line
};

class Suspecting {
  public:
    Suspecting() = default;
    ~Suspecting();
    Suspecting(const Suspecting&) = delete;
    Suspecting& operator=(const Suspecting&) = delete;
    // Begins, unless it is the question that was asked last; without any reading: forgets. Never waits.
    void ask(const diagnose::Case& c);
    void wait();  // until nothing is open
    std::shared_ptr<const Suspicion> now() const;

  private:
    void loop();
    void answer(const diagnose::Case& c, int number);
    // False: that question is not asked any more.
    template <class Change>
    bool publish(int number, Change change);

    mutable std::mutex mutex_;
    std::condition_variable wake_, done_;
    std::shared_ptr<const Suspicion> newest_ = std::make_shared<Suspicion>();
    std::string asked_;  // as its file would be
    int number_ = 0;     // of the question
    bool quit_ = false;
    std::thread thread_;
};

}  // namespace sunshaft::view
