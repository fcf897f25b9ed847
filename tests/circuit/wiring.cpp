// The graph itself: islands, merged nodes, ideal sources, ports, and what is refused.
#include <Eigen/LU>
#include <cmath>
#include <limits>
#include <stdexcept>

#include "catch_shim.hpp"
#include "circuit/circuit.hpp"
#include "random_circuit.hpp"
#include "words.hpp"

using namespace sunshaft::circuit;
using namespace sunshaft::test;

namespace {
constexpr double infinite = std::numeric_limits<double>::infinity();
}

TEST_CASE("nodes and branches are found again") {
    Circuit c;
    const Node a = c.node("s1.m1+"), b = c.node("s1.m1-");
    CHECK(c.node("s1.m1+") == a);
    CHECK(c.find("s1.m1-") == b);
    CHECK_FALSE(c.find("s2.m1+").has_value());
    CHECK(c.name(b) == "s1.m1-");
    const Branch joint = c.resistor(a, b, 4.0, "joint");
    CHECK(c.find_branch("joint") == joint);
    CHECK_FALSE(c.find_branch("").has_value());
    CHECK(c.info(joint).ohm == 4.0);
    c.set_ohm(joint, 5.0);
    CHECK(c.info(joint).ohm == 5.0);
    CHECK(c.describe(c.resistor(a, b, 1.0)) == "resistor s1.m1+ - s1.m1-");
}

TEST_CASE("islands are found exactly and referred to their own first node") {
    Circuit c;
    const Node a = c.node("a"), b = c.node("b"), d = c.node("d"), e = c.node("e"), lone = c.node("lone");
    c.voltage_source(b, a, 5.0);
    c.resistor(a, b, 10.0);
    c.voltage_source(e, d, 7.0, 1.0);
    c.resistor(d, e, 6.0);
    c.resistor(b, d, infinite);  // no branch
    c.capacitor(b, e, 1e-6);     // does not conduct at rest
    c.capacitor(a, lone, 1e-6);
    const Solution s = solve(c);
    CHECK(s.islands() == 3);
    CHECK(s.connected(a, b));
    CHECK_FALSE(s.connected(b, d));
    CHECK(std::isnan(s.voltage(b, d)));
    CHECK(s.voltage(b) == approx(5.0));
    CHECK(s.voltage(d) == 0.0);
    CHECK(s.voltage(e) == approx(6.0).epsilon(1e-15));
    CHECK(s.voltage(lone) == 0.0);  // a node on a capacitor alone is its own island
    Solver solver(c);
    CHECK(solver.resistance_between(a, d) == infinite);
    CHECK(solver.resistance_between(a, lone) == infinite);
    CHECK(solver.resistance_between(a, b) == 0.0);  // held by an ideal source: no small-signal resistance

    // A terohm joins them.
    c.resistor(b, d, 1e12);
    CHECK(solve(c).islands() == 2);
    CHECK(solve(c).voltage(b, d) == approx(0.0).margin(1e-9));  // and carries nothing
}

TEST_CASE("currents through merged nodes come from Kirchhoff's current law where it settles them") {
    Circuit c;
    const Node plus = c.node("+"), minus = c.node("-"), p = c.node("p"), q = c.node("q"), r = c.node("r");
    const Branch source = c.voltage_source(plus, minus, 12.0);
    const Branch wire = c.resistor(plus, p, 0.0);
    const Branch link1 = c.resistor(p, q, 0.0), link2 = c.resistor(q, p, 0.0);  // two wires in parallel
    const Branch tail = c.resistor(r, q, 0.0);
    const Branch load = c.resistor(r, minus, 6.0), side = c.resistor(p, minus, 12.0);
    const Branch across = c.resistor(p, r, 3.0);  // shorted by the wires
    const Branch own = c.resistor(p, p, 0.0);
    const Solution s = solve(c);
    CHECK(s.current(load) == approx(2.0).epsilon(1e-15));
    CHECK(s.current(side) == approx(1.0).epsilon(1e-15));
    CHECK(s.current(wire) == approx(3.0).epsilon(1e-15));
    CHECK(s.current(source) == approx(-3.0).epsilon(1e-15));  // delivers: flows from - to + inside
    CHECK(s.current(tail) == approx(-2.0).epsilon(1e-15));    // beyond the loop it is settled again
    CHECK(s.current(across) == 0.0);
    CHECK(std::isnan(s.current(link1)));
    CHECK(std::isnan(s.current(link2)));
    CHECK(std::isnan(s.current(own)));
    CHECK(s.voltage(r, plus) == 0.0);
}

