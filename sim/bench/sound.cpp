#include "bench/sound.hpp"

#include <fmt/format.h>

#include <algorithm>
#include <cmath>
#include <complex>
#include <cstdint>
#include <limits>
#include <numbers>

#include "bench/bench.hpp"
#include "text/figure.hpp"
#include "text/language.hpp"
#include "trace/harmonics.hpp"

namespace sunshaft::bench {
namespace {

using std::numbers::pi;
constexpr double faintest = 1e-4;  // -80 dB: below, nobody hears it
// dB: what a metre of pipe or rock takes, and what a step to the side.
constexpr double pipe_dB_per_m = 0.1, rock_dB_per_m = 0.3, step_dB = 12.0;

double times(double dB) { return std::pow(10.0, dB / 20.0); }

// Of what the pump and its motor make, the share that reaches the ear.
double from_below(const site::Works& w, Ear ear) {
    const double deep = w.water.pump.index() == 0 ? 0.0 : w.water.pump_depth;
    if (ear == Ear::pipe) return times(-pipe_dB_per_m * deep);
    return times(-rock_dB_per_m * deep - step_dB - (ear == Ear::drive ? step_dB : 0.0));
}

const char* loudness(double level) {
    return level > times(-26)   ? text::tr("loud")
           : level > times(-46) ? text::tr("plain")
           : level > times(-60) ? text::tr("soft")
                                : text::tr("faint");
}

// Friction that brakes the shaft beyond what bearings take (as the break-away torque, chain_modes.inl.hpp), as a share
// of rated torque.
double dragged(const site::Site& site) {
    constexpr double usual = 0.03;
    const double rated = plant::reference_torque(plant::reference(site));
    return std::max(0.0, site.works.shaft.dry_friction / rated - usual);
}

class Ears {
  public:
    Ears(const Bench& of, Ear ear) : bench_(of), works_(of.site()->works), below_(from_below(works_, ear)) {
        out_.ear = ear;
    }
    Heard listen() {
        const site::Site& site = *bench_.site();
        const plant::X rated = plant::reference(site);
        plant::Recorder recorder({plant::signal(site, "torque_N_m"), plant::signal(site, "around.u"),
                                  plant::signal(site, "around.v"), plant::signal(site, "around.w")});
        bench_.plant().advance_turns(bench_.state(), 0.2, recorder);
        const plant::State& s = bench_.state();
        const double f = plant::fundamental(bench_.plant(), s), speed = std::abs(s.x[plant::speed]),
                     pace = speed / rated[plant::speed];
        if (f > 0.5) hum(recorder.recording, f, rated);
        if (pace > 0.02) tone(speed / (2 * pi), below_ * 0.01 * pace * pace, text::id("drone"));
        if (const auto carrier = bench_.context({}).carrier_Hz; carrier && *carrier < audible_Hz && s.command.running)
            whine(recorder.recording, f, *carrier, rated[plant::i_alpha]);
        if (works_.water.pump.index() != 0) water(s);
        for (Rush& r : pump_noise(bench_, out_.ear)) out_.rushes.push_back(std::move(r));
        return std::move(out_);
    }

