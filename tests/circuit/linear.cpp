#include "catch_shim.hpp"
#include "circuit/circuit.hpp"

using namespace sunshaft::circuit;
using sunshaft::test::approx;

TEST_CASE("a divider divides") {
    Circuit c;
    const Node top = c.node("top"), mid = c.node("mid"), ground = c.node("ground");
    c.voltage_source(top, ground, 10.0);
    c.resistor(top, mid, 1e3);
    c.resistor(mid, ground, 3e3);
    const Solution s = solve(c);
    CHECK(s.voltage(mid, ground) == approx(7.5).epsilon(1e-15));
}
