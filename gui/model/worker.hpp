// Worker: the bench run in its own thread against the wall clock, or by hand without one.
//
// One mutex, held only to swap a pointer or to copy the wishes. The window never waits for the physics.
#pragma once

#include <chrono>
#include <condition_variable>
#include <memory>
#include <mutex>
#include <optional>
#include <string>
#include <thread>

#include "model/setup.hpp"
#include "model/snapshot.hpp"

namespace sunshaft::view {

class Engine;

class Worker {
  public:
    // Compiles the site and publishes a first snapshot before it returns; start: as Engine has it. Throws
    // site::BadInput.
    Worker(const Scenario& scenario, const Setup& setup, bool threaded, const bench::Bench* start = nullptr);
    ~Worker();

    std::shared_ptr<const Snapshot> snapshot() const;
    void want(const Setup& setup);
    void step();
    // To this time as fast as it goes; waits until it is reached, at most so many seconds of wall clock.
    void run_ahead(double until_t, double patience);
    // Somebody looks at the spectra: with a thread they are worked out only while this is said again and again.
    void want_spectra();
    // Without a thread: takes the wishes, simulates, publishes.
    void work(double seconds);

    // An edit the bench would not take: its words and what stands instead. At most once each.
    struct Refusal {
        std::string text;
        bench::Edits standing;
    };
    std::optional<Refusal> refusal();

  private:
    class Pace;
    void loop();
    bool carry_site(Pace& pace);
    bool run_on(Pace& pace, double until_t, bool running);
    void carry_twin(Pace& pace);
    bool take();  // wishes, if there are new ones
    void publish();

    const bool threaded_;
    std::unique_ptr<Engine> engine_;
    mutable std::mutex mutex_;
    std::condition_variable wake_;
    Setup wanted_;
    bool changed_ = false, stop_ = false;
    int steps_ = 0;
    double ahead_t_ = 0.0;  // until then as fast as it goes
    std::condition_variable there_;
    bool look_ = false;  // spectra are wanted after a time when they were not
    std::chrono::steady_clock::time_point looked_{};
    std::optional<Refusal> refusal_;
    std::shared_ptr<const Snapshot> newest_;
    double achieved_ = 1.0;
    bool keeps_up_ = true;
    std::thread thread_;
};

}  // namespace sunshaft::view
