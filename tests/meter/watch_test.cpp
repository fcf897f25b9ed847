#include "meter/watch.hpp"

#include <algorithm>
#include <cmath>
#include <numbers>

#include "catch_shim.hpp"
#include "meter/filter.hpp"
#include "trace/waves.hpp"

using namespace sunshaft;
using namespace sunshaft::meter;
using sunshaft::test::approx;
using trace::Trace;

TEST_CASE("A filter from rest: step responses in closed form") {
    const Trace step = trace::constant(10, 1);
    const double fc = 2.0, a = 2 * std::numbers::pi * fc;
    const std::vector<double> edges{0, 0.1, 0.25, 1};
    const auto low = Filter{}.low_pass(fc).respond_from_rest(step, edges),
               high = Filter{}.high_pass(fc).respond_from_rest(step, edges);
    for (std::size_t k = 0; k + 1 < edges.size(); ++k) {
        const double t0 = edges[k], t1 = edges[k + 1], e0 = std::exp(-a * t0), e1 = std::exp(-a * t1);
        CHECK(high[k].mean == approx(10 * (e0 - e1) / a / (t1 - t0)).epsilon(1e-9));
        CHECK(low[k].mean == approx(10 - 10 * (e0 - e1) / a / (t1 - t0)).epsilon(1e-9));
        CHECK(high[k].rms == approx(10 * std::sqrt((e0 * e0 - e1 * e1) / (2 * a) / (t1 - t0))).epsilon(1e-9));
        CHECK(high[k].max == approx(10 * e0).epsilon(1e-9));
        CHECK(low[k].max == approx(10 - 10 * e1).epsilon(1e-9));
    }
    const auto none = Filter{}.respond_from_rest(trace::sine(10, 5, 5), {0, 0.5, 1.0});
    CHECK(none[0].rms == approx(10 / std::sqrt(2.0)).epsilon(1e-6));
    // After a long time the response from rest is the periodic one.
    const Trace pwm = trace::CarrierPwm(320, 50, 0.8, 2000).line_to_line(0, 1, 60);
    const Filter chain = Filter{}.high_pass(3).low_pass(5e3, 2);
    const auto late = chain.respond_from_rest(pwm, {1.18, 1.2}).front();
    const auto periodic = chain.respond(trace::CarrierPwm(320, 50, 0.8, 2000).line_to_line(0, 1));
    CHECK(late.rms == approx(periodic.rms).epsilon(1e-6));
    CHECK(late.rectified_mean == approx(periodic.rectified_mean).epsilon(1e-6));
}

TEST_CASE("The display finds its range, settles, and keeps extremes") {
    const Spec m = find_spec("true-rms");
    const Watch w = watch(m, Mode::acv, trace::sine(24 * std::numbers::sqrt2, 50, 250));
    REQUIRE(w.updates.size() == 15);
    // From 1000 V down to 80 V: two changes, each an update without a value.
    CHECK(w.range_changes >= 2);
    CHECK(w.updates.front().shown == "----");
    CHECK_FALSE(w.updates.front().value);
    CHECK(w.updates.back().range == 80);
    CHECK(w.updates.back().value.value() == approx(24).epsilon(1e-3));
    REQUIRE(w.settled_s);
    CHECK(*w.settled_s <= 3.0);
    CHECK(w.max.value() <= 24.01);
    CHECK(w.peak_high.value() > 33);
    const Reading r = read(m, Mode::acv, trace::sine(24 * std::numbers::sqrt2, 50, 5));
    CHECK(w.updates.back().value.value() == approx(r.value.value()).epsilon(1e-3));
}

TEST_CASE("A voltage that swings across a range limit keeps the meter hunting") {
    // 30 V and 110 V in turn, every 3 s, around the 80 V range.
    Trace w;
    double t = 0.0;
    for (int k = 0; k < 6; ++k)
        for (trace::Segment s : trace::sine((k % 2 ? 110 : 30) * std::numbers::sqrt2, 50, 150, 0, 0, 100)) {
            w.push_back({t, t + (s.t1 - s.t0), s.y0, s.y1});
            t = w.back().t1;
        }
    const Spec m = find_spec("true-rms");
    CHECK(watch(m, Mode::acv, w).range_changes >= 6);
    Context held;
    held.manual_range = 800;
    const Watch steady = watch(m, Mode::acv, w, held);
    CHECK(steady.range_changes == 0);
    CHECK(steady.min.value() < 31);
    CHECK(steady.max.value() == approx(110).epsilon(0.01));
    held.manual_range = 80;
    const Watch over = watch(m, Mode::acv, w, held);
    CHECK(std::any_of(over.updates.begin(), over.updates.end(),
                      [](const Update& u) { return u.over_range && u.shown == "OL"; }));
    CHECK_THROWS_AS(watch(m, Mode::acv, trace::sine(1, 50, 1)), std::invalid_argument);
    CHECK_THROWS_AS(watch(m, Mode::ohm, w), std::invalid_argument);
}

