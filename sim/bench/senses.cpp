// What is seen and heard without a meter: the drive's lamps, water at the outlet, the sound of the motor. Words, each
// with a number of its own, so that two of them can be told apart.
#include <fmt/format.h>

#include <algorithm>
#include <cmath>
#include <numbers>

#include "bench/bench.hpp"
#include "text/figure.hpp"
#include "trace/harmonics.hpp"
#include "trace/statistics.hpp"

namespace sunshaft::bench {
namespace {

constexpr double litre_per_minute = 1e-3 / 60.0;

Bench::Gauge lamps_seen(const Bench& bench) {
    Bench::Gauge g{0.0, "", "looking at the drive's front"};
    double bit = 1.0;
    for (const drive::Lamp& lamp : drive::lamps(bench.state().control)) {
        if (lamp.on) g.says += (g.says.empty() ? "" : ", ") + std::string(lamp.name), g.value += bit;
        bit *= 2.0;
    }
    if (g.says.empty()) g.says = "all dark";
    return g;
}

// The drive's own display: what its sensors believe.
Bench::Gauge drive_shows(Bench& bench, const std::string& name) {
    constexpr const char* where = "on the drive's own display";
    const plant::State& state = bench.state();
    const drive::Display d = drive::display(state.control);
    if (d.dark) return {0.0, "", where, std::string("dark")};
    if (name == "drive_V") return {d.link_V, "V", where};
    if (name == "drive_A") return {d.amperes, "A", where};
    if (name == "drive_stop") return {static_cast<double>(d.last_stop), "", where, drive::stop_words(d.last_stop)};
    return {state.command.running ? plant::fundamental(bench.plant(), state) : 0.0, "Hz", where};
}

// By eye; where a trickle ends is common practice, no source.
Bench::Gauge outlet_seen(Bench& bench) {
    const double flow = bench.gauge("flow").value;
    const int step = flow < litre_per_minute ? 0 : flow < 5.0 * litre_per_minute ? 1 : 2;
    constexpr const char* words[] = {"no water", "a trickle", "water flows"};
    return {static_cast<double>(step), "", "looking at the outlet", words[step]};
}

// Shares of the motor's rated current and torque from which a current, and a torque that swings twice a turn of the
// field, are heard (common practice, no source); the ear's upper end for the whine of a carrier.
constexpr double heard_current = 0.1, heard_torque = 0.1, audible_Hz = 16e3;

// Twice the field's frequency in the torque is what an unbalanced line makes: its two counter-rotating fields (A. E.
// Fitzgerald, Electric Machinery, chapter on single-phase and unbalanced operation, from memory).
Bench::Gauge sound_heard(Bench& bench) {
    const site::Site& site = *bench.site();
    Bench::Gauge g{0.0, "", "listening at the wellhead, ear on the pipe", "silent"};
    const plant::X rated = plant::reference(site);
    plant::Recorder recorder({plant::signal(site, "torque_N_m"), plant::signal(site, "around.u"),
                              plant::signal(site, "around.v"), plant::signal(site, "around.w")});
    bench.plant().advance_turns(bench.state(), 0.2, recorder);
    double ampere = 0.0;
    for (std::size_t k = 1; k < 4; ++k) ampere = std::max(ampere, trace::statistics(recorder.recording.signal(k)).rms);
    const double twice_Hz = 2.0 * plant::fundamental(bench.plant(), bench.state()),
                 speed = bench.state().x[plant::speed];
    const bool fed = ampere > heard_current * rated[plant::i_alpha] / std::numbers::sqrt2;
    if (!fed) {
        if (std::abs(speed) > 1.0) g.value = 1, g.says = "turns on by itself, no hum";
    } else if (std::abs(speed) < 0.02 * rated[plant::speed]) {
        g.value = 2, g.says = "hums and does not turn";
    } else {
        const double swing = std::abs(trace::phasor(recorder.recording.signal(0), twice_Hz));
        if (swing > heard_torque * plant::reference_torque(rated)) {
            g.value = 4;
            g.says = fmt::format("runs with a hum at {}", text::quantity(twice_Hz, "Hz", 3));
        } else {
            g.value = 3, g.says = "runs evenly";
        }
    }
    if (const auto carrier = bench.context({}).carrier_Hz; fed && carrier && *carrier < audible_Hz)
        g.says += fmt::format(", a whine at {}", text::quantity(*carrier, "Hz", 2));
    return g;
}

}  // namespace

Bench::Gauge Bench::sense(const std::string& name) {
    if (name == "lamps") return lamps_seen(*this);
    if (name == "outlet") return outlet_seen(*this);
    if (name.starts_with("drive_")) return drive_shows(*this, name);
    return sound_heard(*this);
}

}  // namespace sunshaft::bench
