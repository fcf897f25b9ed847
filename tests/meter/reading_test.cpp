#include "meter/reading.hpp"

#include <cmath>
#include <limits>
#include <numbers>

#include "catch_shim.hpp"
#include "meter/display.hpp"
#include "meter/filter.hpp"
#include "meter/standard_waves.hpp"
#include "trace/statistics.hpp"
#include "trace/waves.hpp"

using namespace sunshaft;
using namespace sunshaft::meter;
using sunshaft::test::approx;
using sunshaft::test::Contains;
using trace::Trace;

namespace {
using std::numbers::pi;

// A meter without limits, one mode: nothing but its detector between the wave and the number.
Spec ideal(Mode mode, Detector detector, double coupling_Hz) {
    Spec s;
    s.name = "ideal";
    s.counts = 1e7;
    Function f;
    f.detector = detector;
    f.resistance_ohm = 10e6;
    f.coupling_Hz = coupling_Hz;
    f.ranges = {1000.0};
    f.accuracy = {{}};
    s.functions[mode] = f;
    return s;
}
constexpr double hardly = 1e-7;  // a coupling that keeps out DC and nothing else

double value(const Spec& s, Mode m, const Trace& w, const Context& c = {}) { return read(s, m, w, c).value.value(); }
bool says(const Reading& r, const std::string& part) {
    for (const auto& s : r.reasons)
        if (s.find(part) != std::string::npos) return true;
    return false;
}
}  // namespace

TEST_CASE("Average-responding, true-rms and DC readings of the standard waves of peak 1") {
    // Common handbook matter; each value follows from the wave's shape by hand.
    struct Row {
        const char* name;
        Trace wave;
        double dc, acdc, ac, average;
    };
    const double f = 50.0;
    const Row rows[] = {
        {"sine", trace::sine(1, f), 0, 0.707107, 0.707107, 0.707107},
        {"square", trace::square(1, f), 0, 1, 1, 1.110721},
        {"triangle", trace::triangle(1, f), 0, 0.577350, 0.577350, 0.555360},
        {"full-wave rectified sine", trace::rectified_sine(1, true, f), 0.636620, 0.707107, 0.307758, 0.297711},
        {"half-wave rectified sine", trace::rectified_sine(1, false, f), 0.318310, 0.5, 0.385589, 0.389688},
        {"sine cut at 90 deg", trace::cut_sine(1, 90, f), 0, 0.5, 0.5, 0.353553},
        {"sine and third", trace::sine_and_third(1, 1.0 / 3, f), 0, 0.745356, 0.745356, 0.785674},
        {"sine and third reversed", trace::sine_and_third(1, -1.0 / 3, f), 0, 0.745356, 0.745356, 0.628539},
        {"DC and sine", trace::sine(0.5, f, 1, 0, 1), 1, 1.060660, 0.353553, 0.353553},
        {"quasi-square 30", trace::quasi_square(1, 30, f), 0, 0.408248, 0.408248, 0.185120},
        {"quasi-square 60", trace::quasi_square(1, 60, f), 0, 0.577350, 0.577350, 0.370240},
        {"quasi-square 90", trace::quasi_square(1, 90, f), 0, 0.707107, 0.707107, 0.555360},
        {"quasi-square 120", trace::quasi_square(1, 120, f), 0, 0.816497, 0.816497, 0.740480},
        {"quasi-square 150", trace::quasi_square(1, 150, f), 0, 0.912871, 0.912871, 0.925601},
        {"pulse train 0.25", trace::pulse_train(1, 0.25, f), 0.25, 0.5, 0.433013, 0.416520},
        {"pulse train 0.1", trace::pulse_train(1, 0.1, f), 0.1, 0.316228, 0.3, 0.199930},
        {"six-step line-line", trace::SixStep(1, f).line_to_line(0, 1), 0, 0.816497, 0.816497, 0.740480},
        {"six-step line-star", trace::SixStep(1, f).line_to_star(0), 0, 0.471405, 0.471405, 0.493654},
    };
    for (const Row& r : rows) {
        INFO(r.name);
        CHECK(value(ideal(Mode::dcv, Detector::mean, 0), Mode::dcv, r.wave) == approx(r.dc).margin(1.5e-6));
        CHECK(value(ideal(Mode::acdcv, Detector::rms, 0), Mode::acdcv, r.wave) == approx(r.acdc).margin(1.5e-6));
        CHECK(value(ideal(Mode::acv, Detector::rms, hardly), Mode::acv, r.wave) == approx(r.ac).margin(2e-6));
        CHECK(value(ideal(Mode::acv, Detector::average, hardly), Mode::acv, r.wave) == approx(r.average).margin(2e-6));
    }
}

