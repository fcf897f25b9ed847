// Network problems whose answers are in print.
#include "catch_shim.hpp"
#include "circuit/circuit.hpp"

#include <fmt/format.h>

#include <vector>

using namespace sunshaft::circuit;
using sunshaft::test::approx;

// T. Kuphaldt, "Lessons in Electric Circuits" volume I (DC), chapter 10 "DC network analysis"; values to the
// digits printed there.
TEST_CASE("Kuphaldt: two batteries, three resistors, branch currents") {
    Circuit c;
    const Node top = c.node("top"), left = c.node("left"), right = c.node("right"), ground = c.node("ground");
    c.voltage_source(left, ground, 28.0);
    c.voltage_source(right, ground, 7.0);
    const Branch r1 = c.resistor(left, top, 4.0);
    const Branch r2 = c.resistor(top, ground, 2.0);
    const Branch r3 = c.resistor(top, right, 1.0);
    const Solution s = solve(c);
    CHECK(s.current(r1) == approx(5.0).epsilon(1e-14));
    CHECK(s.current(r2) == approx(4.0).epsilon(1e-14));
    CHECK(s.current(r3) == approx(1.0).epsilon(1e-14));
}

TEST_CASE("Kuphaldt: unbalanced Wheatstone bridge by mesh currents") {
    Circuit c;
    const Node top = c.node("top"), left = c.node("left"), right = c.node("right"), ground = c.node("ground");
    const Branch source = c.voltage_source(top, ground, 24.0);
    const Branch r1 = c.resistor(top, left, 150.0), r2 = c.resistor(top, right, 50.0);
    const Branch r3 = c.resistor(right, left, 100.0);
    const Branch r4 = c.resistor(left, ground, 300.0), r5 = c.resistor(right, ground, 250.0);
    const Solution s = solve(c);
    CHECK(s.current(r1) == approx(42.299e-3).margin(0.5e-6));
    CHECK(s.current(r2) == approx(93.793e-3).margin(0.5e-6));
    CHECK(s.current(r3) == approx(16.552e-3).margin(0.5e-6));
    CHECK(s.current(r4) == approx(58.851e-3).margin(0.5e-6));
    CHECK(s.current(r5) == approx(77.241e-3).margin(0.5e-6));
    CHECK(s.current(source) == approx(-136.092e-3).margin(0.5e-6));  // 0 ohm: from Kirchhoff's current law
}

TEST_CASE("Kuphaldt: bridge solved by delta-star conversion") {
    Circuit c;
    const Node a = c.node("A"), b = c.node("B"), d = c.node("C"), ground = c.node("0");
    c.voltage_source(a, ground, 10.0);
    c.resistor(a, b, 12.0);
    c.resistor(a, d, 18.0);
    c.resistor(b, d, 6.0);
    c.resistor(b, ground, 18.0);
    c.resistor(d, ground, 12.0);
    const Solution s = solve(c);
    CHECK(s.voltage(a, b) == approx(4.706).margin(0.5e-3));
    CHECK(s.voltage(a, d) == approx(5.294).margin(0.5e-3));
    CHECK(s.voltage(b, d) == approx(0.5882).margin(0.5e-4));
    CHECK(s.voltage(b, ground) == approx(5.294).margin(0.5e-3));
    CHECK(s.voltage(d, ground) == approx(4.706).margin(0.5e-3));
}

TEST_CASE("Kuphaldt: node voltage method, sources with resistance") {
    // Printed equations: 1.15 E1 - 0.4 E2 = 5, -0.4 E1 + 1.6 E2 = -4; solved here: E1 = 80/21, E2 = -65/42.
    Circuit c;
    const Node e1 = c.node("E1"), e2 = c.node("E2"), e0 = c.node("E0");
    c.voltage_source(e1, e0, 10.0, 2.0);
    c.resistor(e1, e0, 4.0);
    c.resistor(e1, e2, 2.5);
    c.resistor(e2, e0, 5.0);
    c.voltage_source(e2, e0, -4.0, 1.0);
    const Solution s = solve(c);
    CHECK(s.voltage(e1, e0) == approx(80.0 / 21).epsilon(1e-14));
    CHECK(s.voltage(e2, e0) == approx(-65.0 / 42).epsilon(1e-14));
}

