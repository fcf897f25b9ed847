// Readings a meter takes of a circuit it is itself part of.
#include <fmt/format.h>

#include <cmath>
#include <limits>

#include "catch_shim.hpp"
#include "circuit/circuit.hpp"

using namespace sunshaft::circuit;
using sunshaft::test::approx;

TEST_CASE("a 10 Mohm meter loads what it measures") {
    // Closed form Rm / (R + Rm).
    for (const auto& [ohm, share] : {std::pair{1e5, 0.990099}, std::pair{1e6, 0.909091}, std::pair{1e7, 0.5}}) {
        Circuit c;
        const Node plus = c.node("+"), minus = c.node("-"), probe = c.node("probe");
        c.voltage_source(plus, minus, 1.0);
        c.resistor(plus, probe, ohm);
        c.resistor(probe, minus, 1e7);
        CHECK(solve(c).voltage(probe, minus) == approx(share).margin(0.5e-6));
        CHECK(solve(c).voltage(probe, minus) == approx(1e7 / (1e7 + ohm)).epsilon(1e-15));
    }
}

TEST_CASE("a floating array read to earth: the meter is part of the circuit") {
    // 600 V, 5 Mohm from plus and 2 Mohm from minus to earth, one meter of 10 Mohm moved from one to the other.
    // Closed form: with g = 1/R, v(plus, earth) = V g_minus / (g_plus + g_minus) with the meter's g on its
    // side.
    const auto reading = [](const char* red) {
        Circuit c;
        const Node plus = c.node("plus"), minus = c.node("minus"), earth = c.node("earth");
        c.voltage_source(plus, minus, 600.0);
        c.resistor(plus, earth, 5e6);
        c.resistor(minus, earth, 2e6);
        c.resistor(*c.find(red), earth, 10e6);
        return solve(c).voltage(*c.find(red), earth);
    };
    CHECK(reading("plus") == approx(375.0).epsilon(1e-14));
    CHECK(reading("minus") == approx(-150.0).epsilon(1e-14));
    // No leakage at all: all there is to read is what the meter makes of it.
    Circuit c;
    const Node plus = c.node("plus"), minus = c.node("minus"), earth = c.node("earth");
    c.voltage_source(plus, minus, 600.0);
    CHECK_FALSE(solve(c).connected(plus, earth));
    const Branch meter = c.resistor(plus, earth, 10e6);
    CHECK(solve(c).voltage(plus, earth) == 0.0);
    CHECK(solve(c).current(meter) == 0.0);
    CHECK(solve(c).voltage(plus, minus) == approx(600.0));
}

TEST_CASE("ohms on a winding") {
    const double inf = std::numeric_limits<double>::infinity(), R = 2.35;
    struct Motor {
        Circuit c;
        Node u, v, w;
        Motor() : u(c.node("u")), v(c.node("v")), w(c.node("w")) {}
    };
    const auto star = [&](double ru) {
        Motor m;
        const Node n = m.c.node("n");
        m.c.resistor(m.u, n, ru);
        m.c.resistor(m.v, n, R);
        m.c.resistor(m.w, n, R);
        return m;
    };
    const auto delta = [&](double ruv) {
        Motor m;
        m.c.resistor(m.u, m.v, ruv);
        m.c.resistor(m.v, m.w, R);
        m.c.resistor(m.w, m.u, R);
        return m;
    };
    const auto reads = [](const Motor& m, Node red, Node black) { return Solver(m.c).resistance_between(red, black); };

    // Balanced star 2R, balanced delta 2R/3; one star phase open: that terminal open to both, the third pair
    // 2R; one delta winding open: 2R across it and R on the two others.
    const Motor healthy = star(R), ring = delta(R), lost = star(inf), broken = delta(inf);
    for (const auto& [red, black] : {std::pair{0, 1}, std::pair{1, 2}, std::pair{2, 0}}) {
        CHECK(reads(healthy, red, black) == approx(2 * R).epsilon(1e-15));
        CHECK(reads(ring, red, black) == approx(2 * R / 3).epsilon(1e-15));
    }
    CHECK(reads(lost, lost.u, lost.v) == inf);
    CHECK(reads(lost, lost.w, lost.u) == inf);
    CHECK(reads(lost, lost.v, lost.w) == approx(2 * R).epsilon(1e-15));
    CHECK(reads(broken, broken.u, broken.v) == approx(2 * R).epsilon(1e-15));
    CHECK(reads(broken, broken.v, broken.w) == approx(R).epsilon(1e-15));
    CHECK(reads(broken, broken.w, broken.u) == approx(R).epsilon(1e-15));
    // A fifth of the turns of one star phase shorted out: 1.8 R against 2 R.
    const Motor shorted = star(0.8 * R);
    CHECK(reads(shorted, shorted.u, shorted.v) == approx(1.8 * R).epsilon(1e-15));
}

TEST_CASE("a 10 Mohm joint in a string reads half on a 10 Mohm meter, next to nothing in low impedance") {
    // Common practice, no source: two 12 V class modules, joint between them. Closed form Rm / (Rm + Rj).
    for (const auto& [meter, expected] : {std::pair{10e6, 0.5}, std::pair{3e3, 3e3 / 10.003e6}}) {
        Circuit c;
        const Node plus = c.node("plus"), minus = c.node("minus"), a = c.node("m1+"), b = c.node("m2-");
        c.voltage_source(a, minus, 21.0, 0.3);
        c.resistor(a, b, 10e6, "joint");
        c.voltage_source(plus, b, 21.0, 0.3);
        c.resistor(plus, minus, meter);
        CHECK(solve(c).voltage(plus, minus) == approx(42.0 * expected).epsilon(1e-6));
        // In series with the meter the joint takes the rest, polarity as a drop.
        CHECK(solve(c).voltage(a, b) == approx(42.0 * (1 - expected)).epsilon(1e-6));
    }
}

TEST_CASE("earth fault in a string: the place follows from two pole-to-earth readings") {
    // Ten sources of 33 V, the third joint to earth through 50 kohm; an ideal voltmeter shows 3 : 7 of the
    // total. Closed form with a meter Rm: v+ = 7 V Rm / (Rm + Rf), v- = -3 V Rm / (Rm + Rf), so the ratio holds
    // for any meter.
    for (const double meter : {10e6, 1e6, 1e5}) {
        const auto reading = [meter](int pole) {
            Circuit c;
            const Node earth = c.node("earth");
            Node here = c.node("j0");
            for (int k = 1; k <= 10; ++k) {
                const Node next = c.node(fmt::format("j{}", k));
                c.voltage_source(next, here, 33.0, 0.2);
                here = next;
            }
            c.resistor(c.node("j3"), earth, 50e3);
            c.resistor(c.node(fmt::format("j{}", pole)), earth, meter);
            return solve(c).voltage(c.node(fmt::format("j{}", pole)), earth);
        };
        const double plus = reading(10), minus = reading(0);
        CHECK(plus == approx(7 * 33.0 * meter / (meter + 50e3 + 7 * 0.2)).epsilon(1e-12));
        CHECK(-minus / (plus - minus) == approx(0.3).epsilon(1e-5));
    }
}