TEST_CASE("A motor's surge, by Hall clamp and by transformer clamp") {
    // 60 A peak decaying to 10 A with 80 ms, and a direct part that decays with 40 ms: rms over 80 ms by fine
    // summing.
    Trace i{{0, 0.05, 0, 0}};
    const auto y = [](double t) {
        return (10 + 50 * std::exp(-t / 0.08)) * std::sin(2 * std::numbers::pi * 50 * t) + 30 * std::exp(-t / 0.04);
    };
    double sum = 0.0;
    const double dt = 2e-5;
    for (int k = 0; k < 20000; ++k) {
        i.push_back({i.back().t1, 0.05 + dt * (k + 1), y(dt * k), y(dt * (k + 1))});
        if (k < 4000) sum += y(dt * (k + 0.5)) * y(dt * (k + 0.5)) * dt;
    }
    Spec hall = find_spec("clamp-hall");
    hall.functions[Mode::dca].bandwidth_Hz = 0;
    const Surge seen = surge(hall, Mode::dca, i, {}, 5.0);
    REQUIRE(seen.value);
    CHECK(*seen.start_s == approx(0.05).margin(1e-9));
    CHECK(*seen.value == approx(std::sqrt(sum / 0.08)).epsilon(1e-4));
    CHECK(seen.reading.reasons.size() >= 2);
    CHECK(seen.reading.reasons.size() <= 5);
    // The transformer loses part of the direct surge.
    const Surge ct = surge(find_spec("clamp-ac"), Mode::aca, i, {}, 5.0);
    REQUIRE(ct.value);
    CHECK(*ct.value < *seen.value);
    // The Hall clamp on AC works out true rms: what it misses of the surge is its lower limit's, and it says so.
    Spec open = find_spec("clamp-hall");
    const Surge held = surge(open, Mode::aca, i, {}, 5.0);
    open.functions[Mode::aca].coupling_Hz = 0.0;
    const double without = *surge(open, Mode::aca, i, {}, 5.0).value;
    bool named = false;
    for (const Figure& f : held.reading.figures) {
        if (f.name != "coupling_loss") continue;
        named = true;
        CHECK(f.value == approx(1 - *held.value / without).epsilon(1e-9));
    }
    CHECK(named);
    const Surge waits = surge(hall, Mode::dca, i, {}, 1000.0);
    CHECK_FALSE(waits.value);
    CHECK(waits.reading.shown == "----");
    CHECK(waits.reading.reasons.size() == 2);
    CHECK(surge(hall, Mode::dca, i).trigger_A == approx(1.0));  // a fiftieth of 50 A
    CHECK_THROWS_AS(surge(hall, Mode::dcv, i, {}, 1.0), std::invalid_argument);
    CHECK_THROWS_AS(surge(hall, Mode::dca, i, {}, -1.0), std::invalid_argument);
}

TEST_CASE("Watched readings and surges speak in figures of their own") {
    const auto check = [](const Reading& r) {
        CHECK(r.reasons.size() >= 2);
        CHECK(r.reasons.size() <= 5);
        for (const auto* list : {&r.reasons, &r.warnings})
            for (std::string s : *list) {
                INFO(s);
                std::vector<std::string> texts;
                for (const Figure& f : r.figures) texts.push_back(f.text);
                std::sort(texts.begin(), texts.end(), [](const auto& a, const auto& b) { return a.size() > b.size(); });
                for (const std::string& t : texts)
                    for (std::size_t at; (at = s.find(t)) != std::string::npos;) s.erase(at, t.size());
                CHECK(s.find_first_of("0123456789") == std::string::npos);
                CHECK(s.find("nan") == std::string::npos);
            }
    };
    const auto figure = [](const Reading& r, const std::string& name) {
        for (const Figure& f : r.figures)
            if (f.name == name) return f.value;
        return -1.0;
    };
    for (const Spec& m : load_specs(shipped_meters()))
        for (const auto& [mode, fn] : m.functions) {
            if (drives_circuit(mode) || times_crossings(mode)) continue;
            INFO(m.name << ", " << mode_name(mode));
            for (double peak : {0.0, 0.5, 24.0, 320.0, 2000.0}) {
                const Watch w = watch(m, mode, trace::sine(peak, 50, 300, 0, 0.25 * peak, 100));
                check(w.reading);
                CHECK(w.reading.shown == w.updates.back().shown);
                CHECK(figure(w.reading, "updates") == static_cast<double>(w.updates.size()));
                CHECK(figure(w.reading, "seconds") == approx(6).epsilon(1e-9));
                CHECK(w.reading.truth.rms.value() == approx(peak * std::sqrt(0.5 + 0.0625)).epsilon(1e-3));
                for (const Update& u : w.updates)
                    CHECK((u.value.has_value() || u.beside.find("range") != std::string::npos));
                if (takes_clamp(mode)) check(surge(m, mode, trace::sine(peak, 50, 300, 0, 0, 100)).reading);
            }
            // Settled: as read() has it.
            const Watch w = watch(m, mode, trace::sine(8, 50, 500, 0, 2, 400));
            const Reading r = read(m, mode, trace::sine(8, 50, 5, 0, 2, 400));
            if (w.updates.back().value && r.value)
                CHECK(*w.updates.back().value == approx(*r.value).epsilon(1e-3).margin(2 * r.resolution));
        }
}

TEST_CASE("On DC the watched range gives way to peaks as a single reading does") {
    const Spec m = find_spec("true-rms");
    const Trace w = trace::SixStep(320, 50).line_to_line(0, 1, 200);
    CHECK(watch(m, Mode::dcv, w).updates.back().range == read(m, Mode::dcv, w).range.value());
}