TEST_CASE("a balanced Wheatstone bridge takes no current whatever its galvanometer") {
    // R1 / R2 = R3 / R4 (any textbook, from memory).
    for (const double galvanometer : {0.0, 1e-3, 50.0, 1e7}) {
        Circuit c;
        const Node top = c.node("top"), l = c.node("l"), r = c.node("r"), ground = c.node("ground");
        c.voltage_source(top, ground, 9.0, 0.2);
        c.resistor(top, l, 100.0);
        c.resistor(l, ground, 270.0);
        c.resistor(top, r, 1000.0);
        c.resistor(r, ground, 2700.0);
        const Branch g = c.resistor(l, r, galvanometer);
        CHECK(solve(c).current(g) == approx(0.0).margin(1e-16));
    }
}

TEST_CASE("Morgan-Voyce: a ladder of 1 ohm resistors is a ratio of Fibonacci numbers") {
    // A. M. Morgan-Voyce, "Ladder-network analysis using Fibonacci numbers", IRE Trans. Circuit Theory 6 (1959)
    // 321-322 (from memory): n sections, series then shunt, show F(2n+1) / F(2n).
    double low = 1.0, high = 2.0;  // F(2), F(3)
    for (int n = 1; n <= 36; ++n) {
        Circuit c;
        const Node ground = c.node("ground"), in = c.node("in");
        Node here = in;
        for (int k = 0; k < n; ++k) {
            const Node next = c.node(fmt::format("{}", k));
            c.resistor(here, next, 1.0);
            c.resistor(next, ground, 1.0);
            here = next;
        }
        CHECK(Solver(c).resistance_between(in, ground) == approx(high / low).epsilon(1e-15));
        low += high;  // F(2n+2)
        high += low;  // F(2n+3)
    }
}

TEST_CASE("resistance across the cube of 1 ohm edges") {
    // Classical; F. J. van Steenwijk, "Equivalent resistors of polyhedral resistive structures", American
    // Journal of Physics 66 (1998) 90-91 (from memory): edge 7/12, face diagonal 3/4, body diagonal 5/6.
    Circuit c;
    for (int n = 0; n < 8; ++n) c.node(fmt::format("{}", n));
    for (int n = 0; n < 8; ++n)
        for (const int bit : {1, 2, 4})
            if (!(n & bit)) c.resistor(n, n | bit, 1.0);
    Solver solver(c);
    CHECK(solver.resistance_between(0, 1) == approx(7.0 / 12).epsilon(1e-15));
    CHECK(solver.resistance_between(0, 3) == approx(3.0 / 4).epsilon(1e-15));
    CHECK(solver.resistance_between(0, 7) == approx(5.0 / 6).epsilon(1e-15));
}

TEST_CASE("Kennelly: star and delta show the same at their terminals") {
    // A. E. Kennelly, "Equivalence of triangles and three-pointed stars in conducting networks", Electrical
    // World and Engineer 34 (1899) 413-414 (from memory): R_ab = Ra + Rb + Ra Rb / Rc.
    Circuit star;
    const Node a = star.node("a"), b = star.node("b"), c = star.node("c"), n = star.node("n");
    star.resistor(a, n, 2.0);
    star.resistor(b, n, 3.0);
    star.resistor(c, n, 5.0);
    const Reduction r = reduce(star, {a, b, c});
    CHECK(-1.0 / r.conductance(0, 1) == approx(2.0 + 3.0 + 6.0 / 5).epsilon(1e-15));
    CHECK(-1.0 / r.conductance(1, 2) == approx(3.0 + 5.0 + 15.0 / 2).epsilon(1e-15));
    CHECK(-1.0 / r.conductance(2, 0) == approx(5.0 + 2.0 + 10.0 / 3).epsilon(1e-15));
    // The star point follows as the conductance-weighted mean (Millman's theorem, from memory).
    const Eigen::Vector3d terminals(7.0, -2.0, 11.0);
    CHECK((r.recovery * terminals)(n) ==
          approx((7.0 / 2 - 2.0 / 3 + 11.0 / 5) / (1.0 / 2 + 1.0 / 3 + 1.0 / 5)).epsilon(1e-15));
}
