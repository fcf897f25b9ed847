// Background: one question at a time worked at in a thread of its own; what is known of it can be had at any time.
//
//     struct State : Asked { ... };
//     Background<State> b;
//     b.ask([](State& s) { ... as it begins ... }, [=](auto& job) { ... job.publish([&](State& s) { ... }); });
//     b.now()->progress
//
// A new question stops the one before: its job.publish() and job.told() say false from then on, and what it throws is
// not heard. ask() never waits.
#pragma once

#include <algorithm>
#include <condition_variable>
#include <exception>
#include <functional>
#include <memory>
#include <mutex>
#include <string>
#include <thread>
#include <utility>

#include "diagnose/sights.hpp"

namespace sunshaft::view {

struct Asked {
    bool open = false;      // still worked at
    double progress = 0.0;  // 0 .. 1
    std::string trouble;    // why there is no answer, one line
};

template <class State>
class Background {
  public:
    class Job {
      public:
        // False: that question is not asked any more.
        template <class Change>
        bool publish(const Change& change) const {
            return of_.publish(number_, change);
        }
        bool told(double progress) const {
            return publish([&](State& s) { s.progress = std::max(s.progress, progress); });
        }

      private:
        friend class Background;
        Job(Background& of, int number) : of_(of), number_(number) {}
        Background& of_;
        int number_;
    };
    using Work = std::function<void(const Job&)>;

    Background() = default;
    ~Background() {
        {
            const std::lock_guard hold(mutex_);
            quit_ = true;
            ++number_;
        }
        wake_.notify_all();
        if (thread_.joinable()) thread_.join();
    }
    Background(const Background&) = delete;
    Background& operator=(const Background&) = delete;

    std::shared_ptr<const State> now() const {
        const std::lock_guard hold(mutex_);
        return newest_;
    }
    // Without work the change is all there is.
    template <class Change>
    void ask(const Change& change, Work work = {}) {
        {
            const std::lock_guard hold(mutex_);
            ++number_;
            auto next = std::make_shared<State>(*newest_);
            next->open = static_cast<bool>(work);
            next->progress = 0.0;
            next->trouble.clear();
            change(*next);
            newest_ = std::move(next);
            work_ = std::move(work);
            if (work_ && !thread_.joinable()) thread_ = std::thread([this] { loop(); });
            if (!newest_->open) done_.notify_all();
        }
        wake_.notify_all();
    }
    void wait() {  // until nothing is open
        std::unique_lock hold(mutex_);
        done_.wait(hold, [this] { return !newest_->open; });
    }

  private:
    template <class Change>
    bool publish(int number, const Change& change) {
        const std::lock_guard hold(mutex_);
        if (number != number_) return false;
        auto next = std::make_shared<State>(*newest_);
        change(*next);
        newest_ = std::move(next);
        if (!newest_->open) done_.notify_all();
        return true;
    }

    void loop() {
        for (;;) {
            Work work;
            int number = 0;
            {
                std::unique_lock hold(mutex_);
                wake_.wait(hold, [&] { return quit_ || work_; });
                if (quit_) return;
                work = std::exchange(work_, {});
                number = number_;
            }
            std::string trouble;
            try {
                work(Job(*this, number));
            } catch (const diagnose::Stopped&) {
            } catch (const std::exception& e) {
                trouble = e.what();
            }
            publish(number, [&](State& s) {
                s.open = false;
                if (!trouble.empty()) s.trouble = trouble;
            });
        }
    }

    mutable std::mutex mutex_;
    std::condition_variable wake_, done_;
    std::shared_ptr<const State> newest_ = std::make_shared<State>();
    Work work_;       // not begun yet; all of this with mutex_
    int number_ = 0;  // of the question
    bool quit_ = false;
    std::thread thread_;
};

}  // namespace sunshaft::view