  private:
    void tone(double Hz, double level, const char* what) {
        if (level > faintest && Hz > 16.0 && Hz < audible_Hz) out_.tones.push_back({Hz, std::min(level, 1.0), what});
    }
    void rush(double low, double high, double level, double bursts, const char* what) {
        if (level > faintest) out_.rushes.push_back({low, high, std::min(level, 1.0), bursts, what});
    }
    static trace::Trace pulled(const trace::Recording& seen) {
        trace::Trace out;
        for (std::size_t n = 0; n < seen.rows(); ++n) {
            double a = 0.0, b = 0.0;
            for (std::size_t k = 1; k < 4; ++k) a += seen.y0[k][n] * seen.y0[k][n], b += seen.y1[k][n] * seen.y1[k][n];
            out.push_back({seen.t0[n], seen.t1[n], a, b});
        }
        return out;
    }
    // Torque that swings, and iron that is pulled at by the square of the currents: that of a field which only comes
    // and goes hums at twice its frequency though nothing turns.
    void hum(const trace::Recording& seen, double f, const plant::X& rated) {
        const trace::Trace torque = seen.signal(0), pull = pulled(seen);
        const double rated_torque = plant::reference_torque(rated),
                     rated_pull = 1.5 * rated[plant::i_alpha] * rated[plant::i_alpha];
        for (int k = 1; k <= 24; ++k) {
            const double swing = std::abs(trace::phasor(torque, k * f)) / rated_torque,
                         tugs = std::abs(trace::phasor(pull, k * f)) / rated_pull;
            tone(k * f, below_ * std::sqrt(2.0) * std::hypot(0.4 * swing, 0.03 * tugs), "");
        }
        // named by the loudest of them
        const auto most = std::max_element(out_.tones.begin(), out_.tones.end(),
                                           [](const Tone& a, const Tone& b) { return a.level < b.level; });
        if (most != out_.tones.end()) std::iter_swap(out_.tones.begin(), most);
        for (Tone& t : out_.tones) t.what = &t == &out_.tones.front() ? text::id("hum") : "";
    }
    // The ripple at the carrier, heard in the drive itself and, much less, in the motor.
    void whine(const trace::Recording& seen, double f, double carrier, double rated_A) {
        const trace::Trace line = seen.signal(1);
        double square = 0.0;
        for (const int side : {-4, -2, 0, 2, 4}) {
            const double a = std::abs(trace::phasor(line, carrier + side * f));
            square += a * a;
        }
        const double share = std::sqrt(square) / rated_A;
        const double here = out_.ear == Ear::drive ? 1.0 : out_.ear == Ear::wellhead ? times(-30) : times(-20);
        tone(carrier, here * std::min(0.3, share + (out_.ear == Ear::drive ? 0.02 : 0.005)), text::id("whine"));
    }
    void water(const plant::State& s) {
        const double flow = s.x[plant::flow] / std::max(works_.water.best_flow, 1e-9);
        rush(200, 2500, below_ * 0.03 * flow * std::abs(flow) * s.slow.covered, 0.0, text::id("rush of water"));
    }