TEST_CASE("Whatever the meter's limits, its own arithmetic stays within 0.01 % of closed form") {
    // Six-step through first-order coupling: rms by the sum over harmonics, independent of the segment
    // formulas.
    const Trace w = trace::SixStep(320, 50).line_to_line(0, 1);
    const double coupling = 0.3, bandwidth = 20e3;
    double sum = 0.0;
    for (int n = 1; n < 200001; n += 2) {
        if (n % 3 == 0) continue;
        const double x = 50.0 * n, v = 320 * std::sqrt(6.0) / pi / n;
        sum += v * v * (x * x / (x * x + coupling * coupling)) / (1 + x * x / (bandwidth * bandwidth));
    }
    CHECK(value(find_spec("true-rms"), Mode::acv, w) == approx(std::sqrt(sum)).epsilon(1e-5));
}

TEST_CASE("PWM 8 kHz on 320 V at index 0.8: three meters, three numbers") {
    const Trace w = trace::CarrierPwm(320, 50, 0.8, 8000).line_to_line(0, 1, 5);
    Context c;
    c.fundamental_Hz = 50;
    c.carrier_Hz = 8000;
    Spec average = find_spec("average"), rms = find_spec("true-rms");
    for (double bandwidth : {1e3, 5e3, 20e3, 100e3, 0.0}) {
        average.functions[Mode::acv].bandwidth_Hz = bandwidth;
        INFO(bandwidth);
        CHECK(value(average, Mode::acv, w, c) == approx(157).margin(1.0));
    }
    const double expected[][2] = {{5e3, 163}, {20e3, 186}, {100e3, 206}};
    for (const auto& [bandwidth, volt] : expected) {
        rms.functions[Mode::acv].bandwidth_Hz = bandwidth;
        CHECK(value(rms, Mode::acv, w, c) == approx(volt).margin(0.5));
    }
    CHECK(value(find_spec("true-rms-drive"), Mode::acv_lowpass, w, c) == approx(157).margin(0.5));
    // Closed forms: fundamental sqrt(3)/(2 sqrt 2) m V, rms V sqrt(sqrt(3) m / pi).
    const Reading r = read(rms, Mode::acv, w, c);
    CHECK(r.truth.fundamental_rms.value() == approx(std::sqrt(3.0 / 8) * 0.8 * 320).epsilon(1e-3));
    CHECK(r.truth.rms.value() == approx(320 * std::sqrt(std::sqrt(3.0) * 0.8 / pi)).epsilon(1e-3));
}

TEST_CASE("Low impedance kills a 50 Hz ghost and not one coupled from PWM through 12 nF") {
    // The source seen through 12 nF into the tester is a first-order high-pass at 1 / (2 pi R C).
    const Spec tester = find_spec("low-impedance");
    const double corner = 1 / (2 * pi * input_resistance(tester, Mode::acv_loaded) * 12e-9);
    const Filter into_meter = Filter{}.high_pass(corner);
    Context c;
    c.source_F = 12e-9;
    c.fundamental_Hz = 50;
    const Trace mains = trace::sine(230 * std::numbers::sqrt2, 50, 5);
    const Reading ghost = read(tester, Mode::acv_loaded, into_meter.wave(mains, 1e-5), c);
    CHECK(ghost.value.value() == approx(230 / std::sqrt(1 + std::pow(corner / 50, 2))).epsilon(1e-3));
    CHECK(ghost.value.value() < 5.0);
    CHECK(says(ghost, "ghost voltage"));
    c.carrier_Hz = 8000;
    const Trace pwm = trace::CarrierPwm(320, 50, 0.8, 8000).line_to_line(0, 1, 2);
    const Reading stays = read(tester, Mode::acv_loaded, into_meter.wave(pwm, 1e-4), c);
    CHECK(stays.value.value() > 60.0);
    CHECK(says(stays, "it does not vanish"));
}