TEST_CASE("ideal sources stack, and contradictions are named") {
    Circuit c;
    const Node ground = c.node("ground"), one = c.node("one"), two = c.node("two");
    c.voltage_source(one, ground, 1.5);
    c.voltage_source(two, one, 1.5);
    const Branch lamp = c.resistor(two, ground, 3.0);
    const Branch same = c.voltage_source(two, ground, 3.0, 0.0, "bench");
    CHECK(solve(c).current(lamp) == approx(1.0));
    CHECK(std::isnan(solve(c).current(same)));  // who delivers is open
    c.set_value(same, 3.1);
    CHECK(says(words([&] { solve(c); }), {"0 ohm", "1.5 V", "1.6 V", "one"}));
    c.set_ohm(same, 0.1);
    CHECK(solve(c).current(same) == approx(-1.0).epsilon(1e-14));

    Circuit shorted;
    const Node a = shorted.node("a");
    const Branch cell = shorted.voltage_source(a, a, 12.0, 0.5, "cell");
    CHECK(solve(shorted).current(cell) == approx(-24.0));
    shorted.set_ohm(cell, 0.0);
    CHECK_THROWS_AS(solve(shorted), std::runtime_error);
}

TEST_CASE("a current source needs a way back") {
    Circuit c;
    const Node a = c.node("a"), b = c.node("b");
    c.current_source(a, b, 1e-3, "ohmmeter");
    CHECK(says(words([&] { solve(c); }), {"ohmmeter", "from b to a"}));
    const Branch r = c.resistor(a, b, 470.0);
    CHECK(solve(c).voltage(b, a) == approx(0.47).epsilon(1e-15));
    CHECK(solve(c).current(r) == approx(-1e-3).epsilon(1e-15));
    c.set_ohm(r, infinite);
    CHECK_THROWS_AS(solve(c), std::runtime_error);
    c.current_source(b, a, 1e-3);  // two that feed each other: legal, voltages open
    CHECK_FALSE(solve(c).connected(a, b));
}

TEST_CASE("1 micro-ohm beside 10 Mohm") {
    // 600 V through 1 micro-ohm into 10 Mohm: both carry the same 60 microampere, and so do ten in a row.
    Circuit c;
    const Node ground = c.node("ground"), top = c.node("top");
    c.voltage_source(top, ground, 600.0);
    Node here = top;
    std::vector<Branch> joints;
    for (int k = 0; k < 10; ++k) {
        const Node next = c.node(fmt::format("j{}", k));
        joints.push_back(c.resistor(here, next, 1e-6));
        here = next;
    }
    const Branch meter = c.resistor(here, ground, 1e7);
    const Branch load = c.resistor(c.node("j4"), ground, 75.0);
    const Solution s = solve(c);
    const double i = s.current(meter);
    CHECK(i == approx(600.0 / (1e7 + 5e-6 + 5e-6)).epsilon(1e-6));
    for (std::size_t k = 5; k < 10; ++k) CHECK(s.current(joints[k]) == approx(i).epsilon(1e-14));
    for (std::size_t k = 0; k < 5; ++k) CHECK(s.current(joints[k]) == approx(i + s.current(load)).margin(2e-15));
}

TEST_CASE("an ideal and a nearly ideal wire agree") {
    for (unsigned seed = 1; seed <= 30; ++seed) {
        RandomCircuit ideal(seed), near(seed);
        ideal.fill(20, 10, 0.0, 4.0, 2);
        near.fill(20, 10, 0.0, 4.0, 2);
        for (int k = 0; k < 6; ++k) {
            const Node a = ideal.below(20), b = ideal.below(20);
            ideal.circuit.resistor(a, b, 0.0);
            near.circuit.resistor(a, b, 1e-10);
        }
        const Solution s = solve(ideal.circuit), t = solve(near.circuit);
        for (std::size_t n = 0; n < s.node_voltage.size(); ++n)
            CHECK(s.node_voltage[n] == approx(t.node_voltage[n]).margin(1e-6));
        for (std::size_t b = 0; b < s.branch_current.size(); ++b)
            if (!std::isnan(s.branch_current[b]))
                CHECK(s.branch_current[b] == approx(t.branch_current[b]).margin(1e-7));
    }
}

TEST_CASE("an empty circuit is no accident") {
    Circuit c;
    CHECK(solve(c).islands() == 0);
    const Node only = c.node("only");
    CHECK(solve(c).islands() == 1);
    CHECK(solve(c).voltage(only) == 0.0);
}