    Bench bench_;  // its own
    site::Works works_;
    double below_;
    Heard out_;
};

std::string tone_name(const std::string& what, double Hz) {
    const std::string said = text::tr(what);
    return Hz > 0.0 ? text::say("{} at {}", said, text::quantity(Hz, "Hz", 2)) : said;
}

// A number between -1 and 1 that is always the same for the same seed and place.
double noise(std::uint64_t seed, std::uint64_t at) {
    std::uint64_t z = seed * 0x9E3779B97F4A7C15ull + at * 0xD1B54A32D192ED03ull + 0x2545F4914F6CDD1Dull;
    z = (z ^ (z >> 30)) * 0xBF58476D1CE4E5B9ull;
    z = (z ^ (z >> 27)) * 0x94D049BB133111EBull;
    z ^= z >> 31;
    return static_cast<double>(z >> 11) / 4503599627370496.0 - 1.0;
}

// Adds a sine of so many whole cycles in the loop.
void add(std::vector<double>& out, double cycles, double amplitude, double phase) {
    const double step = 2 * pi * cycles / static_cast<double>(out.size());
    const std::complex<double> turn(std::cos(step), std::sin(step));
    std::complex<double> at(std::cos(phase), std::sin(phase));
    for (double& y : out) {
        y += amplitude * at.imag();
        at *= turn;
    }
}

}  // namespace

std::optional<Ear> ear_from(std::string_view name) {
    for (std::size_t n = 0; n < ear_names.size(); ++n)
        if (ear_names[n] == name) return static_cast<Ear>(n);
    return {};
}

std::vector<Rush> pump_noise(const Bench& bench, Ear ear) {
    const site::Site& site = *bench.site();
    const plant::State& s = bench.state();
    const double below = from_below(site.works, ear),
                 pace = std::abs(s.x[plant::speed]) / plant::reference(site)[plant::speed];
    std::vector<Rush> out;
    if (pace < 0.02) return out;
    const auto rush = [&](double low, double high, double level, double bursts, const char* what) {
        if (below * level > faintest) out.push_back({low, high, std::min(below * level, 1.0), bursts, what});
    };
    if (site.works.water.pump.index() != 0) {
        rush(80, 500, 0.3 * std::max(1.0 - s.slow.covered, site.works.water.air), 3.0, text::id("gurgle"));
        if (site.works.water.npsh > 0.0)
            rush(2000, 8000, 0.5 * std::sqrt(1.0 - s.slow.lift), 14.0, text::id("crackle"));
    }
    rush(400, 3000, 0.5 * pace * std::max(s.slow.damage, dragged(site)), std::max(1.0, std::round(5 * pace)),
         text::id("grinding"));
    return out;
}

Heard heard(const Bench& bench, Ear ear) { return Ears(bench, ear).listen(); }

bool alike(const Heard& one, const Heard& other) {
    const auto near = [](double a, double b, double within) { return std::abs(a - b) <= within * std::max(a, b); };
    return one.ear == other.ear &&
           std::ranges::equal(one.tones, other.tones,
                              [&](const Tone& a, const Tone& b) {
                                  return near(a.Hz, b.Hz, 0.01) && near(a.level, b.level, 0.15) && a.what == b.what;
                              }) &&
           std::ranges::equal(one.rushes, other.rushes, [&](const Rush& a, const Rush& b) {
               return near(a.level, b.level, 0.15) && a.what == b.what;
           });
}

std::string Heard::caption() const {
    constexpr std::array<const char*, 3> where = {text::id("ear on the pipe"), text::id("at the wellhead"),
                                                  text::id("at the drive")};
    struct Part {
        double level;
        std::string words;
    };
    std::vector<Part> parts;
    for (const Tone& t : tones)
        if (!t.what.empty()) parts.push_back({t.level / std::numbers::sqrt2, tone_name(t.what, t.Hz)});
    for (const Rush& r : rushes) parts.push_back({r.level, text::tr(r.what)});
    std::stable_sort(parts.begin(), parts.end(), [](const Part& a, const Part& b) { return a.level > b.level; });
    std::string words = text::tr(where[static_cast<std::size_t>(ear)]);
    if (parts.empty()) return words + ": " + text::tr("silent");
    for (std::size_t n = 0; n < parts.size(); ++n)
        words += fmt::format("{}{}, {}", n == 0 ? ": " : "; ", parts[n].words, loudness(parts[n].level));
    return words;
}

std::array<double, 9> octave_dB(const Heard& heard) {
    std::array<double, 9> square{};
    for (std::size_t n = 0; n < octave_Hz.size(); ++n) {
        const double low = octave_Hz[n] / std::numbers::sqrt2, high = octave_Hz[n] * std::numbers::sqrt2;
        for (const Tone& t : heard.tones)
            if (t.Hz >= low && t.Hz < high) square[n] += 0.5 * t.level * t.level;
        for (const Rush& r : heard.rushes) {
            const double shared = std::max(0.0, std::min(high, r.high_Hz) - std::max(low, r.low_Hz));
            square[n] += r.level * r.level * shared / (r.high_Hz - r.low_Hz);
        }
    }
    std::array<double, 9> out{};
    for (std::size_t n = 0; n < out.size(); ++n)
        out[n] = square[n] > 0.0 ? 10.0 * std::log10(square[n]) : -std::numeric_limits<double>::infinity();
    return out;
}

std::vector<float> samples(const Heard& heard, double seconds, int rate_Hz) {
    const auto count = static_cast<std::size_t>(std::llround(seconds * rate_Hz));
    std::vector<double> sum(count, 0.0);
    for (const Tone& t : heard.tones)
        if (t.Hz < 0.45 * rate_Hz) add(sum, std::max(1.0, std::round(t.Hz * seconds)), t.level, 0.0);
    std::uint64_t seed = 1;
    for (const Rush& r : heard.rushes) {
        // Sines of random phase at every frequency the loop knows, thinned where there are many.
        std::vector<double> band(count, 0.0);
        const double low = std::ceil(r.low_Hz * seconds),
                     high = std::min(r.high_Hz * seconds, 0.45 * rate_Hz * seconds);
        const double every = std::max(1.0, std::floor((high - low) / 150.0));
        double square = 0.0;
        for (double k = low; k < high; k += every) {
            const auto at = static_cast<std::uint64_t>(k);
            const double own = std::round(k + 0.5 * (every - 1.0) * noise(seed + 7, at));
            add(band, own, 1.0, pi * noise(seed, at));
            square += 0.5;
        }
        const double bursts = std::round(r.bursts_per_s * seconds);
        double swell = 0.0;
        std::vector<double> envelope(count, 1.0);
        if (bursts > 0.0)
            for (std::size_t n = 0; n < count; ++n) {
                const double y =
                    0.5 - 0.5 * std::cos(2 * pi * bursts * static_cast<double>(n) / static_cast<double>(count));
                envelope[n] = y * y * y;
            }
        for (const double y : envelope) swell += y * y / static_cast<double>(count);
        const double gain = square > 0.0 ? r.level / std::sqrt(square * swell) : 0.0;
        for (std::size_t n = 0; n < count; ++n) sum[n] += gain * envelope[n] * band[n];
        seed += 100;
    }
    std::vector<float> out(count);
    for (std::size_t n = 0; n < count; ++n) out[n] = static_cast<float>(std::clamp(sum[n], -1.0, 1.0));
    return out;
}

}  // namespace sunshaft::bench
