// A site brought into the state in which it is looked at, the short way: beside a neighbour that runs, from what the
// averages of a day foretell, else from a start. Only for sights.cpp.
#pragma once

#include <array>
#include <cmath>
#include <map>
#include <memory>
#include <mutex>
#include <optional>

#include "diagnose/sights.hpp"
#include "plant/steady.hpp"

namespace sunshaft::diagnose {

// What of a run as it stands does not follow from its change: enough to take it up again.
struct Standing {
    plant::State state;
    double window = 0.0;  // s of it that are looked at
    bool rests = true;    // nothing moves any more, or all comes again and again; else it creeps
    double cycle = 0.0;   // s; all comes again after that: a start in a sun too weak for it
    // States some seconds on, of one whose figures are not the same at every moment: looked at as well.
    std::vector<plant::State> later = {};
    // A motor that takes too much runs until its drive stops it, waits, and is started again: the site while it waits.
    // None: it is not stopped so.
    std::optional<plant::State> waits = {};
    bool trips = false;  // it waits longer than it runs, or its trips are counted until it locks itself out
};

// A bench in a state, with what else is to be looked at of it.
struct Run {
    bench::Bench bench;
    double window = 0.0, cycle = 0.0;
    bool trips = false;
    std::vector<plant::State> later = {};
    std::optional<bench::Bench> waits = {};
};

// A site being brought to where it stands.
struct Brought;

class Runs {
  public:
    explicit Runs(const Scenario& scenario) : scenario_(&scenario) {}
    bench::Bench at_rest(const Change& change) const;  // as all begins
    // As it stands: running on, hunting, waiting, or at one place of a cycle that comes again and again.
    Standing standing(const Change& change, const bench::Bench& at_rest) const;
    static Run taken_up(const bench::Bench& at_rest, const Standing& standing);
    // After acts. running: the same change as it stands; asked for where from_running() says so.
    Run after(const Change& change, const State& state, const Run* running) const;
    static bool from_running(const State& state) {
        return state.running() || (std::isfinite(state.after_s) && !state.restarts());
    }

  private:
    struct Neighbour {
        bench::Bench bench;
        plant::Periodic periodic;  // may be none: a tracker goes to and fro
    };
    const Neighbour* neighbour(const std::vector<site::Act>& acts = {}) const;
    static bool stays(const Neighbour& near, bench::Bench& trial, bool full, double target_V, double& window);
    static bool as_neighbour(const Neighbour& near, bench::Bench& b, double& window);
    static bool foretold(const Neighbour& near, const Change& change, bench::Bench& b, double& window);
    struct Stood {
        std::once_flag once;
        site::SourceCurve source;
        std::unique_ptr<const Standing> standing;  // none: it cannot be
    };
    const Stood& stood_once(const Change& change) const;
    const Standing* with_open_line(const bench::Bench& b) const;
    const Standing* with_dead_string(const site::Fault& fault, const bench::Bench& b) const;
    bool beside_neighbour(Brought& r) const;
    Brought brought(const Change& change, const bench::Bench& at_rest, double level) const;
    static void go_on(const Neighbour* near, Brought& r);
    Standing stood(const Change& change, const bench::Bench& at_rest) const;

    const Scenario* scenario_;
    // Worked out once, whoever asks first.
    struct Met {
        std::once_flag once;
        std::unique_ptr<const Neighbour> near;
    };
    mutable std::mutex lock_;
    mutable std::map<std::string, Met> met_;      // by the acts done before it started
    mutable std::map<std::string, Stood> stood_;  // by what is wrong
};

}  // namespace sunshaft::diagnose
