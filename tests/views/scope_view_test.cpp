// The scope's arithmetic: trigger, thinning, ticks, cursors.
#include "model/scope_view.hpp"

#include "trace/waves.hpp"

#include <algorithm>
#include <cmath>
#include <numbers>

#include "catch_shim.hpp"
#include "model/history.hpp"
#include "trace/statistics.hpp"
#include "trace/waves.hpp"

using namespace sunshaft;
using namespace sunshaft::view;
using sunshaft::test::approx;

TEST_CASE("an edge of a square wave triggers at its instant") {
    const trace::Trace square = trace::square(10.0, 50.0, 10);  // +10 for 10 ms, -10 for 10 ms, from t = 0
    Trigger trigger;
    trigger.level = 1.0;
    trigger.position = 0.25;
    const auto rising = find_sweep(square, trigger, 0.02);
    REQUIRE(rising);
    REQUIRE(rising->trigger_t);
    // The newest rising edge with 15 ms behind it, of 200 ms: at 180 ms.
    REQUIRE(*rising->trigger_t == approx(0.180).margin(1e-12));
    REQUIRE(rising->from == approx(0.175).margin(1e-12));
    REQUIRE(rising->to == approx(0.195).margin(1e-12));
    trigger.slope = Slope::falling;
    const auto falling = find_sweep(square, trigger, 0.02);
    REQUIRE(falling);
    REQUIRE(*falling->trigger_t == approx(0.170).margin(1e-12));
}

TEST_CASE("a slope triggers where it passes the level") {
    const trace::Trace triangle = trace::triangle(1.0, 1.0, 4);
    const std::vector<double> up = crossings(triangle, 0.5, Slope::rising),
                              down = crossings(triangle, 0.5, Slope::falling);
    REQUIRE(up.size() == 4);
    REQUIRE(down.size() == 4);
    for (const double t : up) REQUIRE(trace::value_at(triangle, t) == approx(0.5).margin(1e-12));
    // From the rise through 0.5 over the peak to the fall through it: a quarter of a period of a triangle of
    // height 1.
    REQUIRE(down[1] - up[1] == approx(0.25).margin(1e-12));
}

TEST_CASE("automatic runs free, normal and single wait") {
    const trace::Trace flat = trace::constant(3.0, 1.0);
    Trigger trigger;
    trigger.level = 5.0;
    const auto free = find_sweep(flat, trigger, 0.2);
    REQUIRE(free);
    REQUIRE_FALSE(free->trigger_t);
    REQUIRE(free->to == approx(1.0).margin(1e-12));
    trigger.sweep = Sweep::normal;
    REQUIRE_FALSE(find_sweep(flat, trigger, 0.2));
    trigger.sweep = Sweep::single;
    REQUIRE_FALSE(find_sweep(flat, trigger, 0.2));
    REQUIRE_FALSE(find_sweep({}, Trigger{}, 0.2));
}

TEST_CASE("single takes the first edge after it was armed, once all of it is there") {
    const trace::Trace square = trace::square(10.0, 50.0, 10);
    Trigger trigger;
    trigger.sweep = Sweep::single;
    trigger.position = 0.0;
    const auto hit = find_sweep(square, trigger, 0.01, 0.05);
    REQUIRE(hit);
    REQUIRE(*hit->trigger_t == approx(0.06).margin(1e-12));
    REQUIRE_FALSE(find_sweep(square, trigger, 0.01, 0.185));  // no edge after 180 ms
    REQUIRE_FALSE(find_sweep(square, trigger, 0.05, 0.17));   // the edge at 180 ms lacks 30 ms of what follows
}

