// What a site would show if something were wrong with it: the one place where diagnosis asks the physics. Whatever
// engine answers stands behind Sights::see(); everything else in this room is arithmetic on its answers.
//
// Answers are kept by content (site, change, state, look, and the program that computed them), in memory and in a file
// of bounded size, so that the next question about the same site is cheap. They do not depend on the number of threads,
// nor on what was kept.
#pragma once

#include <cstdint>
#include <functional>
#include <limits>
#include <memory>
#include <string>
#include <vector>

#include "bench/bench.hpp"

namespace sunshaft::diagnose {

// How the site differs from what is written of it.
struct Change {
    std::vector<std::string> set = {};  // "array.modules_in_series=9"
    std::vector<site::Fault> faults = {};
};

// The state of the site in which something is looked at.
struct State {
    std::vector<site::Act> acts = {};  // by their kinds and places alone
    // Since the acts, which interrupted a run of some seconds, or since a restart; NaN: as it settles or comes to rest.
    double after_s = std::numeric_limits<double>::quiet_NaN();
    bool running() const { return acts.empty() && after_s != after_s; }  // as it stands
    bool restarts() const;                                               // then after_s counts from the start
    std::string key() const;
};

struct Look {
    bench::Probes probes = {};
    meter::Mode mode = meter::Mode::dcv;
    std::string gauge = {};  // in place of a meter
    std::string meter = {};  // a shipped meter or a file; empty: the usual one of the mode
    bool zeroed = false;
    std::string key() const;
};

struct Shown {
    enum class Kind : std::uint8_t {
        figure,
        over,    // over range
        nothing  // there is no such place, or this cannot be read there: ohms on a live circuit
    };
    Kind kind = Kind::nothing;
    double value = 0.0;
    double band = 0.0;  // +-, of the meter's data sheet
    double step = 0.0;  // one count
    // What is shown while the drive waits, of a motor that it stops and starts again: whoever comes finds it so or so.
    double waits = std::numeric_limits<double>::quiet_NaN(), waits_band = 0.0, waits_step = 0.0;
};

struct Behaviour {
    drive::Phase phase = drive::Phase::off;
    drive::Cause trip = drive::Cause::none;  // what tripped last
    int trips = 0;
    bool driven = false, turns = false;
    drive::Cause or_trip = drive::Cause::none;  // what may trip it in place of that, so near lies its current
    friend bool operator==(const Behaviour&, const Behaviour&) = default;
};

struct Sight {
    bool possible = true;  // false: such a site cannot be
    Behaviour behaviour;
    std::vector<Shown> shown;  // by look
};

class Sights {
  public:
    // folder: where answers are kept; empty: nowhere but in memory.
    explicit Sights(Scenario scenario, const std::string& folder = "");
    ~Sights();
    Sights(const Sights&) = delete;
    Sights& operator=(const Sights&) = delete;

    struct Ask {
        Change change;
        State state;
        std::vector<Look> looks;
    };
    // progress(fraction) may return false: then Stopped is thrown.
    std::vector<Sight> see(const std::vector<Ask>& asked, const std::function<bool(double)>& progress = {});
    // Puts what is known into the file. A folder that cannot be written is no error.
    void keep() const;

    const Scenario& scenario() const;
    long computed() const;  // sites really run or solved so far

  private:
    struct Kept;
    std::unique_ptr<Kept> kept_;
};
struct Stopped : std::runtime_error {
    Stopped() : std::runtime_error("stopped") {}
};

// $SUNSHAFT_CACHE, else the user's cache folder; empty where there is none.
std::string cache_folder();

}  // namespace sunshaft::diagnose
