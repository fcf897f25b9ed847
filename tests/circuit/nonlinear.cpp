// Diodes: the law itself, bridges, and starts from nothing.
#include <cmath>
#include <stdexcept>

#include "catch_shim.hpp"
#include "circuit/circuit.hpp"
#include "photovoltaic.hpp"
#include "random_circuit.hpp"
#include "words.hpp"

using namespace sunshaft::circuit;
using namespace sunshaft::test;

namespace {

// The junction's voltage at a current (the leak beside it left out): its law the explicit way round.
double drop(double i, double at_V, double at_A, double rs, double nVt) {
    const double saturation = at_A / std::expm1((at_V - at_A * rs) / nVt);
    return nVt * std::log1p(i / saturation) + i * rs;
}

}  // namespace

TEST_CASE("the diode law inverts Shockley's equation over 13 decades and stays finite") {
    const auto d = diode(0.9, 10.0, 5e-3);
    for (double i = 1e-9; i < 2e4; i *= 3.7) {
        const double v = drop(i, 0.9, 10.0, 5e-3, 0.0385);
        const auto [back, slope] = (*d)(v);
        CHECK(back - v / diode_leak_ohm == approx(i).epsilon(2e-13));
        const double saturation = 10.0 / std::expm1(0.85 / 0.0385);
        CHECK(slope - 1.0 / diode_leak_ohm == approx(1.0 / (5e-3 + 0.0385 / (i + saturation))).epsilon(1e-11));
    }
    CHECK((*d)(0.9).i == approx(10.0).epsilon(1e-9));
    CHECK((*d)(-1000.0).i == approx(-10.0 / std::expm1(0.85 / 0.0385) - 1e-6).epsilon(1e-9));
    CHECK((*d)(1e6).i == approx(1e6 / 5e-3).epsilon(1e-3));
    for (double v = -3.0; v < 3.0; v += 0.01) CHECK((*d)(v).i <= (*d)(v + 0.01).i);
    CHECK_THROWS_AS(diode(0.5, 100.0, 0.01), std::invalid_argument);
    CHECK_THROWS_AS(diode(0.5, 0.0), std::invalid_argument);
    CHECK_THROWS_AS(diode(50.0, 1.0, 1e-3, 1e-3), std::invalid_argument);
}

TEST_CASE("a diode bridge rectifies both ways with two drops") {
    const auto d = diode(0.8, 5.0, 0.01);
    for (const double volt : {325.0, -325.0, 12.0, -1.5, 0.2, 0.0}) {
        Circuit c;
        const Node a = c.node("a"), b = c.node("b"), plus = c.node("+"), minus = c.node("-");
        c.voltage_source(a, b, volt);
        const Branch into_plus = c.nonlinear(a, plus, d), from_b = c.nonlinear(b, plus, d);
        const Branch into_a = c.nonlinear(minus, a, d), into_b = c.nonlinear(minus, b, d);
        const Branch load = c.resistor(plus, minus, 20.0);
        const Solution s = solve(c);
        const double i = s.current(load);
        CAPTURE(volt, s.iterations);
        CHECK(i >= -1e-15);
        CHECK(s.iterations < 40);
        // Kirchhoff's voltage law round the conducting pair, with the drops taken from the explicit law.
        if (std::fabs(volt) > 1.0) {
            const double across = 0.5 * (std::fabs(volt) - s.voltage(plus, minus));
            const double on = (volt > 0 ? s.current(into_plus) : s.current(from_b)) - across / diode_leak_ohm;
            CHECK(2 * drop(on, 0.8, 5.0, 0.01, 0.0385) + 20.0 * i == approx(std::fabs(volt)).epsilon(1e-12));
        }
        CHECK(s.current(volt >= 0 ? into_plus : from_b) ==
              approx(s.current(volt >= 0 ? into_b : into_a)).epsilon(1e-9).margin(1e-12));
    }
}

TEST_CASE("a bridge that blocks holds its link; ohms by polarity") {
    // Six diodes of a three-phase bridge, link charged to 560 V: terminals float between the rails.
    Circuit c;
    const Node minus = c.node("-"), plus = c.node("+");
    c.voltage_source(plus, minus, 560.0);
    const auto d = diode(0.9, 10.0, 5e-3);
    for (const char* phase : {"u", "v", "w"}) {
        c.nonlinear(minus, c.node(phase), d);
        c.nonlinear(c.node(phase), plus, d);
    }
    Solver solver(c);
    const Solution s = solver.solve();
    for (const char* phase : {"u", "v", "w"}) CHECK(s.voltage(*c.find(phase), minus) == approx(280.0).epsilon(1e-6));

    // Dead link, test voltage of 1 V through 1 kohm: conducts one way, blocks the other.
    Circuit dead;
    const Node r = dead.node("red"), k = dead.node("black"), lead = dead.node("lead");
    dead.nonlinear(r, k, d);
    dead.resistor(lead, r, 1e3);
    const Branch test = dead.voltage_source(lead, k, 1.0);
    Solver meter(dead);
    const Solution on = meter.solve_with(test, 1.0);
    const double forward = on.voltage(r, k);
    CHECK(forward == approx(drop(-on.current(test) - forward / diode_leak_ohm, 0.9, 10, 5e-3, 0.0385)).epsilon(1e-12));
    CHECK(meter.resistance_between(r, k) < 200.0);
    CHECK(meter.solve_with(test, -1.0).voltage(r, k) == approx(-1.0).epsilon(1e-5));
    CHECK(meter.resistance_between(lead, r) > 999.0);  // the 1 kohm lead, past a diode that blocks
}