TEST_CASE("the trigger's low-pass finds one edge a turn under a carrier") {
    trace::CarrierPwm bridge(300.0, 50.0, 0.9, 4000.0);
    const trace::Trace line = bridge.line_to_line(0, 1, 6);
    REQUIRE(crossings(line, 10.0, Slope::rising).size() > 100);
    const std::vector<double> edges = crossings(line, 10.0, Slope::rising, 200.0, Trigger::hysteresis * 600.0);
    REQUIRE(edges.size() >= 5);
    REQUIRE(edges.size() <= 7);
    for (std::size_t n = 2; n < edges.size(); ++n) REQUIRE(edges[n] - edges[n - 1] == approx(0.02).margin(5e-4));
    // A step behind a first-order low-pass passes half of it after tau ln 2.
    const trace::Trace step = {{-1.0, 0.0, -1.0, -1.0}, {0.0, 1.0, 1.0, 1.0}};
    const double tau = 1.0 / (2 * std::numbers::pi * 10.0);
    const auto at = crossings(step, 0.0, Slope::rising, 10.0);
    REQUIRE(at.size() == 1);  // settled to the mean, 0, before the trace begins: falls, then rises once
    REQUIRE(at.back() == approx(tau * std::log(2.0)).margin(1e-6));
}

TEST_CASE("a pulsed wave stands still on its fundamental, whatever the pulses do") {
    // Pulses of 2 kHz whose width follows a 50 Hz sine, the carrier a little off a multiple of it: from turn to turn
    // they move.
    constexpr double carrier = 2013.0, pi = std::numbers::pi;
    trace::Trace wave;
    double t = 0.0;
    for (int n = 0; t < 0.4; ++n) {
        const double begin = n / carrier,
                     high = (0.5 + 0.4 * std::sin(2 * pi * 50.0 * (begin + 0.5 / carrier))) / carrier;
        wave.push_back({begin, begin + high, 300.0, 300.0});
        wave.push_back({begin + high, (n + 1) / carrier, -300.0, -300.0});
        t = (n + 1) / carrier;
    }
    Trigger trigger;
    trigger.fundamental_Hz = 50.0;
    for (const double end : {0.25, 0.2567, 0.271, 0.2899, 0.31, 0.3333, 0.3777}) {
        const auto sweep = find_sweep(trace::slice(wave, 0.0, end), trigger, 0.04);
        REQUIRE(sweep);
        REQUIRE(sweep->trigger_t);
        // The sine rises through nothing at whole turns.
        const double off = *sweep->trigger_t * 50.0 - std::round(*sweep->trigger_t * 50.0);
        CHECK(std::abs(off) < 0.005);  // of a turn
    }
}

TEST_CASE("the line on the screen keeps extremes and vertical edges") {
    // 4 kHz on 50 Hz over 0.2 s: some thousands of pieces for 300 columns, and one needle.
    trace::CarrierPwm bridge(300.0, 50.0, 0.9, 4000.0);
    trace::Trace line = bridge.line_to_line(0, 1, 10);
    const std::size_t needle = line.size() / 3;
    line[needle].y0 = line[needle].y1 = 512.0;
    const PlotArea area{0.0, 0.2, -600.0, 600.0, {10.0, 20.0, 300.0, 240.0}};
    const std::vector<Point> points = trace_line(line, area, 300);
    REQUIRE(points.size() <= 8 * 300);
    double top = 1e9, bottom = -1e9;
    for (const Point& p : points) top = std::min(top, p.y), bottom = std::max(bottom, p.y);
    REQUIRE(top == approx(area.y(512.0)).margin(1e-9));
    REQUIRE(bottom == approx(area.y(-300.0)).margin(1e-9));
    // Every column shows the range its pieces have.
    for (int c = 0; c < 300; c += 7) {
        const double t0 = 0.2 * c / 300, t1 = 0.2 * (c + 1) / 300;
        const auto span = span_of(line, t0, t1);
        double low = 1e9, high = -1e9;
        for (const Point& p : points)
            if (p.x >= area.x(t0) - 1.001 && p.x <= area.x(t1) + 1.001)
                low = std::min(low, p.y), high = std::max(high, p.y);
        REQUIRE(low <= area.y(span->high) + 1e-9);
        REQUIRE(high >= area.y(span->low) - 1e-9);
    }
    REQUIRE(std::is_sorted(points.begin(), points.end(), [](const Point& a, const Point& b) { return a.x < b.x; }));
    // Few pieces: the corners themselves, an edge as two points over one another.
    const std::vector<Point> square =
        trace_line(trace::square(10.0, 50.0, 1), {0.0, 0.02, -20.0, 20.0, {0, 0, 400, 100}}, 400);
    REQUIRE(square.size() == 4);
    REQUIRE(square[1].x == square[2].x);
    REQUIRE(square[1].y == approx(25.0).margin(1e-9));
    REQUIRE(square[2].y == approx(75.0).margin(1e-9));
}

