#include "model/worker.hpp"

#include <algorithm>
#include <chrono>
#include <deque>

#include "model/engine.hpp"
#include "site/keys.hpp"

namespace sunshaft::view {
namespace {

using Clock = std::chrono::steady_clock;
constexpr double publish_every = 0.04, chunk_wall = 0.006,
                 twin_share = 0.25;   // s, s, of the time when there is none to spare
constexpr double looked_lasts = 1.0;  // s of wall clock
constexpr double most_behind = 0.1;   // s of wall clock; further back is given up

double seconds_since(Clock::time_point start) { return std::chrono::duration<double>(Clock::now() - start).count(); }

}  // namespace

Worker::Worker(const Scenario& scenario, const Setup& setup, bool threaded)
    : threaded_(threaded), engine_(std::make_unique<Engine>(scenario, setup)), wanted_(engine_->setup()) {
    newest_ = engine_->snapshot();
    if (threaded) thread_ = std::thread([this] { loop(); });
}

Worker::~Worker() {
    {
        const std::lock_guard lock(mutex_);
        stop_ = true;
    }
    wake_.notify_all();
    if (thread_.joinable()) thread_.join();
}

std::shared_ptr<const Snapshot> Worker::snapshot() const {
    const std::lock_guard lock(mutex_);
    return newest_;
}

void Worker::want(const Setup& setup) {
    {
        const std::lock_guard lock(mutex_);
        wanted_ = setup;
        changed_ = true;
    }
    wake_.notify_all();
}

void Worker::step() {
    {
        const std::lock_guard lock(mutex_);
        ++steps_;
    }
    wake_.notify_all();
}

void Worker::want_spectra() {
    bool again = false;
    {
        const std::lock_guard lock(mutex_);
        again = seconds_since(looked_) > looked_lasts;
        look_ = look_ || again;
        looked_ = Clock::now();
    }
    if (again) wake_.notify_all();
}

void Worker::run_ahead(double until_t, double patience) {
    if (!threaded_) return work(until_t - engine_->time());
    std::unique_lock lock(mutex_);
    ahead_t_ = until_t;
    wake_.notify_all();
    there_.wait_for(lock, std::chrono::duration<double>(patience), [this] { return ahead_t_ == 0.0; });
}

std::optional<Worker::Refusal> Worker::refusal() {
    const std::lock_guard lock(mutex_);
    return std::exchange(refusal_, std::nullopt);
}

void Worker::publish() {
    std::size_t spectra = static_cast<std::size_t>(-1);
    if (threaded_) {
        const std::lock_guard lock(mutex_);
        if (seconds_since(looked_) > looked_lasts) spectra = 0;
        else if (engine_->setup().running) spectra = 1;  // and the next one with the next snapshot
    }
    auto s = engine_->snapshot(spectra);
    s->achieved_rate = achieved_;
    s->keeps_up = keeps_up_;
    std::shared_ptr<const Snapshot> old = std::move(s);
    const std::lock_guard lock(mutex_);
    newest_.swap(old);
}

bool Worker::take() {
    Setup setup;
    int steps = 0;
    bool changed = false, look = false;
    {
        const std::lock_guard lock(mutex_);
        changed = std::exchange(changed_, false);
        steps = std::exchange(steps_, 0);
        look = std::exchange(look_, false);
        if (changed) setup = wanted_;
    }
    if (changed) {
        try {
            engine_->take(setup);
        } catch (const site::BadInput& e) {
            const std::lock_guard lock(mutex_);
            refusal_ = Refusal{e.what(), engine_->setup().edits};
        }
    }
    for (int n = 0; n < steps; ++n) engine_->step();
    return changed || steps > 0 || look;
}

void Worker::work(double seconds) {
    take();
    const double until = engine_->time() + seconds;
    while (engine_->time() < until - 1e-12 && !engine_->failed()) {
        const double step = std::min(0.02, until - engine_->time());
        engine_->advance(step);
        engine_->advance_twin(step);
    }
    achieved_ = engine_->setup().rate;
    publish();
}

void Worker::loop() {
    auto anchor = Clock::now();  // wall clock and simulated time run together from here
    double anchor_t = engine_->time();
    auto published = Clock::now();
    double speed = 1.0;  // simulated s per s of computing, measured
    double twin_speed = 1.0, twin_debt = 0.0;
    bool unpublished = true;
    std::deque<std::pair<Clock::time_point, double>> marks;  // for the achieved rate
    const auto restart = [&] {
        anchor = Clock::now();
        anchor_t = engine_->time();
        marks.clear();
    };
    for (;;) {
        double ahead_t = 0.0;
        {
            const std::lock_guard lock(mutex_);
            if (stop_) return;
            ahead_t = ahead_t_;
        }
        const double rate_before = engine_->setup().rate;
        if (take()) {
            publish();
            if (engine_->setup().rate != rate_before) restart();
        }
        const bool running = engine_->setup().running && !engine_->failed();
        const bool twin = engine_->twin_busy();
        bool worked = false;
        unpublished = unpublished || running || twin;
        if (ahead_t > 0.0 && running && engine_->time() < ahead_t - 1e-9) {
            engine_->advance(std::min(ahead_t - engine_->time(), 0.02));
            restart();
            worked = true;
        } else if (ahead_t > 0.0) {
            publish();
            const std::lock_guard lock(mutex_);
            ahead_t_ = 0.0;
            there_.notify_all();
            worked = true;
        } else if (running) {
            const double rate = engine_->setup().rate;
            double due = anchor_t + seconds_since(anchor) * rate - engine_->time();
            if (due > most_behind * rate) {
                anchor = Clock::now();
                anchor_t = engine_->time() - 0.5 * most_behind * rate;
                due = 0.5 * most_behind * rate;
            }
            if (due > 0.0) {
                const double chunk = std::min(due, std::max(chunk_wall * speed, 1e-6));
                const auto before = Clock::now();
                engine_->advance(chunk);
                const double took = std::max(1e-7, seconds_since(before));
                speed += 0.2 * (chunk / took - speed);
                twin_debt += twin_share * took;
                worked = chunk < due;
            }
        } else {
            restart();
        }
        if (twin && (!worked || twin_debt > chunk_wall)) {
            const double chunk = std::clamp(chunk_wall * twin_speed, 1e-4, 0.05);
            const auto before = Clock::now();
            engine_->advance_twin(chunk);
            const double took = std::max(1e-7, seconds_since(before));
            twin_speed += 0.2 * (chunk / took - twin_speed);
            twin_debt = std::max(0.0, twin_debt - took);
        }
        const bool due_to_publish = seconds_since(published) >= publish_every;
        if (running && due_to_publish) {
            const auto now = Clock::now();
            marks.emplace_back(now, engine_->time());
            while (marks.size() > 2 && std::chrono::duration<double>(now - marks.front().first).count() > 0.5)
                marks.pop_front();
            if (marks.size() > 1) {
                achieved_ = (marks.back().second - marks.front().second) /
                            std::chrono::duration<double>(marks.back().first - marks.front().first).count();
                keeps_up_ = achieved_ > 0.95 * engine_->setup().rate;
            }
        }
        if (unpublished && due_to_publish) {
            publish();
            published = Clock::now();
            unpublished = false;
        }
        if (worked || twin) continue;
        std::unique_lock lock(mutex_);
        const auto woken = [this] { return stop_ || changed_ || look_ || steps_ > 0; };
        if (running) wake_.wait_for(lock, std::chrono::milliseconds(4), woken);
        else if (unpublished) wake_.wait_for(lock, std::chrono::milliseconds(20), woken);
        else wake_.wait(lock, woken);
    }
}

}  // namespace sunshaft::view
