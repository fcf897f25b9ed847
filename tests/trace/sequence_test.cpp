#include "trace/sequence.hpp"

#include <cmath>
#include <numbers>
#include <stdexcept>

#include "catch_shim.hpp"
#include "trace/space_vector.hpp"
#include "trace/waves.hpp"

using namespace sunshaft::trace;
using sunshaft::test::approx;

namespace {
Phasor polar(double magnitude, double deg) { return std::polar(magnitude, deg * std::numbers::pi / 180); }
double degrees(Phasor p) { return std::arg(p) * 180 / std::numbers::pi; }
}  // namespace

TEST_CASE("Unbalance after NEMA MG 1") {
    // First row: the example in the wording of NEMA MG 1 (1.1 %); others worked in open application notes.
    CHECK(unbalance(462, 463, 455) == approx(0.01086957).margin(1e-8));
    CHECK(unbalance(480, 476, 472) == approx(0.00840336).margin(1e-8));
    CHECK(unbalance(460, 467, 450) == approx(0.01960784).margin(1e-8));
    CHECK(unbalance(208, 206, 199) == approx(0.02610114).margin(1e-8));
    CHECK(unbalance(203, 210, 212) == approx(0.0256).margin(5e-5));
    CHECK(unbalance(230, 232, 225) == approx(0.01746725).margin(1e-8));
    CHECK(unbalance(0, 0, 0) == 0.0);
}

TEST_CASE("Negative over positive sequence from three line voltages") {
    // IEC 61000-4-30 formula (from memory); the values also follow from the triangle of the three phasors.
    const double rows[][4] = {{462, 463, 455, 1.091427}, {203, 210, 212, 2.606448}, {480, 476, 472, 0.970385},
                              {460, 467, 450, 2.146461}, {208, 206, 199, 2.657232}, {230, 232, 225, 1.812859},
                              {220, 215, 210, 2.686380}};
    for (const auto& r : rows) {
        CHECK(100 * unbalance_factor(r[0], r[1], r[2]) == approx(r[3]).margin(1e-6));
        // The same by closing the triangle.
        const Phasor ab = r[0];
        const double cos_c = (r[0] * r[0] + r[1] * r[1] - r[2] * r[2]) / (2 * r[0] * r[1]);
        const Phasor bc = std::polar(r[1], std::acos(cos_c) - std::numbers::pi), ca = -ab - bc;
        CHECK(std::abs(ca) == approx(r[2]).epsilon(1e-12));
        CHECK(100 * sequence(ab, bc, ca).ratio() == approx(r[3]).margin(1e-6));
    }
    CHECK(unbalance_factor(0, 0, 0) == 0.0);
    CHECK_THROWS_AS(unbalance_factor(100, 10, 10), std::invalid_argument);
}

TEST_CASE("Symmetrical components after Fortescue") {
    const Sequence s = sequence(polar(230, 0), polar(207, -125), polar(241.5, 118));
    CHECK(std::abs(s.zero) == approx(14.572736).margin(1e-6));
    CHECK(degrees(s.zero) == approx(92.763366).margin(1e-5));
    CHECK(std::abs(s.positive) == approx(226.027337).margin(1e-6));
    CHECK(degrees(s.positive) == approx(-2.237154).margin(1e-5));
    CHECK(std::abs(s.negative) == approx(7.507424).margin(1e-6));
    CHECK(degrees(s.negative) == approx(-49.782197).margin(1e-5));
    CHECK(100 * s.ratio() == approx(3.321467).margin(1e-5));
    const auto back = phases(s);
    CHECK(std::abs(back[1] - polar(207, -125)) == approx(0).margin(1e-12));
    // One line open: equal positive and negative sequence, 30 degrees either way.
    const Sequence open = sequence(10, -10, 0);
    CHECK(std::abs(open.zero) == approx(0).margin(1e-12));
    CHECK(std::abs(open.positive) == approx(5.773503).margin(1e-6));
    CHECK(degrees(open.positive) == approx(-30).margin(1e-9));
    CHECK(degrees(open.negative) == approx(30).margin(1e-9));
    CHECK(Sequence{}.ratio() == 0.0);
}

TEST_CASE("Space vector: a circle for sines, six corners for a six-step bridge") {
    const double third = 2 * std::numbers::pi / 3;
    const SpaceVector circle = space_vector(sine(10, 50, 1), sine(10, 50, 1, -third), sine(10, 50, 1, third));
    REQUIRE(circle.alpha.size() >= 4000);
    for (std::size_t k = 0; k < circle.alpha.size(); k += 97) {
        CHECK(std::hypot(circle.alpha[k].y0, circle.beta[k].y0) == approx(10).epsilon(1e-5));
        CHECK(circle.zero[k].y0 == approx(0).margin(1e-4));
    }
    // Mohan, Undeland, Robbins (from memory): corners 2/3 of the link voltage, 60 degrees apart.
    const SixStep bridge(300, 50);
    const SpaceVector six = space_vector(bridge.leg(0), bridge.leg(1), bridge.leg(2));
    double before = -1e9;
    for (std::size_t k = 0; k < six.alpha.size(); ++k) {
        CHECK(six.alpha[k].t0 == six.beta[k].t0);
        CHECK(std::hypot(six.alpha[k].y0, six.beta[k].y0) == approx(200).epsilon(1e-12));
        const double angle = std::atan2(six.beta[k].y0, six.alpha[k].y0);
        if (before > -1e8 && six.alpha[k].t1 - six.alpha[k].t0 > 1e-6)
            CHECK(std::cos(angle - before) == approx(0.5).margin(1e-9));
        before = angle;
    }
}
