// What is seen and heard without a meter: the drive's lamps, water at the outlet, the sound of the motor. Words, each
// with a number of its own, so that two of them can be told apart.
#include <fmt/format.h>

#include <algorithm>
#include <cmath>
#include <numbers>

#include "bench/senses.hpp"

#include "bench/bench.hpp"
#include "text/figure.hpp"
#include "text/language.hpp"
#include "trace/harmonics.hpp"
#include "trace/statistics.hpp"

namespace sunshaft::bench {
namespace {

using text::say, text::tr;

constexpr double litre_per_minute = 1e-3 / 60.0;

// A number by what stands where in it.
enum Sound : unsigned { silent, by_itself, standing, evenly, humming };
constexpr const char* outlet_words[] = {text::id("no water"), text::id("a trickle"), text::id("water flows")};
constexpr const char* sound_words[] = {text::id("silent"), text::id("turns on by itself, no hum"),
                                       text::id("hums and does not turn"), text::id("runs evenly"),
                                       text::id("runs with a hum")};

Bench::Gauge told(const char* gauge, unsigned number, const char* how) {
    return {static_cast<double>(number), "", how, sense_words(gauge, number)};
}

Bench::Gauge lamps_seen(const Bench& bench) {
    unsigned number = 0, bit = 1;
    for (const drive::Lamp& lamp : drive::lamps(bench.state().control)) {
        if (lamp.on) number |= bit;
        bit <<= 1U;
    }
    return told("lamps", number, tr("looking at the drive's front"));
}

// The drive's own display: what its sensors believe.
Bench::Gauge drive_shows(Bench& bench, const std::string& name) {
    const char* const where = tr("on the drive's own display");
    const plant::State& state = bench.state();
    const drive::Display d = drive::display(state.control);
    if (d.dark) return {0.0, "", where, std::string(tr("dark"))};
    if (name == "drive_V") return {d.link_V, std::string(gauge_unit(name)), where};
    if (name == "drive_A") return {d.amperes, std::string(gauge_unit(name)), where};
    if (name == "drive_stop") return told("drive_stop", static_cast<unsigned>(d.last_stop), where);
    return {state.command.running ? plant::fundamental(bench.plant(), state) : 0.0, std::string(gauge_unit(name)),
            where};
}

// By eye; where a trickle ends is common practice, no source.
Bench::Gauge outlet_seen(Bench& bench) {
    const double flow = bench.gauge("flow").value;
    return told("outlet",
                flow < litre_per_minute         ? 0U
                : flow < 5.0 * litre_per_minute ? 1U
                                                : 2U,
                tr("looking at the outlet"));
}

// Shares of the motor's rated current and torque from which a current, and a torque that swings twice a turn of the
// field, are heard (common practice, no source); the ear's upper end for the whine of a carrier.
constexpr double heard_current = 0.1, heard_torque = 0.1, audible_Hz = 16e3;

// Twice the field's frequency in the torque is what an unbalanced line makes: its two counter-rotating fields (A. E.
// Fitzgerald, Electric Machinery, chapter on single-phase and unbalanced operation, from memory).
Bench::Gauge sound_heard(Bench& bench) {
    const site::Site& site = *bench.site();
    const plant::X rated = plant::reference(site);
    plant::Recorder recorder({plant::signal(site, "torque_N_m"), plant::signal(site, "around.u"),
                              plant::signal(site, "around.v"), plant::signal(site, "around.w")});
    bench.plant().advance_turns(bench.state(), 0.2, recorder);
    double ampere = 0.0;
    for (std::size_t k = 1; k < 4; ++k) ampere = std::max(ampere, trace::statistics(recorder.recording.signal(k)).rms);
    const double twice_Hz = 2.0 * plant::fundamental(bench.plant(), bench.state()),
                 speed = bench.state().x[plant::speed];
    const bool fed = ampere > heard_current * rated[plant::i_alpha] / std::numbers::sqrt2;
    Sound sound = silent;
    if (!fed) sound = std::abs(speed) > 1.0 ? by_itself : silent;
    else if (std::abs(speed) < 0.02 * rated[plant::speed]) sound = standing;
    else {
        const double swing = std::abs(trace::phasor(recorder.recording.signal(0), twice_Hz));
        sound = swing > heard_torque * plant::reference_torque(rated) ? humming : evenly;
    }
    Bench::Gauge g = told("sound", sound, tr("listening at the wellhead, ear on the pipe"));
    if (sound == humming) g.says = say("runs with a hum at {}", text::quantity(twice_Hz, "Hz", 3));
    // Air drawn in, and bubbles that collapse in the pump; where they are heard is common practice, no source.
    const plant::Slow& water = bench.state().slow;
    const bool pumps = site.works.water.pump.index() != 0 && std::abs(speed) > 0.02 * rated[plant::speed];
    if (pumps && water.covered < 0.95) g.says = say("{}, a gurgle of air", g.says);
    else if (pumps && water.lift < 0.99) g.says = say("{}, a crackle as of gravel", g.says);
    if (const auto carrier = bench.context({}).carrier_Hz; fed && carrier && *carrier < audible_Hz)
        g.says = say("{}, a whine at {}", g.says, text::quantity(*carrier, "Hz", 2));
    return g;
}

}  // namespace

bool told_in_words(const std::string& gauge) {
    return gauge == "lamps" || gauge == "outlet" || gauge == "sound" || gauge == "drive_stop";
}

std::string sense_words(const std::string& gauge, unsigned number) {
    if (gauge == "outlet") return tr(outlet_words[std::min(number, 2U)]);
    if (gauge == "sound") return tr(sound_words[std::min(number, 4U)]);
    if (gauge == "drive_stop") return tr(drive::stop_words(static_cast<drive::Cause>(number)));
    std::string lit;
    for (const drive::Lamp& lamp : drive::lamps({})) {
        if (number & 1U) lit.append(lit.empty() ? "" : ", ").append(tr(lamp.name));
        number >>= 1U;
    }
    return lit.empty() ? std::string(tr("all dark")) : lit;
}

Bench::Gauge Bench::sense(const std::string& name) {
    if (name == "lamps") return lamps_seen(*this);
    if (name == "outlet") return outlet_seen(*this);
    if (name.starts_with("drive_")) return drive_shows(*this, name);
    return sound_heard(*this);
}

}  // namespace sunshaft::bench
