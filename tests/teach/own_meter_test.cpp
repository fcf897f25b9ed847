// A meter found from what it showed: shipped meters and random ones, with a display's rounding and 1 % of noise.
#include <fmt/format.h>

#include <cmath>
#include <filesystem>
#include <fstream>

#include "../files/scratch.hpp"
#include "catch_shim.hpp"
#include "meter/reading.hpp"
#include "site/keys.hpp"
#include "teach/draw.hpp"
#include "teach/own_meter.hpp"

using namespace sunshaft;
using test::approx;
using test::Contains;

namespace {

constexpr double loud_V = 0.31;  // rms of all waves

// What a person writes down: the display's text, a hundredth off this way or that.
teach::SeenFile seen_with(const meter::Spec& spec, teach::Draw& dice) {
    teach::SeenFile seen;
    seen.counts = spec.counts;
    for (const teach::Tone& tone : teach::tones()) {
        meter::Context context;
        context.fundamental_Hz = tone.Hz;
        const auto r = meter::read(spec, meter::Mode::acv, teach::played(tone, loud_V), context);
        if (!r.value || r.resolution <= 0.0) continue;
        // Twelve dice less six: a bell of width one.
        double bell = -6.0;
        for (int n = 0; n < 12; ++n) bell += dice.share();
        const double volt = std::abs(*r.value) * (1.0 + 0.01 * bell);
        seen.shown.push_back({tone.name, std::round(volt / r.resolution) * r.resolution, r.resolution});
    }
    return seen;
}
meter::Spec meter_of(meter::Detector detector, double coupling, double bandwidth, int order, double counts) {
    meter::Spec spec;
    spec.name = "drawn";
    spec.counts = counts;
    meter::Function f;
    f.detector = detector;
    f.resistance_ohm = 1e7;
    f.coupling_Hz = coupling;
    f.bandwidth_Hz = bandwidth;
    f.bandwidth_order = order;
    f.ranges = {counts >= 3000 ? 0.6 : 2.0, 20.0, 200.0};
    f.accuracy = {{.percent = 1.0}};
    spec.functions[meter::Mode::acv] = f;
    return spec;
}
double from(teach::Draw& dice, double low, double high) { return low * std::pow(high / low, dice.share()); }

// How often the detector is right, and that corners the waves can show are within a fifth.
void draw_meters(int many, int may_miss) {
    teach::Draw dice(17, "own meters");
    int right = 0, corners = 0, corners_right = 0;
    for (int n = 0; n < many; ++n) {
        const auto kind = dice.below(2) ? meter::Detector::rms : meter::Detector::average;
        const double coupling = from(dice, 0.1, 20.0), bandwidth = from(dice, 400.0, 60e3);
        const int order = 1 + static_cast<int>(dice.below(2));
        const auto spec = meter_of(kind, coupling, bandwidth, order, dice.below(2) ? 2000 : 6000);
        const auto own = teach::fitted(seen_with(spec, dice));
        REQUIRE(own.reachable);
        right += own.detector == kind;
        // What the waves cannot show is said, and then it is so.
        if (own.bandwidth.from_above) CHECK(bandwidth > 0.8 * own.bandwidth.low);
        if (own.coupling.from_below) CHECK(coupling < 1.25 * own.coupling.high);
        for (const auto& [found, true_Hz] : {std::pair{own.bandwidth, bandwidth}, {own.coupling, coupling}}) {
            if (found.from_above || found.from_below || found.high > 1.3 * found.low) continue;
            ++corners;
            corners_right += std::abs(found.Hz / true_Hz - 1.0) < 0.2;
        }
    }
    INFO(right << " of " << many << " detectors, " << corners_right << " of " << corners << " corners");
    CHECK(right >= many - may_miss);
    CHECK(corners > many / 2);
    CHECK(corners_right >= corners - may_miss);
}

}  // namespace

TEST_CASE("waves from a socket: whole harmonics below 18 kHz, all of one rms") {
    for (const teach::Tone& tone : teach::tones()) {
        INFO(tone.name);
        double square = 0.0, peak = 0.0;
        for (const auto& h : tone.harmonics) {
            CHECK(h.order >= 1);
            CHECK(h.order * tone.Hz < 18e3);
            square += 0.5 * (h.cosine * h.cosine + h.sine * h.sine);
        }
        CHECK(std::sqrt(square) == approx(1.0).margin(1e-12));
        for (int n = 0; n < 4800; ++n) peak = std::max(peak, std::abs(tone.at(n / tone.Hz / 4800.0)));
        CHECK(peak < 4.9);  // at a fifth of full scale nothing clips
    }
    // The square's own ratio, from its rectified mean: an averaging meter shows 1.1107 of its rms.
    const auto spec = meter_of(meter::Detector::average, 0.0, 0.0, 1, 60000);
    meter::Context context;
    const auto& square =
        *std::find_if(teach::tones().begin(), teach::tones().end(), [](const auto& t) { return t.name == "square"; });
    const auto r = meter::read(spec, meter::Mode::acv, teach::played(square, 1.0), context);
    CHECK(*r.value == approx(1.1107).epsilon(0.003));
}

TEST_CASE("a second of a wave, played over and over, has no seam") {
    for (const teach::Tone& tone : teach::tones()) {
        INFO(tone.name);
        const auto once = teach::loop(tone);
        REQUIRE(once.size() == static_cast<std::size_t>(teach::tone_rate_Hz));
        double square = 0.0, most = 0.0;
        for (const float y : once) square += static_cast<double>(y) * y, most = std::max(most, std::abs<double>(y));
        CHECK(std::sqrt(square / static_cast<double>(once.size())) == approx(0.2).margin(0.002));
        CHECK(most < 1.0);
        CHECK(once.front() == approx(static_cast<float>(0.2 * tone.at(1.0))).margin(1e-3));  // where it goes on
    }
}

