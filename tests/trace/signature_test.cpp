#include "trace/signature.hpp"

#include <cmath>
#include <limits>
#include <numbers>

#include "catch_shim.hpp"
#include "drawn.hpp"

using namespace sunshaft;
using namespace sunshaft::trace;
using sunshaft::test::approx;
using test::drawn;

using std::numbers::pi;

TEST_CASE("The window gives a lone line its size and keeps a strong neighbour out") {
    const auto strong =
        drawn([](double t) { return std::sqrt(2.0) * 7 * std::cos(2 * pi * 50 * t + 0.3) + 2; }, 2.003, 200000);
    CHECK(std::abs(windowed_phasor(strong, 50)) == approx(7).epsilon(1e-5));
    // F. J. Harris 1978, Table I: the highest side lobe of the four-term Blackman-Harris window lies 92 dB down.
    for (double f = 47.9; f > 30; f -= 0.37) CHECK(20 * std::log10(std::abs(windowed_phasor(strong, f)) / 7) < -90);
}

TEST_CASE("A current modulated at twice the slip frequency shows both sidebands at half the modulation") {
    const double slip = 0.04, depth = 0.02;  // cos(a)(1 + m cos(b)): lines of m/2 at a -+ b
    const auto current = drawn(
        [&](double t) { return 10 * std::cos(2 * pi * 50 * t) * (1 + depth * std::cos(2 * pi * 2 * slip * 50 * t)); },
        2.0, 200000);
    const auto s = sidebands(current, 50, slip);
    REQUIRE(s);
    CHECK(s->lower_Hz == approx(46));
    CHECK(s->upper_Hz == approx(54));
    CHECK(s->lower_dB == approx(20 * std::log10(depth / 2)).margin(0.02));
    CHECK(s->upper_dB == approx(20 * std::log10(depth / 2)).margin(0.02));
    CHECK(s->needed_s == approx(1.0));
    CHECK_FALSE(sidebands(slice(current, 0, 0.9), 50, slip));
    CHECK_FALSE(sidebands(current, 50, 0));
    CHECK(sidebands_need_s(50, 0) == std::numeric_limits<double>::infinity());
}

TEST_CASE("Ripple is amplitude over mean, line by line") {
    const auto torque = drawn(
        [](double t) { return 8 + 1.2 * std::cos(2 * pi * 300 * t) + 0.4 * std::sin(2 * pi * 100 * t); }, 0.1, 100000);
    CHECK(ripple(torque, 50, 6) == approx(0.15).epsilon(1e-4));
    CHECK(ripple(torque, 50, 2) == approx(0.05).epsilon(1e-4));
    CHECK(ripple(torque, 50, 1) < 1e-6);
    CHECK(ripple({}, 50, 1) == 0.0);
}
