// Capacitors charging and discharging, held against closed forms.
#include "circuit/settle.hpp"

#include <Eigen/Eigenvalues>
#include <cmath>
#include <stdexcept>

#include "catch_shim.hpp"
#include "random_circuit.hpp"

using namespace sunshaft::circuit;
using sunshaft::test::approx;

TEST_CASE("DC link precharge: 320 V through 47 ohm into 2.2 mF") {
    // v = V (1 - exp(-t / RC)); 198.343317 V after 0.1 s, 90 % after 0.238087299 s.
    Circuit c;
    const Node source = c.node("source"), link = c.node("link+"), minus = c.node("link-");
    c.voltage_source(source, minus, 320.0);
    const Branch series = c.resistor(source, link, 47.0);
    const Branch bank = c.capacitor(link, minus, 2.2e-3);
    Settle link_up(c);
    CHECK(link_up.solution().current(series) == approx(320.0 / 47.0).epsilon(1e-9));
    CHECK(link_up.run_to(0.1).voltage(link, minus) == approx(198.343317).epsilon(1e-8));
    CHECK(link_up.voltage(bank) == approx(320.0 * -std::expm1(-0.1 / (47.0 * 2.2e-3))).epsilon(1e-8));
    CHECK(link_up.run_until(link, minus, 288.0, 10.0).value() == approx(0.238087299).epsilon(1e-8));
    CHECK(link_up.time() == approx(0.238087299).epsilon(1e-8));
    CHECK_FALSE(link_up.run_until(link, minus, 400.0, 1.0).has_value());
    CHECK(link_up.time() == 1.0);
    CHECK(link_up.run_to(20.0).voltage(link, minus) == approx(320.0).epsilon(1e-9));
}

TEST_CASE("DC link discharge: 400 V, 1 mF, 100 kohm bleeder") {
    // 50 V after RC ln 8 = 207.944154 s; an ESR shifts the terminals, hardly the time.
    for (const double esr : {0.0, 0.1}) {
        Circuit c;
        const Node plus = c.node("link+"), minus = c.node("link-"), inside = c.node("inside");
        c.resistor(plus, minus, 1e5);
        c.resistor(plus, inside, esr);
        const Branch bank = c.capacitor(inside, minus, 1e-3);
        Settle link(c, {{bank, 400.0}});
        CHECK(link.solution().voltage(plus, minus) == approx(400.0 * 1e5 / (1e5 + esr)).epsilon(1e-12));
        const double wait = (1e5 + esr) * 1e-3 * std::log(8.0 * 1e5 / (1e5 + esr));
        CHECK(link.run_until(plus, minus, 50.0, 1e4).value() == approx(wait).epsilon(1e-8));
        CHECK(link.time() == approx(207.944154).epsilon(1e-6));
    }
}

TEST_CASE("link with the electronics' own draw: v^2 falls in a straight line") {
    // C v dv/dt = -P: v^2 = v0^2 - 2 P t / C, down to the drop-out at 100 V, then the bleeder alone.
    struct Draw final : CurrentLaw {
        CurrentAndSlope operator()(double v) const override {
            if (v < 100.0) return {0.0, 0.0};
            return {15.0 / v, -15.0 / (v * v)};
        }
    };
    Circuit c;
    const Node plus = c.node("link+"), minus = c.node("link-");
    c.nonlinear(plus, minus, std::make_shared<Draw>());
    const Branch bank = c.capacitor(plus, minus, 1e-3);
    Settle link(c, {{bank, 400.0}});
    for (const double t : {0.5, 2.0, 4.5})
        CHECK(link.run_to(t).voltage(plus, minus) ==
              approx(std::sqrt(400.0 * 400.0 - 2 * 15.0 * t / 1e-3)).epsilon(1e-7));
}