TEST_CASE("what makes no sense is refused in words") {
    Circuit c;
    const Node a = c.node("a"), b = c.node("b");
    const double nan = std::nan("");
    CHECK(says(words([&] { c.resistor(a, b, -1.0, "joint"); }), {"joint", "-1"}));
    CHECK_THROWS_AS(c.resistor(a, b, nan), std::invalid_argument);
    CHECK_THROWS_AS(c.voltage_source(a, b, infinite), std::invalid_argument);
    CHECK_THROWS_AS(c.voltage_source(a, b, 1.0, -0.1), std::invalid_argument);
    CHECK_THROWS_AS(c.current_source(a, b, nan), std::invalid_argument);
    CHECK_THROWS_AS(c.capacitor(a, b, -1e-6), std::invalid_argument);
    CHECK(c.branches() == 0);  // nothing half made is left behind
    c.resistor(a, b, 1.0, "joint");
    CHECK(says(words([&] { c.resistor(a, b, 2.0, "joint"); }), {"already"}));
    CHECK_THROWS_AS(c.set_value(0, 3.0), std::invalid_argument);
    CHECK_THROWS_AS(c.set_ohm(c.capacitor(a, b, 1.0), 3.0), std::invalid_argument);
    Solver solver(c);
    CHECK(says(words([&] { solver.solve_with(0, 1.0); }), {"joint"}));
}

TEST_CASE("ports: the reduced matrix and the recovered voltages are those of the whole") {
    for (unsigned seed = 1; seed <= 50; ++seed) {
        RandomCircuit r(seed);
        r.fill(30, 25, -3.0, 7.0, 0);
        r.circuit.resistor(3, r.circuit.node("extra"), 0.0);
        const std::vector<Node> ports = {0, 5, 9, 14};
        const Reduction reduced = reduce(r.circuit, ports);
        CHECK(reduced.conductance == port_conductance(r.circuit, ports));
        // Hold the ports at voltages by ideal sources and compare everything.
        const Eigen::Vector4d volt(0.0, 100.0, -37.0, 12.5);
        Circuit held = r.circuit;
        std::vector<Branch> source{-1};
        for (int p = 1; p < 4; ++p)
            source.push_back(held.voltage_source(ports[static_cast<std::size_t>(p)], 0, volt(p)));
        const Solution s = solve(held);
        const Eigen::Vector4d into = reduced.conductance * volt;
        const Eigen::VectorXd inner = reduced.recovery * volt;
        const double largest = into.cwiseAbs().maxCoeff();
        for (int p = 1; p < 4; ++p)
            CHECK(-s.current(source[static_cast<std::size_t>(p)]) == approx(into(p)).margin(1e-13 * largest));
        for (Node n = 0; n < r.circuit.nodes(); ++n) CHECK(s.voltage(n, 0) == approx(inner(n)).margin(1e-11));
    }
}

TEST_CASE("ports against the Schur complement of the nodal matrix") {
    RandomCircuit r(99);
    r.fill(12, 12, 0.0, 3.0, 0);
    Eigen::MatrixXd y = Eigen::MatrixXd::Zero(12, 12);
    for (Branch b = 0; b < r.circuit.branches(); ++b) {
        const auto& what = r.circuit.info(b);
        if (what.a == what.b) continue;
        const double g = 1.0 / what.ohm;
        y(what.a, what.a) += g, y(what.b, what.b) += g, y(what.a, what.b) -= g, y(what.b, what.a) -= g;
    }
    const Eigen::MatrixXd schur =
        y.topLeftCorner(3, 3) - y.topRightCorner(3, 9) * y.bottomRightCorner(9, 9).inverse() * y.bottomLeftCorner(9, 3);
    const Eigen::MatrixXd g = port_conductance(r.circuit, {0, 1, 2});
    CHECK((g - schur).cwiseAbs().maxCoeff() < 1e-12 * schur.cwiseAbs().maxCoeff());
}

TEST_CASE("ports without a path to any other") {
    Circuit c;
    const Node a = c.node("a"), b = c.node("b"), d = c.node("d"), lost = c.node("lost"), stub = c.node("stub");
    c.resistor(a, b, 10.0);
    c.resistor(d, stub, 5.0);
    const Reduction r = reduce(c, {a, b, d});
    CHECK(r.conductance(0, 0) == approx(0.1));
    CHECK(r.conductance.row(2).isZero());
    CHECK(r.recovery(stub, 2) == 1.0);
    CHECK(r.recovery(stub, 0) == 0.0);
    CHECK(std::isnan(r.recovery(lost, 0)));
    c.resistor(a, b, 0.0);
    CHECK(says(words([&] { reduce(c, {a, b}); }), {"port b"}));
    CHECK_THROWS_AS(reduce(c, {a, a}), std::invalid_argument);
}
