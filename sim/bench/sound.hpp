// What an ear hears of a site, as levels by band, and the same as samples to be played or kept.
//
// Everything is computed from the plant's state and a short stretch of it run ahead: torque that swings at multiples
// of the field's frequency (hum), the shaft's own turn (drone), the carrier in the line currents (whine), water in the
// main (rush), air drawn in or caught in the pump (gurgle), bubbles that collapse (crackle), a worn pump or a shaft
// that drags (grinding).
// How loud a share of rated torque or current is, and what pipe and rock take on the way up, is common practice without
// a source: the levels compare with each other, not with a sound level meter. What is heard is described, never what
// may be wrong.
#pragma once

#include <array>
#include <optional>
#include <string>
#include <string_view>
#include <vector>

namespace sunshaft::bench {

class Bench;

// Where the ear is: on the rising main, a step from the wellhead, at the drive.
enum class Ear { pipe, wellhead, drive };
inline constexpr double audible_Hz = 16e3;  // what grown people hear at most (common practice, no source)
inline constexpr std::array<std::string_view, 3> ear_names = {"pipe", "wellhead", "drive"};
std::optional<Ear> ear_from(std::string_view name);

struct Tone {
    double Hz = 0.0, level = 0.0;  // amplitude; 1 is full scale
    std::string what = {};         // "hum"; empty: an overtone of the one before
};
struct Rush {  // noise, as loud at each frequency of its band
    double low_Hz = 0.0, high_Hz = 0.0;
    double level = 0.0;         // rms; 1 is full scale
    double bursts_per_s = 0.0;  // swells that often; 0: even
    std::string what = {};
};
struct Heard {
    Ear ear = Ear::pipe;
    std::vector<Tone> tones;
    std::vector<Rush> rushes;
    // "ear on the pipe: hum at 100 Hz, loud; rush of water, faint"
    std::string caption() const;
    bool silent() const { return tones.empty() && rushes.empty(); }
};

// Of it what comes from the pump and its bearings, at this instant.
std::vector<Rush> pump_noise(const Bench& bench, Ear ear);
// Runs a copy of what the bench has by a fraction of a second.
Heard heard(const Bench& bench, Ear ear = Ear::pipe);

// Nobody would tell one from the other.
bool alike(const Heard& one, const Heard& other);

// Rms in each octave band round 31.5, 63, 125 ... 8000 Hz, dB under full scale; -infinity: nothing in it.
inline constexpr std::array<double, 9> octave_Hz = {31.5, 63, 125, 250, 500, 1000, 2000, 4000, 8000};
std::array<double, 9> octave_dB(const Heard& heard);

// So many seconds of it, the end fitting the beginning, at a rate in Hz: the same sound gives the same samples. Tones
// are moved to the nearest frequency that fits the loop.
std::vector<float> samples(const Heard& heard, double seconds = 2.0, int rate_Hz = 22050);

}  // namespace sunshaft::bench
