#include "model/teaching.hpp"

#include <exception>

namespace sunshaft::view {

Teaching::Teaching(const std::string& name_or_file, teach::PlayOptions options)
    : lesson_(std::make_shared<const teach::Lesson>(teach::load_lesson(name_or_file))),
      beliefs_(teach::load_beliefs()) {
    State first;
    first.lesson = lesson_;
    first.seed = options.seed;
    first.of_class = options.of_class;
    first.in_pair = options.in_pair;
    first.partial = options.from_step > 0;
    newest_ = std::make_shared<const State>(std::move(first));
    options.stepwise = true;
    begin([this, options] { play_ = std::make_unique<teach::Play>(*lesson_, beliefs_, options); });
}

Teaching::~Teaching() { wait(); }

void Teaching::wait() {
    if (thread_.joinable()) thread_.join();
}

std::shared_ptr<const Teaching::State> Teaching::now() const {
    const std::lock_guard hold(mutex_);
    return newest_;
}

void Teaching::publish(const std::function<void(State&)>& change) {
    const std::lock_guard hold(mutex_);
    auto next = std::make_shared<State>(*newest_);
    change(*next);
    newest_ = std::move(next);
}

void Teaching::begin(const std::function<void()>& work) {
    wait();
    publish([](State& s) { s.working = true; });
    thread_ = std::thread([this, work] {
        std::string trouble;
        try {
            work();
        } catch (const std::exception& e) {
            trouble = e.what();
        }
        publish([&](State& s) {
            s.working = false;
            s.trouble = trouble;
            if (!trouble.empty()) return;
            ++s.turns;
            s.turn = play_->turn();
            s.turn.question = nullptr;  // the thread's
            s.over = play_->over();
            if (s.over) s.outcome = play_->outcome();
            std::tie(s.at, s.of) = play_->progress();
        });
    });
}

void Teaching::answer(const std::string& said) {
    const auto s = now();
    if (s->working || s->over || !s->trouble.empty()) return;
    publish([&](State& now) { now.said.push_back(said); });
    begin([this, said] { play_->answer(said); });
}

}  // namespace sunshaft::view