TEST_CASE("a part of a piece is drawn to the plot's edge") {
    const trace::Trace ramp = {{0.0, 1.0, 0.0, 10.0}};
    const auto points = trace_line(ramp, {0.25, 0.75, 0.0, 10.0, {0, 0, 100, 100}}, 100);
    REQUIRE(points.size() == 2);
    REQUIRE(points[0] == Point{0.0, 75.0});
    REQUIRE(points[1] == Point{100.0, 25.0});
    REQUIRE(trace_line(ramp, {2.0, 3.0, 0.0, 10.0, {0, 0, 100, 100}}, 100).empty());
    const auto span = span_of(ramp, 0.25, 0.75);
    REQUIRE(span->low == approx(2.5).margin(1e-12));
    REQUIRE(span->high == approx(7.5).margin(1e-12));
}

TEST_CASE("ticks stand on 1, 2 or 5 times a power of ten") {
    for (const double width : {1e-6, 3.7e-3, 0.9, 1.0, 42.0, 7e5})
        for (const int about : {3, 5, 8}) {
            const Ticks t = ticks(-0.31 * width, 0.69 * width, about);
            const double m = t.step / std::pow(10.0, std::floor(std::log10(t.step) + 1e-9));
            const bool allowed = std::abs(m - 1) < 1e-6 || std::abs(m - 2) < 1e-6 || std::abs(m - 5) < 1e-6;
            REQUIRE(allowed);
            REQUIRE(t.at.size() >= static_cast<std::size_t>(about) / 2);
            REQUIRE(t.at.size() <= static_cast<std::size_t>(2 * about) + 1);
            for (const double v : t.at) REQUIRE(std::abs(v / t.step - std::round(v / t.step)) < 1e-6);
            REQUIRE(std::find(t.at.begin(), t.at.end(), 0.0) != t.at.end());
        }
    REQUIRE(ticks(1.0, 1.0, 5).at.empty());
    REQUIRE(ticks(0.0, std::numeric_limits<double>::infinity(), 5).at.empty());
    REQUIRE(next_125(1e-3, 1) == approx(2e-3).epsilon(1e-9));
    REQUIRE(next_125(2e-3, 1) == approx(5e-3).epsilon(1e-9));
    REQUIRE(next_125(5e-3, 1) == approx(1e-2).epsilon(1e-9));
    REQUIRE(next_125(1e-3, -1) == approx(5e-4).epsilon(1e-9));
    REQUIRE(next_125(3e-3, -1) == approx(2e-3).epsilon(1e-9));
}

TEST_CASE("a pleasant span holds the data and is never empty") {
    for (const Span s : {Span{-261.0, 261.0}, Span{0.0, 0.0}, Span{320.0, 320.0}, Span{1e-5, 3e-5}, Span{-7.0, -6.5}}) {
        const Span p = pleasant(s);
        REQUIRE(p.low < p.high);
        REQUIRE(p.low <= s.low);
        REQUIRE(p.high >= s.high);
        REQUIRE(p.high - p.low <= 4.0 * std::max(s.high - s.low, 0.2 * std::max(std::abs(s.low), std::abs(s.high))) +
                                      3.0 * (s.low == s.high));
    }
}

TEST_CASE("cursors read values, differences and what lies between") {
    const trace::Trace sine = trace::sine(10.0, 50.0, 2);
    const CursorReading r = cursors(sine, 0.005, 0.025);
    REQUIRE(r.y1 == approx(10.0).epsilon(1e-5));
    REQUIRE(r.dt == approx(0.02).margin(1e-12));
    REQUIRE(*r.per_dt == approx(50.0).epsilon(1e-9));
    REQUIRE(r.mean == approx(0.0).margin(1e-3));
    REQUIRE(r.rms == approx(10.0 / std::numbers::sqrt2).epsilon(1e-4));
    REQUIRE_FALSE(cursors(sine, 0.01, 0.01).per_dt);
}

