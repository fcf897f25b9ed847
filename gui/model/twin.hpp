// Twin: the same site under the same weather and acts without its faults, run until it is steady; then it costs
// nothing.
#pragma once

#include <map>
#include <optional>
#include <string>
#include <vector>

#include "bench/bench.hpp"
#include "model/figures.hpp"
#include "model/history.hpp"
#include "model/snapshot.hpp"

namespace sunshaft::view {

class Twin {
  public:
    static constexpr double longest = 20.0;  // simulated s until it is taken as it is

    // `seed`: a state of the healthy site that already ran; none: from rest. Throws site::BadInput.
    Twin(Scenario scenario, const bench::Edits& healthy, const std::optional<plant::State>& seed);
    void edit(const bench::Edits& healthy);
    // Signals wanted and how much of them; what is new is recorded yet.
    void want(const std::vector<std::string>& names, double seconds);

    bool busy() const { return left_ > 0.0; }
    void advance(double seconds);
    const bench::Bench& bench() const { return bench_; }
    std::shared_ptr<const site::Site> kept_site() const { return bench_.site(); }

    // Figures of the last turns; seconds == 0: none yet.
    const plant::Means& means() const { return means_; }
    const plant::Energies& power() const { return power_; }  // W
    const std::vector<motor::Vec2>& flux_path() const { return flux_path_; }
    const Phasors& phasors() const { return phasors_; }
    const SpacePaths& paths() const { return paths_; }
    // As it was last looked at; null: not yet.
    const std::shared_ptr<const Snapshot>& snapshot() const { return snapshot_; }
    // Of a wanted signal, worked out when first asked for after a look; null: nothing turns, or less than a turn is
    // there.
    const Spectrum* spectrum(const std::string& name);
    // Over the last whole turns.
    std::optional<double> rms(const std::string& name);
    std::shared_ptr<const trace::Trace> trace(const std::string& name);

  private:
    void judge();
    void look();
    bench::Bench bench_;
    History history_;
    std::vector<std::string> names_;
    std::map<std::string, ScopeTrack> tracks_;
    std::map<std::string, std::shared_ptr<const trace::Trace>> published_;
    double kept_ = 0.1;
    double left_ = 0.0;  // simulated s still to run
    double next_look_ = 0.0;
    plant::State mark_;  // when the present stretch of the account began
    plant::Means means_, before_;
    plant::Energies power_{};
    std::vector<motor::Vec2> flux_path_;
    Phasors phasors_;
    SpacePaths paths_;
    std::shared_ptr<const Snapshot> snapshot_;
    std::shared_ptr<const site::Site> curves_of_;
    Curve array_current_, array_power_;  // of that site
    std::map<std::string, Spectrum> spectra_;
    std::map<std::string, double> rms_;
};

// The twin as it would stand at the time of the other: its last turn again and again, for its state is steady.
Snapshot twin_at(const Snapshot& twin, double t);

// The same with nothing in it that turns or flows: every turn at one angle of the field, all of time at one instant.
Snapshot stilled(const Snapshot& s);

// The last whole turns before `to`, about `wanted` seconds of them, not before `from`; all there is where not
// one turn fits. Returns where they begin.
double whole_turns(double from, double to, double frequency_Hz, double wanted = 0.2);
// Over the last whole turns of what is recorded, 0.2 s or more of them where it goes back so far; nothing: less than
// one turn.
std::optional<double> rms_of_turns(const History& history, const std::string& name, double frequency_Hz);

}  // namespace sunshaft::view
