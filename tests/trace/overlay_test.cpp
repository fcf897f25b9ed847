#include "trace/overlay.hpp"

#include <cmath>
#include <numbers>

#include "catch_shim.hpp"
#include "drawn.hpp"
#include "trace/period.hpp"
#include "trace/waves.hpp"

using namespace sunshaft;
using namespace sunshaft::trace;
using sunshaft::test::approx;

namespace {

using std::numbers::pi;

// Of a wave given by its angle.
template <class F>
Trace turning(F f, double Hz, double seconds, double begin = 0.0, int per_period = 2000) {
    return test::drawn([&](double t) { return f(2 * pi * Hz * t); }, seconds,
                       static_cast<int>(seconds * Hz * per_period), begin);
}
double bent(double a) { return 300 * std::sin(a) + 60 * std::sin(5 * a + 0.4) + 20 * std::cos(7 * a); }

}  // namespace

TEST_CASE("Waves that differ in time zero and speed lie on one another once turned and stretched") {
    const double turn = 0.37;
    const Trace measured = turning([&](double a) { return bent(a + 2 * pi * turn); }, 48.7, 0.3);
    const Trace computed = turning(bent, 50.0, 0.3, 1.0);
    const Overlay o = overlay({measured}, {computed});
    REQUIRE(o.periods == 10);
    CHECK(o.measured_Hz == approx(48.7).epsilon(1e-6));
    CHECK(o.computed_Hz == approx(50.0).epsilon(1e-6));
    const auto& w = o.waves[0];
    CHECK(w.residual_rms < 1e-3 * w.of_measured.rms);
    CHECK(w.of_measured.rms == approx(std::sqrt((300. * 300 + 60 * 60 + 20 * 20) / 2)).epsilon(1e-5));
    CHECK(std::abs(w.harmonics_measured[4]) == approx(60 / std::sqrt(2.0)).epsilon(1e-4));
    CHECK(std::fabs(std::arg(w.harmonics_measured[4] / w.harmonics_computed[4])) < 1e-3);
}

TEST_CASE("What differs stays in the residual: size, a harmonic more, an offset") {
    const Trace computed = turning(bent, 50, 0.3);
    const auto residual = [&](auto f) { return overlay({turning(f, 50, 0.25)}, {computed}).waves[0].residual_rms; };
    CHECK(residual([](double a) { return 1.1 * bent(a); }) ==
          approx(0.1 * std::sqrt((300. * 300 + 60 * 60 + 20 * 20) / 2)).epsilon(1e-3));
    CHECK(residual([](double a) { return bent(a) + 9 * std::sin(11 * a); }) ==
          approx(9 / std::sqrt(2.0)).epsilon(5e-3));
    CHECK(residual([](double a) { return bent(a) + 4; }) == approx(4).epsilon(1e-3));
}

TEST_CASE("One turn serves all waves: a phase error of one of them is not turned away") {
    const auto third = [](double shift) { return [shift](double a) { return std::sin(a + shift); }; };
    const double w = 2 * pi / 3;
    const std::vector<Trace> computed{turning(third(0), 50, 0.3), turning(third(-w), 50, 0.3),
                                      turning(third(w), 50, 0.3)};
    const double late = 20 * pi / 180;
    const std::vector<Trace> measured{turning(third(0), 50, 0.3, 0.013), turning(third(-w - late), 50, 0.3, 0.013),
                                      turning(third(w), 50, 0.3, 0.013)};
    const Overlay o = overlay(measured, computed);
    // The sum of the three correlations is greatest at the argument of 2 + exp(-i late).
    const double all = std::arg(2.0 + std::polar(1.0, -late));
    CHECK(std::arg(o.waves[0].harmonics_measured[0] / o.waves[0].harmonics_computed[0]) == approx(-all).epsilon(1e-3));
    CHECK(std::arg(o.waves[1].harmonics_measured[0] / o.waves[1].harmonics_computed[0]) ==
          approx(-late - all).epsilon(1e-3));
}

TEST_CASE("A switched wave sampled by a recorder meets the same wave computed with true edges") {
    const Trace exact = quasi_square(320, 120, 50, 14);
    const Trace sampled = as_sampled(exact, 0.0111, 2e-5, 11000);
    const Overlay o = overlay({sampled}, {exact});
    REQUIRE(o.periods == 10);
    CHECK(o.waves[0].residual_rms < 1e-4 * o.waves[0].of_computed.rms);
    // Against the edges themselves the recorder's slopes would stay: half a sample at each of four edges a period.
    CHECK(statistics(sum(slice(sampled, 0.0111, 0.2), slice(exact, 0.0111, 0.2), -1)).rms >
          0.02 * o.waves[0].of_computed.rms);
}

TEST_CASE("Means around the sampling instants are those of the wave") {
    const Trace ramp{{0, 1, 0, 10}, {1, 2, -4, -4}};
    const Trace s = as_sampled(ramp, 0.5, 0.5, 4);  // at 0.5, 1.0, 1.5, 2.0
    REQUIRE(s.size() == 3);
    CHECK(s[0].y0 == approx(5));
    CHECK(s[0].y1 == approx(0.5 * 8.75 - 0.5 * 4));
    CHECK(s[1].y1 == approx(-4));
}

TEST_CASE("Of a recording that begins with a start the steady end is taken") {
    Trace chirp;
    double angle = 0;
    for (int k = 0; k < 120000; ++k) {
        const double t = k * 1e-5, f = std::min(50.0, 5 + 75 * t);
        const double next = angle + 2 * pi * f * 1e-5;
        chirp.push_back({t, (k + 1) * 1e-5, std::sin(angle), std::sin(next)});
        angle = next;
    }
    for (std::size_t k = 1; k < chirp.size(); ++k) chirp[k].t0 = chirp[k - 1].t1;
    const auto end = steady_end(chirp);
    REQUIRE(end);
    CHECK(end->frequency_Hz == approx(50).epsilon(1e-3));
    CHECK(duration(end->tail) < 0.62);  // steady from 0.6 s on
}

TEST_CASE("No fundamental: figures, no residual; nonsense throws") {
    const Trace flat{{0, 0.5, 12, 12}, {0.5, 1, 12, 12}};
    const Overlay o = overlay({flat}, {scaled(flat, 2)});
    CHECK(o.periods == 0);
    CHECK(o.waves[0].of_computed.mean == approx(24));
    CHECK_THROWS_AS(overlay({}, {}), std::invalid_argument);
    CHECK_THROWS_AS(overlay({flat}, {}), std::invalid_argument);
    CHECK_THROWS_AS(overlay({Trace{}}, {flat}), std::invalid_argument);
    CHECK_THROWS_AS(overlay({Trace{{0, 1, NAN, 1}}}, {flat}), std::invalid_argument);
}
