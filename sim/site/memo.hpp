// What was worked out before for the same question: an edit recompiles what it touched, and going back costs nothing.
// The answer hangs on the question alone, so neither the number of threads nor what was kept shows in it. Of several
// threads with the same new question each works it out.
#pragma once

#include <algorithm>
#include <list>
#include <memory>
#include <mutex>

namespace sunshaft::site {

// Keeps the last `most` answers. Question: a value with ==, whole: everything the answer is made of.
template <class Question, class Answer>
class Memo {
  public:
    explicit Memo(std::size_t most) : most_(most) {}
    template <class Make>
    std::shared_ptr<const Answer> operator()(const Question& question, Make&& make) {
        {
            const std::lock_guard hold(lock_);
            const auto known =
                std::find_if(kept_.begin(), kept_.end(), [&](const Entry& e) { return e.question == question; });
            if (known != kept_.end()) {
                kept_.splice(kept_.begin(), kept_, known);
                return kept_.front().answer;
            }
        }
        auto answer = std::make_shared<const Answer>(make());
        const std::lock_guard hold(lock_);
        kept_.push_front({question, answer});
        if (kept_.size() > most_) kept_.pop_back();
        return answer;
    }

  private:
    struct Entry {
        Question question;
        std::shared_ptr<const Answer> answer;
    };
    std::size_t most_;
    std::list<Entry> kept_;  // the last asked first
    std::mutex lock_;
};

}  // namespace sunshaft::site
