#include "trace/harmonics.hpp"

#include <cmath>
#include <numbers>
#include <stdexcept>

#include "catch_shim.hpp"
#include "trace/sequence.hpp"
#include "trace/statistics.hpp"
#include "trace/waves.hpp"

using namespace sunshaft::trace;
using sunshaft::test::approx;

namespace {
using std::numbers::pi;
}  // namespace

TEST_CASE("Six-step harmonics: only 6k +- 1, amplitude 1/n, both sequences") {
    // Mohan, Undeland, Robbins, "Power Electronics", 3rd ed., ch. 8 (from memory); also by hand from the wave.
    const SixStep bridge(1.0, 50.0);
    const Trace uv = bridge.line_to_line(0, 1, 3);
    const auto c = harmonics(uv, 50, 50);
    CHECK(std::abs(c[0]) == approx(std::sqrt(6.0) / pi).epsilon(1e-12));
    CHECK(std::abs(c[0]) == approx(0.779697).margin(1e-6));
    for (int n = 2; n <= 50; ++n) {
        INFO(n);
        const double expected = n % 6 == 1 || n % 6 == 5 ? 0.7796968 / n : 0.0;
        CHECK(std::abs(c[static_cast<std::size_t>(n - 1)]) == approx(expected).margin(1e-6));
    }
    for (const auto& [n, v] :
         {std::pair{5, 0.155939}, {7, 0.111385}, {11, 0.070882}, {13, 0.059977}, {17, 0.045865}, {19, 0.041037}})
        CHECK(std::abs(c[static_cast<std::size_t>(n - 1)]) == approx(v).margin(1e-6));
    CHECK(total_distortion(statistics(uv).rms_ac, std::abs(c[0])) == approx(0.310842).margin(1e-6));
    CHECK(thd(c, 25) == approx(0.290363).margin(1e-6));
    const auto many = harmonics(uv, 50, 4000);
    double weighted = 0.0;
    for (std::size_t n = 1; n < many.size(); ++n)
        weighted += std::norm(many[n]) / std::pow(static_cast<double>(n + 1), 2);
    CHECK(std::sqrt(weighted) / std::abs(many[0]) == approx(0.0463804).margin(1e-6));

    const auto star = harmonics(bridge.line_to_star(0), 50, 7);
    CHECK(std::abs(star[0]) == approx(0.450158).margin(1e-6));
    const auto v = harmonics(bridge.line_to_star(1), 50, 7), w = harmonics(bridge.line_to_star(2), 50, 7);
    CHECK(sequence(star[0], v[0], w[0]).ratio() == approx(0).margin(1e-9));
    CHECK(std::abs(sequence(star[4], v[4], w[4]).positive) == approx(0).margin(1e-9));
    CHECK(std::abs(sequence(star[6], v[6], w[6]).negative) == approx(0).margin(1e-9));
}

TEST_CASE("Square wave distortion") {
    const Trace w = square(1, 50);
    CHECK(std::abs(phasor(w, 50)) == approx(0.900316).margin(1e-6));
    CHECK(total_distortion(statistics(w).rms_ac, std::abs(phasor(w, 50))) == approx(0.483426).margin(1e-6));
}

