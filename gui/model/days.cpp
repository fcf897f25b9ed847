#include "model/days.hpp"
#include "text/language.hpp"

#include <utility>

namespace sunshaft::view {

Days::~Days() {
    {
        const std::lock_guard hold(mutex_);
        quit_ = true;
        ++number_;
    }
    wake_.notify_all();
    if (thread_.joinable()) thread_.join();
}

std::shared_ptr<const DayView> Days::now() const {
    const std::lock_guard hold(mutex_);
    return newest_;
}

void Days::ask(DayQuestion q) {
    const std::string key = key_of(q, false) + (q.year ? text::tr("and the year") : "");
    // A day of a year that is known is asked for without it as well.
    if (key == asked_ || (!q.year && key + "and the year" == asked_)) return;
    {
        const std::lock_guard hold(mutex_);
        asked_ = key;
        question_ = std::move(q);
        ++number_;
        auto next = std::make_shared<DayView>(*newest_);
        next->open = true;
        next->progress = 0.0;
        newest_ = std::move(next);
        if (!thread_.joinable()) thread_ = std::thread([this] { loop(); });
    }
    wake_.notify_all();
}

void Days::wait() {
    std::unique_lock hold(mutex_);
    done_.wait(hold, [this] { return !newest_->open; });
}

void Days::loop() {
    int answered = 0;
    for (;;) {
        DayQuestion q;
        {
            std::unique_lock hold(mutex_);
            wake_.wait(hold, [&] { return quit_ || number_ != answered; });
            if (quit_) return;
            answered = number_;
            q = question_;
        }
        answer(q, answered);
    }
}

void Days::answer(const DayQuestion& q, int number) {
    const std::string year_key = key_of(q, true);
    std::shared_ptr<const std::vector<YearDay>> year;
    {
        const std::lock_guard hold(mutex_);
        if (year_key == year_key_) year = year_;
    }
    auto found = day_view(q, year, [&](double share) {
        const std::lock_guard hold(mutex_);
        if (number != number_) return false;
        auto next = std::make_shared<DayView>(*newest_);
        next->progress = share;
        newest_ = std::move(next);
        return true;
    });
    const std::lock_guard hold(mutex_);
    if (!found || number != number_) return;
    if (found->year) year_ = found->year, year_key_ = year_key;
    newest_ = std::make_shared<const DayView>(std::move(*found));
    done_.notify_all();
}

}  // namespace sunshaft::view
