// A call-out on the bench: drawn or brought sealed, named by whoever measured, judged in a thread of its own.
#pragma once

#include <memory>
#include <mutex>
#include <string>
#include <thread>

#include "callout/account.hpp"

namespace sunshaft::view {

class Call {
  public:
    struct State {
        bool working = false;                          // drawing, or judging
        double progress = 0.0;                         // 0 .. 1
        std::string trouble;                           // one line
        std::shared_ptr<const callout::Callout> what;  // null: not drawn yet
        callout::Named named;
        std::shared_ptr<const callout::Account> account;  // null: nobody has said yet what it is
    };
    Call() = default;
    ~Call();
    Call(const Call&) = delete;
    Call& operator=(const Call&) = delete;

    void bring(callout::Callout c);  // sealed by somebody else
    void draw(const Scenario& scenario, const callout::Wish& wish);
    void judge(const callout::Conducted& conducted);
    void wait();
    std::shared_ptr<const State> now() const;

  private:
    void publish(const std::function<void(State&)>& change);
    void begin(const std::function<void()>& work);

    mutable std::mutex mutex_;
    std::shared_ptr<const State> newest_ = std::make_shared<State>();
    bool stop_ = false;  // with mutex_
    std::thread thread_;
};

}  // namespace sunshaft::view