TEST_CASE("thinning in time keeps extremes, ends and contiguity") {
    trace::CarrierPwm bridge(300.0, 50.0, 0.9, 8000.0);
    trace::Trace line = bridge.line_to_line(0, 1, 10);
    line[777].y0 = 400.0;
    const trace::Trace thin = thinned(line, 1e-3);
    REQUIRE(thin.size() <= 3 * 200 + 10);
    const trace::Statistics a = trace::statistics(line), b = trace::statistics(thin);
    REQUIRE(b.max == a.max);
    REQUIRE(b.min == a.min);
    REQUIRE(b.duration == approx(a.duration).margin(1e-9));
    for (std::size_t n = 1; n < thin.size(); ++n) REQUIRE(thin[n].t0 == thin[n - 1].t1);
    trace::check(thin);
}

TEST_CASE("the scope's long memory stays bounded and keeps what it shows") {
    ScopeTrack track;
    track.keep(100.0);
    // 4 kHz carrier for 60 s, a needle in it: some 1.4 million pieces.
    trace::CarrierPwm bridge(300.0, 50.0, 0.9, 4000.0);
    const trace::Trace turn = bridge.line_to_line(0, 1, 1);
    std::size_t fed = 0;
    for (int n = 0; n < 3000; ++n) {
        trace::Trace shifted = turn;
        for (trace::Segment& s : shifted) s.t0 += 0.02 * n, s.t1 += 0.02 * n;
        if (n == 1234) shifted[5].y0 = shifted[5].y1 = 777.0;
        fed += shifted.size();
        track.append(shifted);
        REQUIRE(track.trace().size() <= ScopeTrack::most_segments);
    }
    REQUIRE(fed > 3 * ScopeTrack::most_segments);
    const trace::Statistics s = trace::statistics(track.trace());
    REQUIRE(s.duration == approx(60.0).margin(1e-6));
    REQUIRE(s.max == 777.0);
    trace::check(track.trace());
    // Shorter: the old goes.
    track.keep(0.5);
    trace::Trace more = turn;
    for (trace::Segment& p : more) p.t0 += 60.0, p.t1 += 60.0;
    track.append(more);
    REQUIRE(trace::duration(track.trace()) < 1.5);
    REQUIRE(trace::duration(track.trace()) >= 1.0);
}

TEST_CASE("straight pieces are joined in the memory, curves to a ten-thousandth") {
    ScopeTrack track;
    track.keep(1.0);
    const trace::Trace sine = trace::sine(10.0, 5.0, 5, 0.0, 0.0, 20000);
    track.append(sine);
    REQUIRE(track.trace().size() < sine.size() / 20);
    for (double t = 0.0013; t < 1.0; t += 0.0171)
        REQUIRE(trace::value_at(track.trace(), t) == approx(trace::value_at(sine, t)).margin(2.5e-3));
    ScopeTrack flat;
    flat.keep(1.0);
    flat.append(trace::square(10.0, 50.0, 50));
    REQUIRE(flat.trace().size() == 100);
}

TEST_CASE("a channel behind the scope's bandwidth: first order, closed form, beginning left out") {
    // A square wave of 50 Hz behind 100 Hz: after each edge 1 - 2 exp(-t/T), of a wave that repeats it begins at
    // -tanh(half/(2T)).
    const trace::Trace square = trace::square(1.0, 50.0, 10);
    const double T = 1.0 / (2 * 3.14159265358979 * 100.0);
    const trace::Trace out = band_limited(square, 100.0);
    CHECK(trace::start(out) == test::approx(10 * T).epsilon(1e-6));
    CHECK(trace::finish(out) == test::approx(0.2));
    const double begin = -std::tanh(0.01 / (2 * T));
    for (const double after : {0.0005, 0.002, 0.006})
        CHECK(trace::value_at(out, 0.1 + after) == test::approx(1 + (begin - 1) * std::exp(-after / T)).margin(3e-3));
    CHECK(band_limited(square, 0.0).size() == square.size());
    CHECK(band_limited({}, 100.0).empty());
}