TEST_CASE("Accuracy arithmetic: percent of reading and counts") {
    // Worked by hand from the rule +-(p % of reading + n counts), a count being one step of the display.
    Function f;
    f.accuracy = {{0.5, 2}};
    CHECK(accuracy(f, 350.0, 600, 0.1, {}).tolerance == approx(1.95).epsilon(1e-12));
    f.accuracy = {{1.0, 3}};
    CHECK(accuracy(f, 229.8, 600, 0.1, {}).tolerance == approx(2.598).epsilon(1e-12));
    f.accuracy = {{0.9, 2}};
    CHECK(accuracy(f, 1.8, 600, 0.1, {}).tolerance == approx(0.2162).epsilon(1e-12));
    f.accuracy = {{2.0, 5}};
    CHECK(accuracy(f, 6.42, 60, 0.01, {}).tolerance == approx(0.1784).epsilon(1e-12));
    // A pointer's class counts on the full scale, whatever it shows.
    f.accuracy = {{0, 0, 1.5}};
    CHECK(accuracy(f, 100, 600, 5, {}).tolerance == approx(9).epsilon(1e-12));
    // The first line whose band and range fit.
    f.accuracy = {{1.0, 0, 0, 60}, {2.0, 0, 0, 0, 0, 100}, {3.0, 0, 0, 0, 100, 1000}};
    CHECK(accuracy(f, 10, 60, 0.1, 500).tolerance == approx(0.1).epsilon(1e-12));
    CHECK(accuracy(f, 10, 600, 0.1, 50).tolerance == approx(0.2).epsilon(1e-12));
    CHECK(accuracy(f, 10, 600, 0.1, 500).tolerance == approx(0.3).epsilon(1e-12));
    CHECK_FALSE(accuracy(f, 10, 600, 0.1, 5000).stated);
}

TEST_CASE("Ranges, counts and rounding") {
    const Spec rms = find_spec("true-rms"), average = find_spec("average"), needle = find_spec("moving-iron");
    CHECK(display(rms, Mode::acv, 237.13, {}).text == "237.1 V");
    CHECK(display(rms, Mode::acv, 59.999, {}).text == "60.00 V");
    CHECK(display(rms, Mode::acv, 600.4, {}).text == "600.4 V");
    CHECK(display(rms, Mode::acv, 0.41234, {}).text == "412.3 mV");
    CHECK(display(rms, Mode::ohm, 4700, {}).text == "4.700 kohm");
    CHECK(display(rms, Mode::cap, 12e-9, {}).text == "12.0 nF");
    CHECK(display(average, Mode::acv, 237.13, {}).text == "237 V");
    CHECK(display(average, Mode::acv, 23.713, {}).text == "23.7 V");
    CHECK(display(average, Mode::acv, 800, {}).text == "OL");
    CHECK(display(average, Mode::acv, 23.7, 700.0).text == "24 V");
    CHECK(display(average, Mode::acv, 300, 15.0).over);
    CHECK(display(average, Mode::dcv, -3e-6, {}).text == "0.0 mV");
    CHECK(display(needle, Mode::acv, 237.13, {}).text == "about 235 V");
    CHECK_THROWS_WITH(display(average, Mode::acv, 1, 33.0), Contains("no range of 33 V"));
    CHECK(quantity(0.0931, "%") == "9.3 %");
    CHECK(quantity(20e3, "Hz") == "20 kHz");
    CHECK(quantity(0.0123456, "A") == "12.35 mA");
    CHECK(quantity(0, "V") == "0 V");
}

TEST_CASE("An over-range reading has no value") {
    const Spec m = find_spec("low-impedance");
    const Reading r = read(m, Mode::acv, trace::sine(1200, 50, 3));
    CHECK(r.over_range);
    CHECK(r.shown == "OL");
    CHECK_FALSE(r.value);
    CHECK_FALSE(r.low);
    CHECK(r.truth.rms.value() == approx(1200 / std::sqrt(2.0)).epsilon(1e-6));
    CHECK(r.reasons.size() >= 2);
}

