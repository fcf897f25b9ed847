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

Worker::Worker(const Scenario& scenario, const Setup& setup, bool threaded, const bench::Bench* start)
    : threaded_(threaded), engine_(std::make_unique<Engine>(scenario, setup, start)), wanted_(engine_->setup()) {
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

// How fast things go: what is due by the wall clock, what a chunk may be, what rate was achieved.
class Worker::Pace {
  public:
    explicit Pace(double t) { restart(t); }
    void restart(double t) {
        anchor_ = Clock::now();
        anchor_t_ = t;
        marks_.clear();
    }
    // Simulated seconds that are due; far behind, half of it is given up.
    double due(double t, double rate) {
        const double due = anchor_t_ + seconds_since(anchor_) * rate - t;
        if (due <= most_behind * rate) return due;
        anchor_ = Clock::now();
        anchor_t_ = t - 0.5 * most_behind * rate;
        return 0.5 * most_behind * rate;
    }
    // The achieved rate over the last half second, at time t.
    std::optional<double> achieved(double t) {
        const auto now = Clock::now();
        marks_.emplace_back(now, t);
        while (marks_.size() > 2 && between(marks_.front().first, now) > 0.5) marks_.pop_front();
        if (marks_.size() < 2) return {};
        return (marks_.back().second - marks_.front().second) / between(marks_.front().first, marks_.back().first);
    }

    // Carries something forward by a chunk that takes about chunk_wall, and learns from how long it took.
    struct Speed {
        double simulated_per_s = 1.0;
        double chunk() const { return chunk_wall * simulated_per_s; }
        template <class Go>
        double go(double seconds, Go forward) {
            const auto before = Clock::now();
            forward(seconds);
            const double took = std::max(1e-7, seconds_since(before));
            simulated_per_s += 0.2 * (seconds / took - simulated_per_s);
            return took;
        }
    };
    Speed site, twin;
    double twin_debt = 0.0;  // s of computing it has a right to

  private:
    static double between(Clock::time_point from, Clock::time_point to) {
        return std::chrono::duration<double>(to - from).count();
    }
    Clock::time_point anchor_;  // wall clock and simulated time run together from here
    double anchor_t_ = 0.0;
    std::deque<std::pair<Clock::time_point, double>> marks_;
};

// The site as far as it is due; true: more is due than one chunk.
bool Worker::carry_site(Pace& pace) {
    const double due = pace.due(engine_->time(), engine_->setup().rate);
    if (due <= 0.0) return false;
    const double chunk = std::min(due, std::max(pace.site.chunk(), 1e-6));
    const double took = pace.site.go(chunk, [this](double seconds) { engine_->advance(seconds); });
    pace.twin_debt += twin_share * took;
    return chunk < due;
}

// Ahead of the clock to a time somebody waits for. Always true: there is more to do.
bool Worker::run_on(Pace& pace, double until_t, bool running) {
    if (running && engine_->time() < until_t - 1e-9) {
        engine_->advance(std::min(until_t - engine_->time(), 0.02));
        pace.restart(engine_->time());
        return true;
    }
    publish();
    const std::lock_guard lock(mutex_);
    ahead_t_ = 0.0;
    there_.notify_all();
    return true;
}

void Worker::carry_twin(Pace& pace) {
    const double chunk = std::clamp(pace.twin.chunk(), 1e-4, 0.05);
    const double took = pace.twin.go(chunk, [this](double seconds) { engine_->advance_twin(seconds); });
    pace.twin_debt = std::max(0.0, pace.twin_debt - took);
}

void Worker::loop() {
    Pace pace(engine_->time());
    auto published = Clock::now();
    bool unpublished = true;
    for (;;) {
        double ahead_t = 0.0;
        {
            const std::lock_guard lock(mutex_);
            if (stop_) return;
            ahead_t = ahead_t_;
        }
        const double rate_before = engine_->setup().rate, t_before = engine_->time();
        if (take()) {
            publish();
            if (engine_->setup().rate != rate_before || engine_->time() != t_before) pace.restart(engine_->time());
        }
        const bool running = engine_->setup().running && !engine_->failed();
        const bool twin = engine_->twin_busy();
        bool behind = false;
        unpublished = unpublished || running || twin;
        if (ahead_t > 0.0) behind = run_on(pace, ahead_t, running);
        else if (running) behind = carry_site(pace);
        else pace.restart(engine_->time());
        if (twin && (!behind || pace.twin_debt > chunk_wall)) carry_twin(pace);
        const bool due_to_publish = seconds_since(published) >= publish_every;
        if (running && due_to_publish)
            if (const auto rate = pace.achieved(engine_->time())) {
                achieved_ = *rate;
                keeps_up_ = *rate > 0.95 * engine_->setup().rate;
            }
        if (unpublished && due_to_publish) {
            publish();
            published = Clock::now();
            unpublished = false;
        }
        if (behind || twin) continue;
        std::unique_lock lock(mutex_);
        const auto woken = [this] { return stop_ || changed_ || look_ || steps_ > 0; };
        if (running) wake_.wait_for(lock, std::chrono::milliseconds(4), woken);
        else if (unpublished) wake_.wait_for(lock, std::chrono::milliseconds(20), woken);
        else wake_.wait(lock, woken);
    }
}

}  // namespace sunshaft::view
