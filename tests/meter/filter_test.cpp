#include "meter/filter.hpp"

#include <cmath>
#include <numbers>

#include "catch_shim.hpp"
#include "trace/harmonics.hpp"
#include "trace/statistics.hpp"
#include "trace/waves.hpp"

using namespace sunshaft::trace;
using sunshaft::meter::Crossings;
using sunshaft::meter::Filter;
using sunshaft::meter::Response;
using sunshaft::test::approx;

namespace {
using std::numbers::pi;

// By Parseval: rms from the exact harmonics times |H|, the tail as 1/n^2.
double rms_by_harmonics(View w, double f, const Filter& filter, int count) {
    double sum = 0.0;
    const auto c = harmonics(w, f, count);
    for (std::size_t n = 1; n <= c.size(); ++n) sum += std::norm(c[n - 1] * filter.gain(f * static_cast<double>(n)));
    return std::sqrt(sum);
}

// By small steps of the trapezoidal rule on one first-order low-pass, for many periods.
struct Stepped {
    double rms, rectified;
};
Stepped stepped(View w, double corner, int periods, int steps) {
    const double a = 2 * pi * corner, dt = duration(w) / steps;
    double y = 0.0, square = 0.0, rectified = 0.0;
    for (int p = 0; p < periods; ++p) {
        square = rectified = 0.0;
        for (int k = 0; k < steps; ++k) {
            const double u = value_at(w, start(w) + (k + 0.5) * dt);
            const double next = (y * (1 - 0.5 * a * dt) + a * dt * u) / (1 + 0.5 * a * dt);
            square += dt * (y * y + y * next + next * next) / 3;
            rectified += dt * 0.5 * (std::fabs(y) + std::fabs(next));
            y = next;
        }
    }
    return {std::sqrt(square / duration(w)), rectified / duration(w)};
}
}  // namespace

TEST_CASE("Gain of the stages: -3 dB at the corner, Butterworth beyond") {
    CHECK(std::abs(Filter{}.high_pass(10).gain(10)) == approx(std::sqrt(0.5)).epsilon(1e-12));
    CHECK(std::abs(Filter{}.high_pass(10).gain(1)) == approx(0.1 / std::sqrt(1.01)).epsilon(1e-12));
    for (int order = 1; order <= 4; ++order)
        for (double x : {0.1, 1.0, 3.0})
            CHECK(std::abs(Filter{}.low_pass(1000, order).gain(1000 * x)) ==
                  approx(1 / std::sqrt(1 + std::pow(x, 2 * order))).epsilon(1e-12));
    CHECK(Filter{}.low_pass(0).passes_all());
}

TEST_CASE("A sine through every stage keeps its shape") {
    const Trace w = sine(100, 50, 2, 0.3, 20, 8000);
    for (const Filter& f :
         {Filter{}.high_pass(2), Filter{}.low_pass(80), Filter{}.low_pass(60, 2), Filter{}.low_pass(60, 3),
          Filter{}.low_pass(60, 4), Filter{}.high_pass(5).low_pass(1000).low_pass(400, 4),
          Filter{}.high_pass(3).low_pass(3).low_pass(3), Filter{}.high_pass(30).high_pass(30)}) {
        const Response r = f.respond(w);
        const double rms_ac = 100 / std::sqrt(2.0) * std::abs(f.gain(50)), dc = 20 * std::abs(f.gain(1e-9));
        CHECK(r.mean == approx(dc).margin(2e-5));
        CHECK(r.rms == approx(std::hypot(rms_ac, dc)).epsilon(2e-5));
        if (dc < 1e-6) {
            CHECK(r.rectified_mean == approx(rms_ac * 2 * std::numbers::sqrt2 / pi).epsilon(2e-5));
            // Three equal corners cost digits of what they let through: a part in a million of the input.
            CHECK(r.max == approx(rms_ac * std::numbers::sqrt2).epsilon(1e-4).margin(1e-4));
        }
    }
}