TEST_CASE("a floating array drifts to where leakage and meter leave it") {
    // 600 V array, 5 and 2 Mohm and 80 and 80 nF to earth; a 10 Mohm meter from plus to earth is applied at t =
    // 0. Earth moves as one node: tau = (C+ + C-) / (g+ + g- + gm), from 600 g-/(g+ + g-) to 375 V (closed
    // form).
    Circuit c;
    const Node plus = c.node("plus"), minus = c.node("minus"), earth = c.node("earth");
    c.voltage_source(plus, minus, 600.0);
    c.resistor(plus, earth, 5e6);
    c.resistor(minus, earth, 2e6);
    c.capacitor(plus, earth, 80e-9);
    c.capacitor(minus, earth, 80e-9);
    const std::vector<CapacitorVolt> before = capacitor_volts(c, solve(c));
    const double start = 600.0 * 5.0 / 7.0;
    REQUIRE(before.size() == 2);
    CHECK(before[0].volt == approx(start).epsilon(1e-14));
    c.resistor(plus, earth, 10e6);
    Settle drift(c, before);
    CHECK(drift.solution().voltage(plus, earth) == approx(start).epsilon(1e-12));
    const double tau = 160e-9 / (1 / 5e6 + 1 / 2e6 + 1 / 10e6);
    for (const double t : {0.05, 0.2, 1.0})
        CHECK(drift.run_to(t).voltage(plus, earth) ==
              approx(375.0 + (start - 375.0) * std::exp(-t / tau)).epsilon(1e-8));
    CHECK(drift.run_to(10.0).voltage(plus, earth) == approx(375.0).epsilon(1e-9));
}

TEST_CASE("charges that meet without resistance are shared") {
    // Charge is kept, C1 v1 + C2 v2 = (C1 + C2) v; half the energy of equal capacitors is lost (textbook
    // classic).
    Circuit c;
    const Node a = c.node("a"), b = c.node("b"), ground = c.node("ground");
    const Branch c1 = c.capacitor(a, ground, 2e-6), c2 = c.capacitor(b, ground, 6e-6);
    c.resistor(a, b, 0.0);
    c.resistor(a, ground, 1e6);
    Settle s(c, {{c1, 100.0}, {c2, -20.0}});
    CHECK(s.voltage(c1) == approx(10.0).epsilon(1e-9));
    CHECK(s.run_to(8.0).voltage(a, ground) == approx(10.0 * std::exp(-1.0)).epsilon(1e-8));

    // A capacitor straight across an ideal source takes its voltage; two in series across it share by charge.
    Circuit d;
    const Node plus = d.node("+"), mid = d.node("mid"), minus = d.node("-");
    d.voltage_source(plus, minus, 90.0);
    d.capacitor(plus, mid, 1e-6);
    d.capacitor(mid, minus, 2e-6);
    Settle divider(d);
    CHECK(divider.solution().voltage(mid, minus) == approx(30.0).epsilon(1e-9));
    CHECK(divider.run_to(1.0).voltage(mid, minus) == approx(30.0).epsilon(1e-9));
}

TEST_CASE("a network of many time constants against its eigenvalues") {
    // C dv/dt = -G (v - v_end) with C diagonal to ground: symmetric after scaling, exact by its modes.
    for (unsigned seed = 1; seed <= 10; ++seed) {
        sunshaft::test::RandomCircuit r(seed);
        const int n = 6;
        Circuit& c = r.circuit;
        const Node ground = c.node("ground");
        Eigen::MatrixXd g = Eigen::MatrixXd::Zero(n, n);
        Eigen::VectorXd farad(n), v0(n), feed = Eigen::VectorXd::Zero(n);
        std::vector<CapacitorVolt> start;
        for (int k = 0; k < n; ++k) c.node(fmt::format("n{}", k));
        for (int k = 0; k < n; ++k) {
            farad(k) = std::pow(10.0, r.uniform(-8, -4));
            v0(k) = r.uniform(-100, 100);
            start.push_back({c.capacitor(k + 1, ground, farad(k)), v0(k)});
            for (int j = -1; j < k; ++j) {
                const double ohm = std::pow(10.0, r.uniform(2, 6));
                c.resistor(k + 1, j + 1, ohm);
                g(k, k) += 1 / ohm;
                if (j >= 0) g(j, j) += 1 / ohm, g(k, j) -= 1 / ohm, g(j, k) -= 1 / ohm;
            }
        }
        c.current_source(ground, 3, 1e-3);
        feed(2) = 1e-3;
        const Eigen::VectorXd scale = farad.cwiseSqrt().cwiseInverse();
        const Eigen::SelfAdjointEigenSolver<Eigen::MatrixXd> modes(scale.asDiagonal() * g * scale.asDiagonal());
        const Eigen::VectorXd end = g.ldlt().solve(feed);
        Settle s(c, start);
        for (const double t : {1e-5, 1e-3, 0.03, 2.0}) {
            const Eigen::VectorXd amplitude =
                modes.eigenvectors().transpose() * scale.cwiseInverse().asDiagonal() * (v0 - end);
            const Eigen::VectorXd decay = (-t * modes.eigenvalues().array()).exp();
            const Eigen::VectorXd v = end + scale.asDiagonal() * modes.eigenvectors() * decay.cwiseProduct(amplitude);
            const Solution now = s.run_to(t);
            for (int k = 0; k < n; ++k) CHECK(now.voltage(k + 1, ground) == approx(v(k)).margin(1e-6));
        }
    }
}

