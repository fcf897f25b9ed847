#include "model/suspecting.hpp"

#include <algorithm>
#include <exception>

namespace sunshaft::view {

Suspecting::~Suspecting() {
    {
        const std::lock_guard hold(mutex_);
        quit_ = true;
        ++number_;
    }
    wake_.notify_all();
    if (thread_.joinable()) thread_.join();
}

std::shared_ptr<const Suspicion> Suspecting::now() const {
    const std::lock_guard hold(mutex_);
    return newest_;
}

void Suspecting::ask(const diagnose::Case& c) {
    const std::string text = c.seen.empty() ? "" : diagnose::to_toml(c);
    if (text == asked_) return;
    {
        const std::lock_guard hold(mutex_);
        asked_ = text;
        ++number_;
        auto next = text.empty() ? std::make_shared<Suspicion>() : std::make_shared<Suspicion>(*newest_);
        next->of = c;
        next->open = !text.empty();
        next->progress = 0.0;
        next->trouble.clear();
        newest_ = std::move(next);
        if (!thread_.joinable()) thread_ = std::thread([this] { loop(); });
    }
    wake_.notify_all();
}

void Suspecting::wait() {
    std::unique_lock hold(mutex_);
    done_.wait(hold, [this] { return !newest_->open; });
}

template <class Change>
bool Suspecting::publish(int number, Change change) {
    const std::lock_guard hold(mutex_);
    if (number != number_) return false;
    auto next = std::make_shared<Suspicion>(*newest_);
    change(*next);
    newest_ = std::move(next);
    if (!newest_->open) done_.notify_all();
    return true;
}

void Suspecting::loop() {
    int answered = 0;
    for (;;) {
        diagnose::Case c;
        {
            std::unique_lock hold(mutex_);
            wake_.wait(hold, [&] { return quit_ || number_ != answered; });
            if (quit_) return;
            answered = number_;
            if (!newest_->open) continue;
            c = newest_->of;
        }
        answer(c, answered);
    }
}

// Who it is, roughly, comes first; then who it is; what to do next takes longest.
void Suspecting::answer(const diagnose::Case& c, int number) {
    try {
        diagnose::Diagnosis diagnosis(c, diagnose::load_priors(diagnose::shipped_priors()), diagnose::cache_folder());
        const auto of = std::make_shared<const diagnose::Case>(c);
        struct Stage {
            double from, to;
            bool rough, tests;
        };
        for (const auto& [from, to, rough, tests] :
             {Stage{0.0, 0.3, true, false}, {0.3, 0.6, false, false}, {0.6, 1.0, false, true}}) {
            const auto told = [&](double done) {
                return publish(number,
                               [&](Suspicion& s) { s.progress = std::max(s.progress, from + done * (to - from)); });
            };
            const auto found = std::make_shared<const diagnose::Answer>(
                rough ? diagnosis.first(told) : diagnosis.answer(told, tests));
            publish(number, [&](Suspicion& s) {
                s.answer = found;
                s.answered = of;
                s.with_tests = tests;
                s.open = !tests;
                s.progress = to;
            });
        }
    } catch (const diagnose::Stopped&) {
    } catch (const std::exception& e) {
        publish(number, [&](Suspicion& s) {
            s.answer = nullptr;
            s.open = false;
            s.trouble = e.what();
        });
    }
}

}  // namespace sunshaft::view