TEST_CASE("A square wave through a first-order low-pass and high-pass: closed form") {
    // Periodic exponential: the low-passed square swings +-tanh(T/4 tau); mean square 1 - (4 tau/T) tanh(T/4
    // tau).
    const double f = 50, T = 1 / f;
    const Trace w = square(1, f);
    for (double corner : {0.5, 5.0, 50.0, 500.0, 50e3}) {
        INFO(corner);
        const double tau = 1 / (2 * pi * corner), x = T / (4 * tau);
        const Response low = Filter{}.low_pass(corner).respond(w), high = Filter{}.high_pass(corner).respond(w);
        CHECK(low.max == approx(std::tanh(x)).epsilon(1e-10));
        CHECK(low.rms * low.rms == approx(1 - std::tanh(x) / x).epsilon(1e-8));
        CHECK(high.max == approx(2 / (1 + std::exp(-2 * x))).epsilon(1e-10));
        CHECK(high.rms * high.rms == approx(std::tanh(x) / x).epsilon(1e-9));
        CHECK(high.rectified_mean == approx(std::tanh(x) / x).epsilon(1e-9));
        // Low-passed: |y| from the zero at t0 with exp(-t0/tau) = (1 + exp(-2x)) / 2.
        const double t0 = -tau * std::log(0.5 * (1 + std::exp(-2 * x))), half = T / 2;
        const double peak = 2 / (1 + std::exp(-2 * x));
        const auto area = [&](double t) { return t + peak * tau * std::exp(-t / tau); };
        const double rectified = (std::fabs(area(t0) - area(0)) + std::fabs(area(half) - area(t0))) / half;
        CHECK(low.rectified_mean == approx(rectified).epsilon(1e-9));
        CHECK(low.mean == approx(0).margin(1e-12));
    }
}

TEST_CASE("rms of filtered switched waves agrees with the sum over their harmonics") {
    const Trace six = SixStep(320, 50).line_to_line(0, 1), pwm = CarrierPwm(320, 50, 0.8, 2000).line_to_line(0, 1);
    for (const Filter& f : {Filter{}.high_pass(3).low_pass(1000, 2), Filter{}.high_pass(3).low_pass(4000, 1),
                            Filter{}.low_pass(500, 4), Filter{}.high_pass(20).low_pass(1500, 3).low_pass(5000)}) {
        // Harmonics of a wave with jumps fall as 1/n, filtered as 1/n^2: the tail of the power beyond N as
        // 1/N^3.
        CHECK(f.respond(six).rms == approx(rms_by_harmonics(six, 50, f, 20000)).epsilon(1e-6));
        CHECK(f.respond(pwm).rms == approx(rms_by_harmonics(pwm, 50, f, 20000)).epsilon(1e-6));
    }
}

TEST_CASE("Rectified mean of a filtered switched wave agrees with small steps") {
    const Trace pwm = CarrierPwm(320, 50, 0.8, 1000).line_to_line(0, 1);
    for (double corner : {200.0, 2000.0, 20000.0}) {
        const Response r = Filter{}.low_pass(corner).respond(pwm);
        const Stepped s = stepped(pwm, corner, 3, 400000);
        CHECK(r.rms == approx(s.rms).epsilon(1e-4));
        CHECK(r.rectified_mean == approx(s.rectified).epsilon(1e-4));
    }
}

TEST_CASE("Break points that change nothing change nothing") {
    const Trace w = CarrierPwm(320, 50, 0.8, 2000).line_to_line(0, 1);
    Trace cut;
    for (const Segment& s : w) {
        const double m = s.t0 + 1e-3 * (s.t1 - s.t0), ym = s.y0 + 1e-3 * (s.y1 - s.y0);
        cut.push_back({s.t0, m, s.y0, ym});
        cut.push_back({m, s.t1, ym, s.y1});
    }
    const Filter f = Filter{}.high_pass(3).low_pass(20e3, 2);
    const Response a = f.respond(w), b = f.respond(cut);
    CHECK(a.rms == approx(b.rms).epsilon(1e-9));
    CHECK(a.rectified_mean == approx(b.rectified_mean).epsilon(1e-8));
    CHECK(a.mean == approx(b.mean).margin(1e-8));
    // Edges of 10 ns instead of none: steep segments beside a slow coupling.
    Trace steep;
    for (std::size_t k = 0; k < w.size(); ++k) {
        const double y_before = k ? w[k - 1].y1 : w.back().y1;
        steep.push_back({w[k].t0, w[k].t0 + 1e-8, y_before, w[k].y0});
        steep.push_back({w[k].t0 + 1e-8, w[k].t1, w[k].y0, w[k].y1});
    }
    const Response c = f.respond(steep);
    CHECK(c.rms == approx(a.rms).epsilon(1e-4));
    CHECK(c.rectified_mean == approx(a.rectified_mean).epsilon(1e-4));
}

