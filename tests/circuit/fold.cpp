// A circuit with its chains folded against the same circuit as it is.
#include "circuit/fold.hpp"

#include <cmath>
#include <limits>

#include "catch_shim.hpp"

using namespace sunshaft::circuit;
using sunshaft::test::approx;

namespace {

// Two strings of sources that are diodes lit from behind, with joints between them; what `change` adds, too.
struct Strings {
    Circuit c;
    Branch across = -1;  // a voltage source between the poles

    explicit Strings(int parts) {
        const Node plus = c.node("plus"), minus = c.node("minus");
        const auto lit = diode(0.6, 8.0), dim = diode(0.5, 5.0);
        for (const std::string name : {"a", "b"}) {
            Node here = plus;
            for (int k = 0; k < parts; ++k) {
                const Node upper = c.node(name + std::to_string(k) + "+"),
                           lower = c.node(name + std::to_string(k) + "-");
                c.resistor(here, upper, k % 3 ? 0.002 * k : 0.0);
                // one turned round, one dimmer
                const auto law = name == "b" && k == 2 ? dim : lit;
                if (name == "a" && k == 4) c.nonlinear(lower, upper, law, name + std::to_string(k));
                else c.nonlinear(upper, lower, law, name + std::to_string(k));
                here = lower;
            }
            c.resistor(here, minus, 0.01, name);
        }
        across = c.voltage_source(plus, minus, 3.0, 0.1, "across");
    }
};

void same(const Circuit& c) {
    const Folded folded(c, {0, 1});
    const Solution whole = solve(c), part = folded.unfold(solve(folded.circuit()));
    CHECK(folded.circuit().nodes() <= c.nodes());
    REQUIRE(part.node_voltage.size() == whole.node_voltage.size());
    REQUIRE(part.branch_current.size() == whole.branch_current.size());
    for (Node n = 0; n < c.nodes(); ++n) {
        INFO(c.name(n));
        CHECK(part.island[static_cast<std::size_t>(n)] == whole.island[static_cast<std::size_t>(n)]);
        CHECK(part.voltage(n) == approx(whole.voltage(n)).epsilon(1e-9).margin(1e-9));
    }
    for (Branch b = 0; b < c.branches(); ++b) {
        INFO(c.describe(b));
        if (std::isnan(whole.current(b))) CHECK(std::isnan(part.current(b)));
        else CHECK(part.current(b) == approx(whole.current(b)).epsilon(1e-8).margin(1e-10));
    }
}

}  // namespace

TEST_CASE("a folded circuit has the voltages and currents of the whole one") {
    Strings plain(9);
    const Folded folded(plain.c, {0, 1});
    CHECK(folded.circuit().nodes() < 10);  // of 38
    CHECK(folded.node(*plain.c.find("a3-")) == -1);
    CHECK(folded.branch(plain.across) >= 0);
    same(plain.c);
    // The other way, through the diodes' leaks.
    plain.c.set_value(plain.across, -4.0);
    same(plain.c);

    SECTION("a leak in the middle, and one between the strings") {
        plain.c.resistor(*plain.c.find("a5+"), plain.c.node("frame"), 2000.0);
        plain.c.resistor(plain.c.node("frame"), *plain.c.find("minus"), 1e6);
        plain.c.resistor(*plain.c.find("a2-"), *plain.c.find("b7+"), 50.0);
        same(plain.c);
    }
    SECTION("a string in two") {
        Strings cut(6);
        cut.c.resistor(cut.c.node("lone"), *cut.c.find("a3+"), std::numeric_limits<double>::infinity());
        cut.c.capacitor(*cut.c.find("a1-"), cut.c.node("lone"), 1e-6);
        for (Branch b = 0; b < cut.c.branches(); ++b)
            if (cut.c.info(b).kind == Circuit::Kind::resistor && cut.c.name(cut.c.info(b).b) == "b3+")
                cut.c.set_ohm(b, std::numeric_limits<double>::infinity());
        same(cut.c);
    }
    SECTION("rings, a loop on one node, wires side by side") {
        const Node r = plain.c.node("r"), s = plain.c.node("s"), t = plain.c.node("t");
        plain.c.resistor(r, s, 1.0);
        plain.c.resistor(s, t, 2.0);
        plain.c.resistor(t, r, 3.0);  // joined to nothing
        const Node p = plain.c.node("p"), q = plain.c.node("q");
        plain.c.resistor(0, p, 1.0);
        plain.c.nonlinear(p, q, diode(0.7, 1.0));
        plain.c.resistor(q, 0, 1.0);  // back to where it began
        plain.c.resistor(0, plain.c.node("bar"), 0.0);
        plain.c.resistor(0, plain.c.node("bar"), 0.0);
        same(plain.c);
    }
}
