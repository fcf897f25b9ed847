// Days: the day of the strip worked out beside the live bench, in a thread of its own. A new question stops the one
// before it, whose answer stands until the new one is there.
#pragma once

#include <condition_variable>
#include <memory>
#include <mutex>
#include <string>
#include <thread>

#include "model/day_view.hpp"

namespace sunshaft::view {

class Days {
  public:
    Days() = default;
    ~Days();
    Days(const Days&) = delete;
    Days& operator=(const Days&) = delete;
    // Begins, unless that is what was asked last. Never waits.
    void ask(DayQuestion question);
    void wait();                                 // until nothing is open
    std::shared_ptr<const DayView> now() const;  // never null

  private:
    void loop();
    void answer(const DayQuestion& q, int number);

    mutable std::mutex mutex_;
    std::condition_variable wake_, done_;
    std::shared_ptr<const DayView> newest_ = std::make_shared<DayView>();
    std::shared_ptr<const std::vector<YearDay>> year_;  // of year_key_
    std::string asked_, year_key_;
    DayQuestion question_;
    int number_ = 0;  // of the question
    bool quit_ = false;
    std::thread thread_;
};

}  // namespace sunshaft::view