TEST_CASE("The drawn wave has the statistics of the exact response") {
    const Trace w = CarrierPwm(320, 50, 0.8, 2000).line_to_line(0, 1);
    const Filter f = Filter{}.high_pass(3).low_pass(20e3, 2).low_pass(1000, 4);
    const Trace drawn = f.wave(w, 1e-4);
    CHECK_NOTHROW(check(drawn));
    const Response r = f.respond(w);
    const Statistics s = statistics(drawn);
    CHECK(s.rms == approx(r.rms).epsilon(1e-3));
    CHECK(s.rectified_mean == approx(r.rectified_mean).epsilon(1e-3));
    CHECK(duration(drawn) == approx(0.02).epsilon(1e-12));
}

TEST_CASE("Crossings and the time above a level, against the drawn wave and closed forms") {
    // First-order low-pass on a square of duty 1/2: half-way up is reached tau ln 2 late and left as late.
    const Trace wave = pulse_train(10, 0.3, 50, 3);
    const Crossings plain = Filter{}.cross(wave, 5, 5);
    CHECK(plain.rising == 3);
    CHECK(plain.above == approx(0.3).epsilon(1e-12));
    const Crossings late = Filter{}.low_pass(5e3).cross(wave, 5, 5);
    CHECK(late.rising == 3);
    CHECK(late.above == approx(0.3).epsilon(1e-6));
    // Through 9 V, which comes tau ln 10 after the edge up and tau ln (10/9) after the edge down.
    const double tau = 1 / (2 * std::numbers::pi * 5e3);
    CHECK(Filter{}.low_pass(5e3).cross(wave, 1, 9).above ==
          approx(0.3 - tau * 50 * (std::log(10.0) - std::log(10.0 / 9.0))).epsilon(1e-5));
    // A sine with a wriggle: hysteresis keeps it from counting twice.
    const auto wriggle = sum(sine(10, 50, 2), sine(2, 1950, 78, 0, 0, 100));
    CHECK(Filter{}.cross(wriggle, 0, 0).rising > 2);
    CHECK(Filter{}.cross(wriggle, -1, 1).rising == 2);
    CHECK(Filter{}.cross(constant(3, 1), -1, 1).rising == 0);
    CHECK(Filter{}.cross(constant(3, 1), -1, 1).above == 1.0);
    CHECK(Filter{}.cross(square(1, 50, 4), -0.1, 0.1).rising == 4);  // one edge lies where the end joins the beginning
    // PWM behind a band: as on the wave drawn finely.
    const auto pwm = CarrierPwm(320, 50, 0.8, 2000).leg(0, 2);
    for (const Filter& f : {Filter{}.high_pass(0.3).low_pass(100e3), Filter{}.high_pass(0.3).low_pass(5e3, 2),
                            Filter{}.high_pass(3).low_pass(400, 4)}) {
        const auto drawn = f.wave(pwm, 1e-6);
        const Response r = f.respond(pwm);
        const double level = 0.1 * std::max(-r.min, r.max), middle = 0.5 * (r.min + r.max);
        int n = 0;
        double above = 0;
        bool armed = false;
        for (int round = 0; round < 2; ++round) {
            n = 0;
            above = 0;
            for (const auto& s : drawn) {
                for (double y : {s.y0, s.y1}) {
                    if (y < -level) armed = true;
                    if (y > level && armed) {
                        armed = false;
                        ++n;
                    }
                }
                const double a = s.y0 - middle, b = s.y1 - middle, dt = s.t1 - s.t0;
                above += a > 0 && b > 0 ? dt : a * b < 0 ? dt * std::max(a, b) / std::fabs(b - a) : 0.0;
            }
        }
        CHECK(f.cross(pwm, -level, level).rising == n);
        CHECK(f.cross(pwm, middle, middle).above == approx(above / duration(pwm)).epsilon(1e-4));
    }
}
