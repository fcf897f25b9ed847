// Twin: the same site under the same weather and acts without its faults, run until it is steady; then it costs
// nothing.
#pragma once

#include <map>
#include <optional>
#include <string>
#include <vector>

#include "bench/bench.hpp"
#include "model/history.hpp"

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

    // Figures of the last turns; seconds == 0: none yet.
    const plant::Means& means() const { return means_; }
    const plant::Energies& power() const { return power_; }  // W
    const std::vector<motor::Vec2>& flux_path() const { return flux_path_; }
    std::shared_ptr<const trace::Trace> trace(const std::string& name);

  private:
    void judge();
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
};

// Does something to a bench that compiles its site anew, and lets the drive finish the control window it is in:
// cut short, the modulator would lose the rest of the angle it has already counted, a jolt the real drive does
// not make.
template <class Act>
void within_window(bench::Bench& bench, Act act) {
    const drive::Window window = bench.state().window;
    const int next_edge = bench.state().next_edge;
    const double t = bench.state().t;
    act();
    plant::State& s = bench.state();
    if (s.t != t || bench.site()->works.supply.kind == site::Supply::Kind::mains) return;
    s.window = window;
    s.next_edge = next_edge;
}

// The last whole turns before `to`, about `wanted` seconds of them, not before `from`; all there is where not
// one turn fits. Returns where they begin.
double whole_turns(double from, double to, double frequency_Hz, double wanted = 0.2);

}  // namespace sunshaft::view
