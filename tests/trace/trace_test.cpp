#include "trace/trace.hpp"

#include <cmath>
#include <limits>
#include <stdexcept>

#include "catch_shim.hpp"
#include "trace/period.hpp"
#include "trace/statistics.hpp"
#include "trace/waves.hpp"

using namespace sunshaft::trace;
using sunshaft::test::approx;

TEST_CASE("A trace keeps its jumps") {
    const Trace t{{0, 1, 0, 2}, {1, 3, 5, 5}};
    CHECK(start(t) == 0);
    CHECK(finish(t) == 3);
    CHECK(duration(t) == 3);
    CHECK(value_at(t, 0.5) == 1);
    CHECK(value_at(t, 1) == 5);  // an edge counts as passed
    CHECK(value_at(t, -1) == 0);
    CHECK(value_at(t, 9) == 5);
    const Trace s = slice(t, 0.5, 2);
    REQUIRE(s.size() == 2);
    CHECK(s[0].y0 == 1);
    CHECK(s[0].y1 == 2);
    CHECK(s[1].t1 == 2);
    CHECK(slice(t, 3, 4).empty());
    CHECK(slice(t, 2, 2).empty());
    CHECK(value_at({}, 1) == 0);
    CHECK(scaled(t, -2, 1)[1].y0 == -9);
}

TEST_CASE("Sum of two traces has the break points of both") {
    const Trace a{{0, 1, 0, 1}, {1, 2, 3, 3}}, b{{0, 0.5, 1, 1}, {0.5, 2, 2, 2}};
    const Trace d = sum(a, b, -1);
    REQUIRE(d.size() == 3);
    CHECK(d[0].y1 == -0.5);
    CHECK(d[1].y0 == -1.5);
    CHECK(d[2].y0 == 1);
    CHECK_NOTHROW(check(d));
}

TEST_CASE("Recorded columns become signals and differences") {
    Recording r;
    r.names = {"a", "b"};
    r.t0 = {0, 1};
    r.t1 = {1, 2};
    r.y0 = {{1, 2}, {10, 20}};
    r.y1 = {{3, 4}, {30, 40}};
    CHECK(r.signal(1)[0].y1 == 30);
    CHECK(r.difference(1, 0)[1].y0 == 18);
}

TEST_CASE("A broken trace is refused") {
    CHECK_THROWS_AS(check(Trace{{0, 0, 1, 1}}), std::invalid_argument);
    CHECK_THROWS_AS(check(Trace{{0, 1, 1, std::nan("")}}), std::invalid_argument);
    CHECK_THROWS_AS(check(Trace{{0, 1, std::numeric_limits<double>::infinity(), 1}}), std::invalid_argument);
    CHECK_THROWS_AS(check(Trace{{0, 1, 1, 1}, {2, 3, 1, 1}}), std::invalid_argument);
}

TEST_CASE("The fundamental of switched waves is found, windows of broken periods included") {
    struct Row {
        const char* name;
        Trace wave;
        double f;
    };
    const Row rows[] = {
        {"sine", sine(1, 50, 10), 50},
        {"six-step", SixStep(320, 31.7).line_to_line(0, 1, 8), 31.7},
        {"pwm, little modulated", CarrierPwm(320, 25, 0.1, 8000).line_to_line(0, 1, 8), 25},
        {"pwm leg to rail", CarrierPwm(320, 40, 0.3, 3000).leg(0, 8), 40},
        {"triangle", triangle(1, 60, 6), 60},
        {"pulse train", pulse_train(24, 0.2, 400, 9), 400},
        {"half-wave", rectified_sine(1, false, 50, 5), 50},
        {"sine on DC", sine(1, 50, 8, 0.4, 300), 50},
    };
    for (const Row& r : rows) {
        INFO(r.name);
        const auto whole = fundamental_Hz(r.wave);
        REQUIRE(whole);
        CHECK(*whole == approx(r.f).epsilon(2e-4));
        const auto broken = fundamental_Hz(slice(r.wave, 0.31 / r.f, finish(r.wave) - 0.17 / r.f));
        REQUIRE(broken);
        CHECK(*broken == approx(r.f).epsilon(1e-3));
    }
    CHECK_FALSE(fundamental_Hz(constant(5, 1)));
    CHECK_FALSE(fundamental_Hz({}));
    for (const Trace& once :
         {sine(1, 50), square(1, 50), quasi_square(1, 30, 50), quasi_square(1, 60, 50), pulse_train(1, 0.1, 50),
          SixStep(1, 50).line_to_line(0, 1), CarrierPwm(1, 50, 0.8, 2000).line_to_line(0, 1)})
        CHECK_FALSE(fundamental_Hz(once));
}

TEST_CASE("Whole periods are cut from the end") {
    const Trace w = sine(1, 50, 5);
    CHECK(whole_periods(w, 50) == 5);
    CHECK(duration(last_periods(w, 50, 2)) == approx(0.04).epsilon(1e-12));
    const Trace broken = slice(w, 0, 0.093);
    CHECK(whole_periods(broken, 50) == 4);
    CHECK(statistics(last_periods(broken, 50)).mean == approx(0).margin(1e-12));
    CHECK(last_periods(w, 5).empty());
}
