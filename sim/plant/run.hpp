// Plant: a compiled site that can be run. The one door to the solver for everybody above.
#pragma once

#include <functional>
#include <memory>
#include <variant>
#include <vector>

#include "plant/options.hpp"
#include "plant/probe.hpp"

namespace sunshaft::plant {

// A look at one instant: what lamps, sheets and gauges show. SI.
struct Instant {
    double t = 0;
    Nodes nodes;
    double speed = 0, torque = 0, load = 0, flow = 0, head = 0;
    double electrical_Hz = 0, slip = 0;  // of the supply to the motor; slip NaN where the rotor leads
    motor::Vec2 flux{}, current{};       // rotor flux (induction) or magnet flux, two-axis
    Energies power{};                    // W
    drive::ControlState control;
    Slow slow;
    double water_level = 0, static_head = 0;  // m below ground; m to be lifted, less what the main lacks
    drive::Command command;
};

// Running averages over one window, for settling and for quick looks.
struct Means {
    double seconds = 0;
    motor::Vec3 line_rms{}, line_mean{}, line_rectified{};                         // u-v, v-w, w-u at the drive, V
    motor::Vec3 current_rms{}, current_mean{};                                     // A
    double link = 0, link_min = 0, link_max = 0, speed = 0, flow = 0, torque = 0;  // means, SI
};
class Plant {
  public:
    explicit Plant(std::shared_ptr<const site::Site> site);  // as accurate as its key solver.tolerance says
    Plant(std::shared_ptr<const site::Site> site, const Options& options);
    ~Plant();
    Plant(const Plant&);  // cheap: what the site fixes is shared
    Plant(Plant&&) noexcept;

    const site::Site& site() const { return *site_; }
    // Link charged, motor at rest (or at its held speed), water at rest level.
    State start() const;
    // Takes over a state that ran on another site (after a fault or an act).
    void adopt(State& state);
    // Runs to a time; the recorder or statistics see every piece. Throws SolverError.
    void advance(State& state, double until);
    void advance(State& state, double until, Recorder& recorder);
    // Runs to the next switching instant or event, for single-stepping; at most `longest` seconds.
    void step(State& state, double longest, Recorder& recorder);

    // Runs on for some seconds and averages.
    Means average(State& state, double seconds);
    // The same over whole turns of the field (a self-commutated motor's turn is where the rotor says it is), so that
    // successive windows can be compared to the last digit; stands the motor, over 0.1 s.
    Means average_turns(State& state, double at_least_seconds);
    void advance_turns(State& state, double at_least_seconds, Recorder& recorder);
    Instant look(const State& state) const;
    // Signals at this instant.
    std::vector<double> read(const State& state, const std::vector<Signal>& signals) const;
    double stored(const State& state) const;
    // Energy that came in less what went out, is stored or lost, over the most that any of these turned over since
    // open_account() (a millijoule at least).
    double energy_gap(const State& state) const;
    void open_account(State& state) const;

  private:
    struct Impl;
    std::shared_ptr<const site::Site> site_;
    std::unique_ptr<Impl> impl_;
};

struct Settled {
    bool settled = false;
    bool discharging = false;  // all but the link, which nothing feeds any more: it bleeds for minutes
    double seconds = 0;        // simulated
    Means last;
};
// Runs until means and rms are, by what three windows let foresee, within 1e-4 of where they will end (of the larger of
// value and reference); at most `longest` simulated seconds, and so many steps as take some seconds. progress(fraction)
// may return false to stop.
Settled settle(Plant& plant, State& state, double longest = 60.0, const std::function<bool(double)>& progress = {});

// Fundamental frequency of the motor's supply at this state, Hz; 0 when it stands.
double fundamental(const Plant& plant, const State& state);

}  // namespace sunshaft::plant
