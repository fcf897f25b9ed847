// Closed forms of the standard waves: common handbook matter; bridge output after N. Mohan, T. Undeland, W.
// Robbins, "Power Electronics", 3rd ed., 2003, ch. 8, and D. G. Holmes, T. A. Lipo, "Pulse Width Modulation for
// Power Converters", 2003 (both from memory; every value also follows by hand from the wave's shape).
#include "trace/statistics.hpp"

#include <cmath>
#include <numbers>

#include "catch_shim.hpp"
#include "trace/harmonics.hpp"
#include "trace/waves.hpp"

using namespace sunshaft::trace;
using sunshaft::test::approx;

namespace {
using std::numbers::pi;
const double K = pi / (2.0 * std::numbers::sqrt2);

struct Row {
    const char* name;
    Trace wave;
    double dc, rms, rms_ac, average, crest;
};
}  // namespace

TEST_CASE("Standard waves of peak 1: mean, rms, average-responding value, crest") {
    const double f = 50.0;
    const Row rows[] = {
        {"sine", sine(1, f), 0, 0.707107, 0.707107, 0.707107, 1.414214},
        {"square", square(1, f), 0, 1, 1, 1.110721, 1},
        {"triangle", triangle(1, f), 0, 0.577350, 0.577350, 0.555360, 1.732051},
        {"full-wave rectified", rectified_sine(1, true, f), 0.636620, 0.707107, 0.307758, 0.297711, 1.414214},
        {"half-wave rectified", rectified_sine(1, false, f), 0.318310, 0.5, 0.385589, 0.389688, 2},
        {"sine cut at 90 deg", cut_sine(1, 90, f), 0, 0.5, 0.5, 0.353553, 2},
        {"sine and third", sine_and_third(1, 1.0 / 3, f), 0, 0.745356, 0.745356, 0.785674, 1.264911},
        {"sine and third reversed", sine_and_third(1, -1.0 / 3, f), 0, 0.745356, 0.745356, 0.628539, 1.788854},
        {"DC and sine", sine(0.5, f, 1, 0, 1), 1, 1.060660, 0.353553, 0.353553, 1.414214},
        {"quasi-square 30", quasi_square(1, 30, f), 0, 0.408248, 0.408248, 0.185120, 1 / 0.408248},
        {"quasi-square 60", quasi_square(1, 60, f), 0, 0.577350, 0.577350, 0.370240, 1 / 0.577350},
        {"quasi-square 90", quasi_square(1, 90, f), 0, 0.707107, 0.707107, 0.555360, 1 / 0.707107},
        {"quasi-square 120", quasi_square(1, 120, f), 0, 0.816497, 0.816497, 0.740480, 1 / 0.816497},
        {"quasi-square 150", quasi_square(1, 150, f), 0, 0.912871, 0.912871, 0.925601, 1 / 0.912871},
        {"pulse 0.25", pulse_train(1, 0.25, f), 0.25, 0.5, 0.433013, 0.416520, 2},
        {"pulse 0.1", pulse_train(1, 0.1, f), 0.1, 0.316228, 0.3, 0.199930, 3.162278},
    };
    for (const Row& r : rows) {
        INFO(r.name);
        const Statistics s = statistics(r.wave);
        CHECK(s.duration == approx(1 / f).epsilon(1e-12));
        CHECK(s.mean == approx(r.dc).margin(1.5e-6));
        CHECK(s.rms == approx(r.rms).margin(1.5e-6));
        CHECK(s.rms_ac == approx(r.rms_ac).margin(1.5e-6));
        CHECK(K * s.rectified_mean_ac == approx(r.average).margin(1.5e-6));
        // The crest of a DC and a sine is quoted for the peak over rms of the whole, 1.5 / 1.0607.
        CHECK(s.crest == approx(r.crest).epsilon(3e-6));
    }
    const Statistics pulse = statistics(pulse_train(1, 0.25, f));
    CHECK(pulse.crest_ac == approx(0.75 / std::sqrt(0.25 * 0.75)).epsilon(1e-12));
}

TEST_CASE("Six-step bridge, per unit of the link voltage") {
    const SixStep bridge(1.0, 50.0);
    const Statistics ll = statistics(bridge.line_to_line(0, 1, 2)), ln = statistics(bridge.line_to_star(0, 2));
    CHECK(ll.rms == approx(std::sqrt(2.0 / 3)).epsilon(1e-12));
    CHECK(ll.rectified_mean == approx(2.0 / 3).epsilon(1e-12));
    CHECK(K * ll.rectified_mean_ac == approx(0.740480).margin(1e-6));
    CHECK(ll.crest == approx(1.224745).margin(1e-6));
    CHECK(ln.rms == approx(std::sqrt(2.0) / 3).epsilon(1e-12));
    CHECK(ln.rectified_mean == approx(4.0 / 9).epsilon(1e-12));
    CHECK(K * ln.rectified_mean_ac == approx(0.493654).margin(1e-6));
    CHECK(ln.crest == approx(1.414214).margin(1e-6));
    CHECK(K * ln.rectified_mean_ac / ln.rms - 1 == approx(0.047198).margin(1e-6));
    // The leg against the negative rail, and the star point against the middle of the link: a square at three
    // times f.
    CHECK(statistics(bridge.leg(0, 2)).mean == approx(0.5).epsilon(1e-12));
    const Trace common = scaled(sum(sum(bridge.leg(0), bridge.leg(1)), bridge.leg(2)), 1.0 / 3, -0.5);
    CHECK(statistics(common).rms == approx(1.0 / 6).epsilon(1e-12));
    CHECK(std::abs(phasor(common, 150)) == approx(4 / pi / std::sqrt(2.0) / 6).epsilon(1e-9));
    CHECK(std::abs(phasor(common, 50)) == approx(0).margin(1e-12));
}

