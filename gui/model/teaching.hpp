// A lesson in the window: teach::Play stepwise, in a thread of its own, because each turn may have to run a site first.
#pragma once

#include <functional>
#include <memory>
#include <mutex>
#include <string>
#include <thread>

#include "teach/play.hpp"

namespace sunshaft::view {

class Teaching {
  public:
    struct State {
        bool working = false;  // the next turn is worked out
        std::string trouble;   // one line
        std::shared_ptr<const teach::Lesson> lesson;
        std::size_t turns = 0;  // rises with each; 0: none yet
        teach::Turn turn;
        bool over = false;
        std::size_t at = 0, of = 0;  // step or exercise, and how many
        teach::Outcome outcome;      // when it is over
        std::uint64_t seed = 1;
        bool of_class = false, in_pair = false;
        bool partial = false;           // begun after its first step
        std::vector<std::string> said;  // every answer: with the seed they make the same lesson again
    };
    // Throws site::BadInput where there is no such lesson.
    Teaching(const std::string& name_or_file, teach::PlayOptions options);
    ~Teaching();
    Teaching(const Teaching&) = delete;
    Teaching& operator=(const Teaching&) = delete;

    void answer(const std::string& said);  // nothing while it works
    void wait();
    std::shared_ptr<const State> now() const;

  private:
    void publish(const std::function<void(State&)>& change);
    void begin(const std::function<void()>& work);

    std::shared_ptr<const teach::Lesson> lesson_;
    teach::Beliefs beliefs_;
    std::unique_ptr<teach::Play> play_;  // the thread's
    mutable std::mutex mutex_;
    std::shared_ptr<const State> newest_;
    std::thread thread_;
};

}  // namespace sunshaft::view