TEST_CASE("any network of monotone branches settles from a cold start") {
    int most = 0;
    for (unsigned seed = 1; seed <= 300; ++seed) {
        RandomCircuit r(seed);
        const int nodes = 4 + r.below(30);
        r.fill(nodes, r.below(10), -3.0, 7.0, 1 + r.below(3));
        for (int k = 0; k < 3 * nodes; ++k) {
            const Node a = r.below(nodes), b = r.below(nodes);
            switch (r.below(4)) {
                case 0:
                    r.circuit.nonlinear(a, b, diode(r.uniform(0.3, 1.2), 10.0, std::pow(10.0, r.uniform(-6, -1.6))));
                    break;
                case 1:
                    r.circuit.nonlinear(a, b, sunshaft::test::module54(r.uniform(0, 1200), r.uniform(0.02, 20)));
                    break;
                case 2: r.circuit.nonlinear(a, b, diode(0.5, 8.0, 1e-6, 8e-4)); break;
                default: r.circuit.nonlinear(a, b, std::make_shared<sunshaft::test::ClampLaw>());
            }
        }
        CAPTURE(seed, nodes);
        const Solution s = solve(r.circuit);
        most = std::max(most, s.iterations);
        std::vector<double> net(s.node_voltage.size(), 0.0), total(net);
        for (Branch b = 0; b < r.circuit.branches(); ++b) {
            const auto& what = r.circuit.info(b);
            // The reported current is the law's at the reported voltages, as well as doubles can show them.
            if (what.kind == Circuit::Kind::nonlinear) {
                const double v = s.voltage(what.a, what.b);
                const auto [i, slope] = (*r.circuit.law(b))(v);
                CHECK(s.current(b) ==
                      approx(i).epsilon(1e-6).margin(1e-9 + 1e-12 * slope * (1.0 + std::fabs(s.voltage(what.a)))));
            }
            net[static_cast<std::size_t>(what.a)] += s.current(b);
            net[static_cast<std::size_t>(what.b)] -= s.current(b);
            total[static_cast<std::size_t>(what.a)] += std::fabs(s.current(b));
            total[static_cast<std::size_t>(what.b)] += std::fabs(s.current(b));
        }
        for (std::size_t n = 0; n < net.size(); ++n) CHECK(std::fabs(net[n]) <= 1e-9 * total[n] + 1e-12);
    }
    INFO(most);
    CHECK(most < 150);
}

TEST_CASE("two blocking diodes without leakage: the leakier one keeps little of the voltage") {
    // i = -Is of the tighter one, so v = nVt ln(1 - Is2 / Is1) across the leakier. Their slopes underflow.
    struct Junction final : CurrentLaw {
        double saturation;
        explicit Junction(double is) : saturation(is) {}
        CurrentAndSlope operator()(double v) const override {
            const double x = v / 0.0385, slope = saturation / 0.0385 * std::exp(std::min(x, 40.0));
            return {x < 40.0 ? saturation * std::expm1(x) : saturation * std::expm1(40.0) + slope * (v - 40 * 0.0385),
                    slope};
        }
    };
    const auto between = [](double is1, double is2) {
        Circuit c;
        const Node ground = c.node("ground"), mid = c.node("mid"), top = c.node("top");
        c.voltage_source(top, ground, 100.0);
        c.nonlinear(mid, top, std::make_shared<Junction>(is1));
        c.nonlinear(ground, mid, std::make_shared<Junction>(is2));
        return solve(c).voltage(mid, top);
    };
    CHECK(between(1e-9, 1e-11) == approx(0.0385 * std::log1p(-0.01)).epsilon(1e-6));
    CHECK(between(1e-11, 1e-9) == approx(-100.0 - 0.0385 * std::log1p(-0.01)).epsilon(1e-9));
    // Alike: any voltage will do; what comes back must lie between the rails.
    CHECK(std::fabs(between(1e-9, 1e-9) + 50.0) <= 50.0);
}

TEST_CASE("constant power on a stiff source: the upper solution, or words when there is none") {
    // v^2 - E v + P R = 0. Below 20 V the load lets go smoothly.
    struct Draw final : CurrentLaw {
        double watt;
        explicit Draw(double w) : watt(w) {}
        CurrentAndSlope operator()(double v) const override {
            const double d = v * v + 400.0;
            return {watt * v / d, watt * (400.0 - v * v) / (d * d)};
        }
    };
    Circuit c;
    const Node plus = c.node("+"), minus = c.node("-");
    c.voltage_source(plus, minus, 300.0, 2.0);
    c.nonlinear(plus, minus, std::make_shared<Draw>(5000.0));
    const double v = solve(c).voltage(plus, minus);
    CHECK((300.0 - v) / 2.0 == approx(5000.0 * v / (v * v + 400.0)).epsilon(1e-12));
    CHECK(v > 250.0);
}

TEST_CASE("a law that cannot be met is reported with its node") {
    struct Broken final : CurrentLaw {  // a jump, and the solution would lie inside it
        CurrentAndSlope operator()(double v) const override { return {v > 1.0 ? 1.0 : -1.0, 1e-3}; }
    };
    Circuit c;
    const Node ground = c.node("ground"), joint = c.node("joint");
    c.nonlinear(joint, ground, std::make_shared<Broken>());
    c.resistor(joint, ground, 1.0);
    c.current_source(ground, joint, 1.0);
    CHECK(says(words([&] { solve(c); }), {"Newton", "joint"}));
}