TEST_CASE("120 degree conduction into a resistive star") {
    // Phase: +1/2, 0, -1/2; line: 1/2, 1, 1/2, ... the two-level wave of book figures.
    const Trace phase = quasi_square(0.5, 120, 50);
    Trace delayed = quasi_square(0.5, 120, 50, 2);
    delayed = slice(delayed, 0.02 - 0.02 / 3, 0.04 - 0.02 / 3);
    for (Segment& s : delayed) s.t0 -= 0.02 - 0.02 / 3, s.t1 -= 0.02 - 0.02 / 3;
    const Statistics p = statistics(phase), l = statistics(sum(phase, delayed, -1.0));
    CHECK(p.rms == approx(0.408248).margin(1e-6));
    CHECK(p.rectified_mean == approx(1.0 / 3).epsilon(1e-9));
    CHECK(K * p.rectified_mean_ac == approx(0.370240).margin(1e-6));
    CHECK(p.crest == approx(1.224745).margin(1e-6));
    CHECK(l.rms == approx(0.707107).margin(1e-6));
    CHECK(l.rectified_mean == approx(2.0 / 3).epsilon(1e-9));
    CHECK(K * l.rectified_mean_ac == approx(0.740480).margin(1e-6));
    CHECK(l.crest == approx(1.414214).margin(1e-6));
    CHECK(std::abs(phasor(phase, 50)) == approx(0.389848).margin(1e-6));
    CHECK(std::abs(phasor(sum(phase, delayed, -1.0), 50)) == approx(0.675237).margin(1e-6));
}

TEST_CASE("Sine-triangle PWM at a high carrier ratio") {
    using Offset = CarrierPwm::Offset;
    const double m = 0.8;
    const CarrierPwm pwm(1.0, 50.0, m, 12000.0);
    const Trace ll_wave = pwm.line_to_line(0, 1), ln_wave = pwm.line_to_star(0);
    const Statistics ll = statistics(ll_wave), ln = statistics(ln_wave), leg = statistics(pwm.leg(0));
    CHECK(std::abs(phasor(ll_wave, 50)) == approx(0.612372 * m).epsilon(1e-3));
    CHECK(ll.rms == approx(0.742515 * std::sqrt(m)).epsilon(1e-3));
    CHECK(K * ll.rectified_mean_ac == approx(0.612372 * m).epsilon(1e-3));
    CHECK(std::abs(phasor(ln_wave, 50)) == approx(0.353553 * m).epsilon(1e-3));
    CHECK(ln.rms == approx(0.428691 * std::sqrt(m)).epsilon(1e-3));
    CHECK(K * ln.rectified_mean_ac == approx(m / std::sqrt(6.0)).epsilon(1e-3));
    CHECK(leg.mean == approx(0.5).margin(1e-4));
    CHECK(leg.rms_ac == approx(0.5).margin(1e-4));
    CHECK(K * leg.rectified_mean_ac == approx(0.555360).epsilon(1e-3));
    for (const Offset offset : {Offset::third_harmonic, Offset::space_vector}) {
        const CarrierPwm other(1.0, 50.0, m, 12000.0, offset);
        const Statistics o = statistics(other.line_to_line(0, 1));
        CHECK(o.rms == approx(0.742515 * std::sqrt(m)).epsilon(1e-3));
        CHECK(K * o.rectified_mean_ac == approx(0.612372 * m).epsilon(1e-3));
        const CarrierPwm limit(1.0, 50.0, 2 / std::sqrt(3.0), 12000.0, offset);
        CHECK(std::abs(phasor(limit.line_to_line(0, 1), 50)) == approx(0.707107).epsilon(1e-3));
        CHECK(statistics(limit.line_to_line(0, 1)).rms == approx(0.797885).epsilon(1e-3));
        CHECK(std::abs(phasor(limit.line_to_line(0, 1), 50)) /
                  std::abs(phasor(SixStep(1, 50).line_to_line(0, 1), 50)) ==
              approx(0.906900).epsilon(1e-3));
    }
}

TEST_CASE("The single-pass accumulator agrees with the two-pass statistics") {
    const Trace w = CarrierPwm(320, 50, 0.8, 8000).line_to_line(0, 1);
    Accumulator a;
    for (const Segment& s : w) a.add(s);
    const Statistics s = statistics(w);
    CHECK(a.rms() == approx(s.rms).epsilon(1e-14));
    CHECK(a.rms_ac() == approx(s.rms_ac).epsilon(1e-10));
    CHECK(a.mean() == approx(s.mean).margin(1e-10));
    CHECK(a.rectified_mean() == approx(s.rectified_mean).epsilon(1e-14));
    CHECK(a.min() == -320.0);
    CHECK(a.max() == 320.0);
    CHECK(Accumulator{}.rms() == 0.0);
    CHECK(Accumulator{}.max() == 0.0);
}

TEST_CASE("Small ripple on a large DC keeps its digits") {
    const Statistics s = statistics(sine(1e-6, 50, 1, 0, 1e3));
    CHECK(s.rms_ac == approx(1e-6 / std::sqrt(2.0)).epsilon(1e-5));
}