TEST_CASE("What does not exist is empty, not nought") {
    const Reading r = read(find_spec("true-rms"), Mode::dcv, trace::constant(12, 1));
    CHECK_FALSE(r.truth.fundamental_Hz);
    CHECK_FALSE(r.truth.fundamental_rms);
    CHECK(r.truth.crest_factor.value() == approx(1).epsilon(1e-12));
    CHECK_FALSE(read(find_spec("true-rms"), Mode::dcv, trace::constant(0, 1)).truth.crest_factor);
}

TEST_CASE("The wrong position of the switch is told") {
    const Spec m = find_spec("average");
    Context c;
    c.red = "dc+";
    c.black = "dc-";
    const Reading dc_on_ac = read(m, Mode::acv, trace::sine(1, 300, 30, 0, 320), c);
    CHECK(dc_on_ac.value.value() < 1.0);
    CHECK(says(dc_on_ac, "320 V of DC voltage is present between dc+ and dc-"));
    CHECK(says(dc_on_ac, "before you call this point dead"));
    const Reading ac_on_dc = read(m, Mode::dcv, trace::SixStep(320, 50).line_to_line(0, 1, 3));
    CHECK(std::fabs(ac_on_dc.value.value()) < 1e-6);
    CHECK(says(ac_on_dc, "does not make it dead"));
    // Without a capacitor in front of its rectifier the old needle meter shows DC times 1.11.
    const Reading needle = read(find_spec("moving-coil-rectifier"), Mode::acv, trace::constant(100, 1));
    CHECK(needle.value.value() == approx(111.0721).epsilon(1e-6));
    CHECK(says(needle, "11.1 % high"));
}

TEST_CASE("Crest factor beyond the range cuts the peaks off") {
    Spec m = find_spec("true-rms");
    // Pulses of 500 V, duty 0.005: rms 35.4 V goes to the 80 V range, which takes peaks of 240 V.
    const Trace w = trace::pulse_train(500, 0.005, 50, 4);
    m.functions[Mode::acv].bandwidth_Hz = 0.0;
    m.functions[Mode::acv].coupling_Hz = hardly;
    const Reading r = read(m, Mode::acv, w);
    const double mean = 2.5, low = -mean;
    const double cut = std::sqrt(0.005 * 240 * 240 + 0.995 * low * low);
    CHECK(r.value.value() == approx(cut).epsilon(1e-3));
    REQUIRE_FALSE(r.warnings.empty());
    CHECK_THAT(r.warnings.front(), Contains("cut off"));
    CHECK(read(m, Mode::acv, trace::pulse_train(100, 0.2, 50, 4)).warnings.empty());
}

TEST_CASE("A transformer clamp weakens at low frequency and gives no DC; a Hall clamp drifts") {
    const Spec ct = find_spec("clamp-ac"), hall = find_spec("clamp-hall");
    for (double f : {5.0, 10.0, 50.0})
        CHECK(value(ct, Mode::aca, trace::sine(10, f, 5)) ==
              approx(10 / std::sqrt(2.0) / std::sqrt(1 + std::pow(8 / f, 2)) / std::sqrt(1 + std::pow(f / 1e3, 2)))
                  .epsilon(1e-4));
    CHECK(value(ct, Mode::aca, trace::constant(10, 1)) == approx(0).margin(1e-9));
    const Reading dc = read(hall, Mode::dca, trace::constant(3, 1));
    CHECK(dc.value.value() == approx(3).epsilon(1e-12));
    // 1.8 % + 10 counts of 0.01 A, and the drift of 0.15 A.
    CHECK(dc.high.value() - 3 == approx(0.054 + 0.1 + 0.15).epsilon(1e-9));
    CHECK(dc.unit == "A");
}