TEST_CASE("the waves as files, and a form that is read back") {
    const test::Scratch folder;
    teach::write_tones(folder / "waves");
    for (const teach::Tone& tone : teach::tones()) {
        const std::string wav = test::slurp(folder / ("waves/" + tone.name + ".wav"));
        INFO(tone.name);
        CHECK(wav.starts_with("RIFF"));
        CHECK(wav.size() == 44 + 8 * 48000 * 2);
        CHECK(wav.substr(20, 2) == std::string("\x01\x00", 2));  // integers, which every player takes
        CHECK(wav.substr(34, 2) == std::string("\x10\x00", 2));
    }
    CHECK_THROWS_WITH(teach::parse_seen(test::slurp(folder / "waves/seen.csv"), "seen.csv"),
                      Contains("no wave has a figure"));
    std::ofstream(folder / "file") << "x";
    CHECK_THROWS_AS(teach::write_tones(folder / "file"), std::invalid_argument);
}

TEST_CASE("every shipped meter is found, or said to be out of reach") {
    teach::Draw dice(5, "shipped meters");
    int found = 0, out_of_reach = 0;
    for (const meter::Spec& spec : meter::load_specs(meter::shipped_meters())) {
        if (!spec.has(meter::Mode::acv)) continue;
        INFO(spec.name);
        const auto own = teach::fitted(seen_with(spec, dice));
        const meter::Function& f = spec.function(meter::Mode::acv);
        if (loud_V / (f.ranges.front() / spec.counts) < 40.0) {  // too coarse for a socket's volts
            CHECK_FALSE(own.reachable);
            ++out_of_reach;
            continue;
        }
        ++found;
        REQUIRE(own.reachable);
        CHECK(own.detector == f.detector);
        if (own.bandwidth.from_above) CHECK(f.bandwidth_Hz > 0.8 * own.bandwidth.low);
        else CHECK(own.bandwidth.Hz == approx(f.bandwidth_Hz).epsilon(0.2));
        CHECK(own.coupling.from_below);  // all of them pass 5 Hz
        // Its file is a meter's file, and reads as the meter did.
        const auto again = meter::parse_spec(own.toml(), "mine.toml");
        CHECK(again.function(meter::Mode::acv).detector == f.detector);
    }
    CHECK(found >= 4);
    CHECK(out_of_reach >= 2);
}

TEST_CASE("random meters with rounding and one per cent of noise are found") { draw_meters(8, 0); }
TEST_CASE("two hundred random meters", "[.soak]") { draw_meters(200, 2); }

TEST_CASE("who read too little is told which wave would tell more") {
    teach::Draw dice(3, "few waves");
    auto seen = seen_with(meter::find_spec("average"), dice);
    std::erase_if(seen.shown, [](const teach::Shown& s) { return !s.name.starts_with("sine"); });
    const auto own = teach::fitted(seen);
    CHECK_FALSE(own.detector);
    CHECK(std::any_of(own.says.begin(), own.says.end(),
                      [](const auto& s) { return s == "The wave pulses would tell most."; }));
    seen.shown.resize(2);
    CHECK_FALSE(teach::fitted(seen).reachable);
}

TEST_CASE("a reading written down amiss is named and asked for again") {
    teach::Draw dice(3, "a slip");
    const auto right = seen_with(meter::find_spec("average"), dice);
    REQUIRE(teach::fitted(right).reachable);
    for (const std::string name : {"sine-200", "square"}) {
        auto seen = right;
        const auto at = std::ranges::find(seen.shown, name, &teach::Shown::name);
        REQUIRE(at != seen.shown.end());
        at->volt *= 10.0;
        const auto own = teach::fitted(seen);
        CHECK_FALSE(own.reachable);
        REQUIRE_FALSE(own.says.empty());
        INFO(own.says.front());
        CHECK(own.says.front().starts_with(name + ", read as"));
    }
}

TEST_CASE("the form as people fill it in, and mistakes in it") {
    const auto seen = teach::parse_seen(
        "counts, 6000\n# a note\nsine-50, 0,312 V\nsquare,346 mV\r\npulses, OL\ntriangle,\n", "s.csv");
    CHECK(seen.counts == 6000.0);
    REQUIRE(seen.shown.size() == 2);
    CHECK(seen.shown[0].volt == approx(0.312).margin(1e-12));
    CHECK(seen.shown[0].step == approx(0.001).margin(1e-9));
    CHECK(seen.shown[1].volt == approx(0.346).margin(1e-12));
    CHECK(seen.left_out == std::vector<std::string>{"pulses", "triangle"});
    const auto says = [](const char* text, const char* part) {
        CHECK_THROWS_WITH(teach::parse_seen(text, "s.csv"), Contains(part));
    };
    says("sine-50 0.3\n", "s.csv:1:1: sine-50 0.3: expected a name, a comma");
    says("counts, 2000\nsine-55, 0.3\n", "s.csv:2:1: sine-55: is no wave");
    says("sine-50, 0.3\nsine-50, 0.4\n", "is there twice");
    says("sine-50, green\n", "s.csv:1:10: sine-50: not understood");
    says("sine-50, 3 A\n", "expected volts");
    says("counts, none\n", "expected the largest figure");
    says("", "no wave has a figure");
}
