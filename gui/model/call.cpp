#include "model/call.hpp"

#include <exception>

#include "diagnose/sights.hpp"

namespace sunshaft::view {

Call::~Call() {
    {
        const std::lock_guard hold(mutex_);
        stop_ = true;
    }
    wait();
}

void Call::wait() {
    if (thread_.joinable()) thread_.join();
}

std::shared_ptr<const Call::State> Call::now() const {
    const std::lock_guard hold(mutex_);
    return newest_;
}

void Call::publish(const std::function<void(State&)>& change) {
    const std::lock_guard hold(mutex_);
    auto next = std::make_shared<State>(*newest_);
    change(*next);
    newest_ = std::move(next);
}

void Call::begin(const std::function<void()>& work) {
    wait();
    publish([](State& s) { s.working = true, s.progress = 0.0, s.trouble.clear(); });
    thread_ = std::thread([this, work] {
        try {
            work();
        } catch (const diagnose::Stopped&) {
        } catch (const std::exception& e) {
            publish([&](State& s) { s.trouble = e.what(); });
        }
        publish([](State& s) { s.working = false; });
    });
}

void Call::bring(callout::Callout c) {
    publish([&](State& s) { s.what = std::make_shared<const callout::Callout>(std::move(c)); });
}

void Call::draw(const Scenario& scenario, const callout::Wish& wish) {
    begin([this, scenario, wish] {
        bring(callout::draw(scenario, diagnose::load_priors(diagnose::shipped_priors()), wish, [this](double f) {
            publish([&](State& s) { s.progress = f; });
            const std::lock_guard hold(mutex_);
            return !stop_;
        }));
    });
}

void Call::judge(const callout::Conducted& conducted) {
    publish([&](State& s) { s.named = conducted.named; });
    begin([this, conducted] {
        const auto account = std::make_shared<const callout::Account>(
            callout::judge(*now()->what, conducted, diagnose::load_priors(diagnose::shipped_priors()),
                           diagnose::cache_folder(), [this](double f) {
                               publish([&](State& s) { s.progress = f; });
                               const std::lock_guard hold(mutex_);
                               return !stop_;
                           }));
        publish([&](State& s) { s.account = account; });
    });
}

}  // namespace sunshaft::view