TEST_CASE("Frequency: behind a low-pass the motor's, without it the carrier's") {
    const Trace w = trace::CarrierPwm(320, 50, 0.8, 8000).leg(0, 5);
    const Trace ll = trace::CarrierPwm(320, 50, 0.8, 8000).line_to_line(0, 1, 5);
    Context c;
    c.fundamental_Hz = 50;
    c.carrier_Hz = 8000;
    CHECK(value(find_spec("true-rms-drive"), Mode::hz, ll, c) == approx(50).epsilon(1e-9));
    const Reading counts_edges = read(find_spec("true-rms-wide"), Mode::hz, w, c);
    CHECK(counts_edges.value.value() == approx(8000).epsilon(0.01));
    CHECK(says(counts_edges, "carrier of 8 kHz"));
    CHECK(value(find_spec("true-rms"), Mode::hz, trace::sine(230, 49.7, 5)) == approx(49.7).epsilon(1e-6));
    CHECK(value(find_spec("true-rms"), Mode::hz, trace::constant(100, 1)) == 0.0);
}

TEST_CASE("The ratio to the link is offered") {
    Context c;
    c.link_V = 320;
    c.output = true;
    c.ideal_six_step = true;
    const Trace w = trace::SixStep(320, 50).line_to_line(0, 1, 3);
    const Reading r = read(find_spec("average"), Mode::acv, w, c);
    CHECK(r.link_ratio.value() == approx(0.7405).epsilon(0.003));
    CHECK(says(r, "of the link's 320 V. That ratio hardly moves with the sun"));
    CHECK_FALSE(read(find_spec("average"), Mode::dcv, w, c).link_ratio);
}

TEST_CASE("Input capacitance works behind the resistance of the source") {
    Context c;
    c.source_ohm = 1e6;
    Spec m = ideal(Mode::acv, Detector::rms, hardly);
    m.functions[Mode::acv].capacitance_F = 1e-9;
    const double corner = 1 / (2 * pi * (1e6 * 10e6 / 11e6) * 1e-9);
    CHECK(value(m, Mode::acv, trace::sine(100, 400, 4), c) ==
          approx(100 / std::sqrt(2.0) / std::sqrt(1 + std::pow(400 / corner, 2))).epsilon(1e-5));
    c.source_ohm = 1.0;
    CHECK(value(m, Mode::acv, trace::sine(100, 400, 4), c) == approx(100 / std::sqrt(2.0)).epsilon(1e-5));
}

TEST_CASE("Bad calls are refused with words") {
    const Spec m = find_spec("true-rms");
    CHECK_THROWS_AS(read(m, Mode::acv, Trace{}), std::invalid_argument);
    CHECK_THROWS_AS(read(m, Mode::ohm, trace::constant(1, 1)), std::invalid_argument);
    CHECK_THROWS_AS(read(m, Mode::aca, trace::constant(1, 1)), std::invalid_argument);
    CHECK_THROWS_AS(read(m, Mode::acv, resistance(1)), std::invalid_argument);
    CHECK_THROWS_AS(read(m, Mode::acv, Trace{{0, 1, std::nan(""), 1}}), std::invalid_argument);
    Context c;
    c.manual_range = 7;
    CHECK_THROWS_AS(read(m, Mode::acv, trace::sine(1, 50), c), std::invalid_argument);
    CHECK_THROWS_AS(read(m, Mode::ohm, resistance(1), c), std::invalid_argument);
}

TEST_CASE("Standard waves on every shipped meter") {
    for (const Spec& m : load_specs(shipped_meters())) {
        INFO(m.name);
        const auto rows = standard_readings(m);
        CHECK(rows.size() % 9 == 0);
        for (const auto& row : rows)
            for (const auto& [mode, r] : row.readings) {
                INFO(row.wave << " " << mode_name(mode));
                CHECK(r.reasons.size() >= 2);
                CHECK(r.reasons.size() <= 5);
                CHECK((r.over_range || std::isfinite(r.value.value())));
            }
    }
}

TEST_CASE("Waves are kept at every stage when asked for") {
    Context c;
    c.keep_waves = true;
    const Reading r = read(find_spec("average"), Mode::acv, trace::SixStep(320, 50).line_to_line(0, 1, 2), c);
    REQUIRE(r.stages.size() >= 5);
    CHECK(r.stages.front().name == "probes");
    CHECK(r.stages.back().name == "display");
    for (const Stage& s : r.stages) {
        INFO(s.name);
        if (s.wave.empty()) continue;
        CHECK_NOTHROW(trace::check(s.wave));
        const auto st = trace::statistics(s.wave);
        CHECK((s.number_is == "rms" ? st.rms : st.mean) == approx(s.number).epsilon(2e-3));
    }
}