TEST_CASE("A step response on the bridge gives the currents of the textbook's example") {
    // M. H. Rashid, "Power Electronics", three-phase inverter example: 220 V, star of 5 ohm and 23 mH, 60 Hz
    // (from memory).
    const SixStep bridge(220.0, 60.0);
    CHECK(statistics(bridge.line_to_line(0, 1)).rms == approx(179.63).margin(0.005));
    CHECK(statistics(bridge.line_to_star(0)).rms == approx(103.7).margin(0.05));
    const auto v = harmonics(bridge.line_to_star(0), 60, 3000);
    CHECK(std::abs(v[0]) == approx(99.03).margin(0.01));
    CHECK(std::abs(phasor(bridge.line_to_line(0, 1), 60)) == approx(171.53).margin(0.005));
    double square_sum = 0.0;
    std::vector<double> peak;
    for (std::size_t n = 1; n <= v.size(); ++n) {
        const double i = std::abs(v[n - 1]) / std::abs(Phasor(5.0, 2 * pi * 60 * static_cast<double>(n) * 23e-3));
        peak.push_back(i * std::numbers::sqrt2);
        square_sum += i * i;
    }
    CHECK(peak[0] == approx(13.9929).epsilon(1e-5));
    CHECK(peak[4] == approx(0.64185).epsilon(1e-4));
    CHECK(peak[6] == approx(0.32853).epsilon(1e-4));
    CHECK(peak[10] == approx(0.13331).epsilon(1e-4));
    CHECK(peak[12] == approx(0.09548).epsilon(1e-4));
    CHECK(std::sqrt(square_sum) == approx(9.908457).epsilon(1e-6));
    CHECK(3 * square_sum * 5.0 == approx(1472.663).epsilon(1e-6));
    CHECK(3 * square_sum * 5.0 / 220.0 == approx(6.693922).epsilon(1e-6));
}

TEST_CASE("Phasors carry phase, and recurrence agrees with the direct sum") {
    const auto c = harmonics(sine(std::numbers::sqrt2, 50, 2, 0.7), 50, 3);
    CHECK(std::abs(c[0]) == approx(1).epsilon(1e-6));
    CHECK(std::arg(c[0]) == approx(0.7 - pi / 2).margin(1e-6));
    const Trace w = CarrierPwm(320, 50, 0.8, 8000).line_to_line(0, 1, 2);
    const auto all = harmonics(w, 50, 400);
    for (int n : {1, 7, 158, 162, 320, 400}) {
        const Phasor direct = phasor(w, 50.0 * n);
        CHECK(std::abs(all[static_cast<std::size_t>(n - 1)] - direct) == approx(0).margin(1e-9));
    }
}

TEST_CASE("Short segments lose no digits") {
    // One period of a sawtooth in one segment and in a million: the same coefficient, -1/(i n pi) of its
    // height.
    const Trace one{{0, 0.02, -1, 1}};
    Trace many;
    const int n = 1000000;
    for (int k = 0; k < n; ++k)
        many.push_back({0.02 * k / n, 0.02 * (k + 1) / n, -1 + 2.0 * k / n, -1 + 2.0 * (k + 1) / n});
    for (double f : {50.0, 250.0}) {
        CHECK(std::abs(phasor(one, f)) == approx(std::numbers::sqrt2 / pi * 50 / f).epsilon(1e-13));
        CHECK(std::abs(phasor(many, f) - phasor(one, f)) == approx(0).margin(1e-10));
    }
}

TEST_CASE("IEC 61000-4-7 groups") {
    // 50 Hz 230 V, 5th harmonic 10 V, an interharmonic of 3 V at 275 Hz: halfway between the 5th and the 6th,
    // so its power goes half to each group and not to the subgroups (clause 5, from memory).
    const Trace w = sum(
        sum(sine(230 * std::numbers::sqrt2, 50, 10, 0, 0, 2000), sine(10 * std::numbers::sqrt2, 250, 50, 0, 0, 400)),
        sine(3 * std::numbers::sqrt2, 275, 55, 0, 0, 400));
    const Groups g = iec_groups(w, 50, 10);
    CHECK(g.periods == 10);
    CHECK(g.harmonic_subgroup[0] == approx(230).epsilon(1e-4));
    CHECK(g.harmonic_subgroup[4] == approx(10).epsilon(1e-3));
    CHECK(g.harmonic_group[4] == approx(std::sqrt(100 + 4.5)).epsilon(1e-3));
    CHECK(g.harmonic_group[5] == approx(std::sqrt(4.5)).epsilon(1e-3));
    CHECK(g.interharmonic[4] == approx(3).epsilon(1e-3));
    CHECK_THROWS_AS(iec_groups(sine(1, 10, 1), 5), std::invalid_argument);
}
