// What an ear hears, and the samples of it.
#include "bench/sound.hpp"

#include <cmath>

#include "support.hpp"

using namespace sunshaft;
using namespace sunshaft::bench;
using test::approx;

namespace {

double rms(const std::vector<float>& y) {
    double sum = 0.0;
    for (const float x : y) sum += static_cast<double>(x) * static_cast<double>(x);
    return std::sqrt(sum / static_cast<double>(y.size()));
}
// Amplitude of one frequency in the samples.
double amplitude(const std::vector<float>& y, double Hz, int rate) {
    double c = 0.0, s = 0.0;
    for (std::size_t n = 0; n < y.size(); ++n) {
        const double angle = 2 * M_PI * Hz * static_cast<double>(n) / rate;
        c += static_cast<double>(y[n]) * std::cos(angle), s += static_cast<double>(y[n]) * std::sin(angle);
    }
    return 2.0 * std::hypot(c, s) / static_cast<double>(y.size());
}
double level(const Heard& h, double Hz) {
    double most = 0.0;
    for (const Tone& t : h.tones)
        if (std::abs(t.Hz - Hz) < 1.0) most = std::max(most, t.level);
    return most;
}

}  // namespace

TEST_CASE("samples hold the tones and bands they are made of, and their end fits their beginning") {
    Heard h;
    h.tones = {{100.0, 0.2, "hum"}, {300.0, 0.05, ""}};
    h.rushes = {{500.0, 1500.0, 0.05, 0.0, "rush of water"}};
    const std::vector<float> y = samples(h, 2.0, 22050);
    REQUIRE(y.size() == 44100);
    CHECK(amplitude(y, 100, 22050) == approx(0.2).epsilon(1e-3));
    CHECK(amplitude(y, 300, 22050) == approx(0.05).epsilon(1e-3));
    CHECK(rms(y) == approx(std::sqrt(0.5 * 0.2 * 0.2 + 0.5 * 0.05 * 0.05 + 0.05 * 0.05)).epsilon(0.01));
    CHECK(amplitude(y, 3000, 22050) < 1e-4);  // outside the band
    // One more sample would be the first again: the step there is no larger than elsewhere.
    CHECK(std::abs(y.front() - y.back()) < 0.1f);
    CHECK(samples(h, 2.0, 22050) == y);
    // By octaves: 20 log of the rms.
    const auto dB = octave_dB(h);
    CHECK(dB[2] == approx(20 * std::log10(0.2 / std::sqrt(2.0))).epsilon(1e-6));
    CHECK(std::isinf(dB[8]));
    // A band of which each half is in an octave: 500 to 707 of 1000 Hz, 707 to 1414, the rest.
    CHECK(dB[5] == approx(10 * std::log10(0.05 * 0.05 * (1414.2 - 707.1) / 1000)).epsilon(1e-3));
}

TEST_CASE("bursts keep the level of their band") {
    Heard h;
    h.rushes = {{2000.0, 8000.0, 0.1, 14.0, "crackle"}};
    CHECK(rms(samples(h, 2.0, 22050)) == approx(0.1).epsilon(0.05));
}

TEST_CASE("a lost line is heard at twice the frequency, at rest nothing is, and deeper is fainter") {
    Bench sound = test::at("hill-orchard");
    sound.settle();
    const Heard well = heard(sound);
    CHECK_FALSE(well.silent());
    Bench lost = test::at("hill-orchard");
    lost.settle();
    Edits edits;
    edits.faults = {{"lost-phase", "splice.v", 1.0, 0.0}};
    lost.edit(edits);
    lost.advance(1.0);
    const double twice = 2.0 * plant::fundamental(lost.plant(), lost.state());
    CHECK(level(heard(lost), twice) > 5.0 * level(well, 2.0 * plant::fundamental(sound.plant(), sound.state())) + 1e-3);
    CHECK(level(heard(lost, Ear::wellhead), twice) < level(heard(lost, Ear::pipe), twice));
    // A line lost before the start: nothing turns, and it hums all the same.
    Bench stands = test::at("hill-orchard", edits);
    stands.advance(2.0);
    CHECK(std::abs(stands.state().x[plant::speed]) < 1.0);
    const Heard hums = heard(stands);
    REQUIRE_FALSE(hums.tones.empty());
    const double f = plant::fundamental(stands.plant(), stands.state());  // still rising on the ramp
    CHECK(hums.tones.front().level > 0.05);
    CHECK(hums.tones.front().Hz == approx(2.0 * f).epsilon(0.1));
    edits.acts = {{"open", "isolator", 0.0}};
    lost.edit(edits);
    lost.advance(30.0);
    CHECK(heard(lost).silent());
    CHECK(heard(lost).caption() == "ear on the pipe: silent");
}

TEST_CASE("a carrier whines at the drive, less on the pipe") {
    Bench b = test::at("terrace-pwm");
    b.settle();
    CHECK(level(heard(b, Ear::drive), 8000) > 5.0 * level(heard(b, Ear::pipe), 8000));
    const std::string words = heard(b, Ear::drive).caption();
    CHECK(words.find("whine at 8 kHz") != std::string::npos);
    CHECK(alike(heard(b), heard(b)));
    CHECK_FALSE(alike(heard(b), heard(b, Ear::drive)));
}
