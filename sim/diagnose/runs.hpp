// A site brought into the state in which it is looked at, the short way: beside a neighbour that runs, from what the
// averages of a day foretell, else from a start. Only for sights.cpp.
#pragma once

#include <array>
#include <map>
#include <memory>
#include <mutex>
#include <optional>

#include "diagnose/sights.hpp"
#include "plant/steady.hpp"

namespace sunshaft::diagnose {

// A bench in a state, and how much of it is to be looked at, s.
struct Run {
    bench::Bench bench;
    double window;
    bool hunts = false;  // its tracker goes to and fro: figures are what they are at one moment
    bool rests = true;   // nothing moves any more, or all comes again and again; else it creeps
    double cycle = 0.0;  // s; all comes again after that: a start in a sun too weak for it
};

class Runs {
  public:
    explicit Runs(const Scenario& scenario) : scenario_(&scenario) {}
    // As it stands: running on, hunting, waiting, or at one place of a cycle that comes again and again.
    Run running(const Change& change) const;
    // After acts. running: the same change as it stands; asked for where State::after_s says so.
    Run after(const Change& change, const State& state, const Run* running) const;

  private:
    struct Neighbour {
        bench::Bench bench;
        plant::Periodic periodic;  // may be none: a tracker goes to and fro
    };
    const Neighbour* neighbour(const std::vector<site::Act>& acts = {}) const;
    static bool stays(const Neighbour& near, bench::Bench& trial, bool full, double target_V, double& window);
    static bool as_neighbour(const Neighbour& near, bench::Bench& b, double& window);
    static bool foretold(const Neighbour& near, const Change& change, bench::Bench& b, double& window);
    const Run* with_open_line(const Change& change, const bench::Bench& b) const;

    const Scenario* scenario_;
    // Worked out once, whoever asks first.
    struct Met {
        std::once_flag once;
        std::unique_ptr<const Neighbour> near;
    };
    mutable std::mutex lock_;
    mutable std::map<std::string, Met> met_;  // by the acts done before it started
    mutable std::array<std::once_flag, 3> opened_;
    mutable std::array<std::unique_ptr<const Run>, 3> open_;
};

}  // namespace sunshaft::diagnose