TEST_CASE("a capacitor charged through a diode keeps its peak") {
    // Reference: the same scalar equation C dv/dt = i, v + drop(i) + R i = E, by RK4 with steps of 0.2
    // microseconds, i found by bisection of the explicit law.
    const double E = 12.0, R = 5.0, C = 1e-4, nVt = 0.0385, rs = 1e-3;
    const double is = 1.0 / std::expm1((0.7 - rs) / nVt);
    const auto rate = [&](double v) {
        double low = -is, high = E / R;
        for (int k = 0; k < 60; ++k) {
            const double i = 0.5 * (low + high);
            (nVt * std::log1p(i / is) + (rs + R) * i + v < E ? low : high) = i;
        }
        const double across = nVt * std::log1p(0.5 * (low + high) / is);  // for the leak beside the junction
        return (0.5 * (low + high) + across / diode_leak_ohm) / C;
    };
    double v = 0.0;
    const double h = 2e-6;
    const int steps = 1000;
    for (int k = 0; k < steps; ++k) {
        const double a = rate(v), b = rate(v + h / 2 * a), d = rate(v + h / 2 * b), e = rate(v + h * d);
        v += h / 6 * (a + 2 * b + 2 * d + e);
    }
    Circuit c;
    const Node source = c.node("source"), anode = c.node("anode"), plus = c.node("+"), minus = c.node("-");
    const Branch supply = c.voltage_source(source, minus, E);
    c.resistor(source, anode, R);
    c.nonlinear(anode, plus, diode(0.7, 1.0, rs, nVt));
    const Branch bank = c.capacitor(plus, minus, C);
    Settle up(c);
    CHECK(up.run_to(h * steps).voltage(plus, minus) == approx(v).epsilon(1e-8));
    // The source gone, the diode blocks: only its leakage is left, dv/dt = -(Is + v / leak) / C.
    c.set_value(supply, 0.0);
    Settle hold(c, {{bank, v}});
    const double tau = diode_leak_ohm * C, floor = is * diode_leak_ohm;
    CHECK(hold.run_to(1e3).voltage(plus, minus) == approx((v + floor) * std::exp(-1e3 / tau) - floor).epsilon(1e-6));
}

TEST_CASE("the error follows the tolerance") {
    double last = 1.0;
    for (const double tolerance : {1e-4, 1e-6, 1e-8, 1e-10}) {
        Circuit c;
        const Node a = c.node("a"), ground = c.node("ground");
        c.resistor(a, ground, 1e3);
        const Branch bank = c.capacitor(a, ground, 1e-6);
        Settle s(c, {{bank, 100.0}}, tolerance);
        const double error = std::fabs(s.run_to(2e-3).voltage(a, ground) - 100.0 * std::exp(-2.0)) / 100.0;
        CHECK(error < 10.0 * tolerance);
        CHECK(error < 0.2 * last);
        last = error;
    }
}

TEST_CASE("no capacitors, and requests that make no sense") {
    Circuit c;
    const Node a = c.node("a"), b = c.node("b"), far = c.node("far");
    const Branch r = c.resistor(a, b, 5.0);
    c.voltage_source(a, b, 10.0);
    Settle s(c);
    CHECK(s.run_to(3.0).current(r) == approx(2.0));
    CHECK_THROWS_AS(s.run_to(1.0), std::invalid_argument);
    CHECK_THROWS_AS(s.run_until(a, far, 1.0, 5.0), std::invalid_argument);
    CHECK_THROWS_AS(Settle(c, {{r, 5.0}}), std::invalid_argument);
    CHECK_THROWS_AS(Settle(c, {}, 0.0), std::invalid_argument);
}
