// Arrays of photovoltaic branches: published and computed cases, and what a sweep costs.
#include "photovoltaic.hpp"

#include <fmt/format.h>

#include <algorithm>
#include <vector>

#include "catch_shim.hpp"
#include "random_circuit.hpp"

using namespace sunshaft::circuit;
using sunshaft::test::approx;
using sunshaft::test::ClampLaw;
using sunshaft::test::module54;
using sunshaft::test::RandomCircuit;

namespace {

struct Terminal {
    Solver solver;
    Branch source;
    double current(double volt) { return solver.solve_with(source, volt).current(source); }  // into the source's +
};

// 60 sub-strings (a third of a module each, with a bypass diode) in `strings` parallel strings, a connector of
// 2 mohm after each module, leakage to earth; light on each sub-string from `dimmest` to 1000 W/m2.
struct Array {
    Circuit circuit;
    Branch source;
    double open_V;
};
Array array60(int strings, double dimmest, unsigned seed, int levels = 1000) {
    RandomCircuit dice(seed);
    Array made;
    Circuit& c = made.circuit;
    const Node plus = c.node("array+"), minus = c.node("array-"), earth = c.node("earth");
    for (int s = 0; s < strings; ++s) {
        Node here = minus;
        for (int k = 0; k < 60 / strings; ++k) {
            const Node next = c.node(fmt::format("{}.{}", s, k));
            const double light = 1000.0 - (1000.0 - dimmest) * dice.below(levels) / (levels - 1);
            c.nonlinear(next, here, module54(light, 1.0 / 3));
            c.nonlinear(here, next, diode(0.5, 8.0, 5e-3));
            here = next;
            if (k % 3 == 2) {
                const Node lead = c.node(fmt::format("{}.{} lead", s, k));
                c.resistor(here, lead, 2e-3);
                here = lead;
            }
        }
        c.resistor(here, plus, 0.01);
    }
    c.resistor(plus, earth, 5e6);
    c.resistor(minus, earth, 5e6);
    made.source = c.voltage_source(plus, minus, 0.0);
    made.open_V = 32.9 * 20 / strings;
    return made;
}

}  // namespace

TEST_CASE("the 54-cell module of Villalva, Gazoli, Filho: curve and load lines") {
    // Points of the curve and load lines computed from the paper's parameters by another program.
    const auto law = module54();
    const std::vector<std::pair<double, double>> points = {{0, 8.20963222},    {5, 8.19759815},      {10, 8.18550391},
                                                           {15, 8.17244874},   {20, 8.14408213},     {25, 7.87959729},
                                                           {28, 6.88199683},   {30, 5.07594687},     {32, 1.86873659},
                                                           {26.3, 7.60952734}, {32.9, -0.0375210216}};
    for (const auto& [v, i] : points) CHECK(-(*law)(v).i == approx(i).epsilon(1e-8));

    Circuit one;
    const Node plus = one.node("+"), minus = one.node("-");
    one.nonlinear(plus, minus, law);
    const Branch load = one.resistor(plus, minus, 3.5);
    const Solution s = solve(one);
    CHECK(s.current(load) == approx(7.561307422).epsilon(1e-9));
    CHECK(s.voltage(plus, minus) == approx(26.464575978).epsilon(1e-9));

    Circuit ten;
    const Node bottom = ten.node("array-");
    Node here = bottom;
    for (int k = 0; k < 10; ++k) {
        const Node next = ten.node(fmt::format("m{}+", k));
        ten.nonlinear(next, here, law);
        here = next;
    }
    const Node at_load = ten.node("load+");
    ten.resistor(here, at_load, 1.0);
    ten.resistor(at_load, bottom, 20.0);
    const Solution string = solve(ten);
    CHECK(string.voltage(at_load, bottom) == approx(163.295760733).epsilon(1e-9));
    CHECK(string.voltage(here, bottom) == approx(171.460548770).epsilon(1e-9));
}

TEST_CASE("two modules in series at 1000 and 500 W/m2 with bypass diodes") {
    // Computed by a scan over current and by a scan over voltage with Lambert's W, ideal clamp of 0.5 V.
    Circuit c;
    const Node plus = c.node("+"), mid = c.node("mid"), minus = c.node("-");
    c.nonlinear(plus, mid, module54(1000));
    c.nonlinear(mid, minus, module54(500));
    c.nonlinear(mid, plus, std::make_shared<ClampLaw>());
    c.nonlinear(minus, mid, std::make_shared<ClampLaw>());
    Circuit open = c;
    CHECK(solve(open).voltage(plus, minus) == approx(64.500378).epsilon(1e-6));

    const Branch source = c.voltage_source(plus, minus, 0.0);
    Terminal string{Solver(c), source};
    const std::vector<std::pair<double, double>> points = {{20, 8.1373300}, {25, 7.7958147}, {28, 6.5453837},
                                                           {40, 4.0824745}, {50, 4.0515118}, {60, 2.9582950}};
    for (const auto& [v, i] : points) CHECK(string.current(v) == approx(i).epsilon(1e-5));
    for (const auto& [v, power] :
         std::vector<std::pair<double, double>>{{55.413124, 216.906891}, {25.883289, 196.340313}}) {
        CHECK(v * string.current(v) == approx(power).epsilon(1e-5));
        CHECK((v - 0.05) * string.current(v - 0.05) < power);  // a maximum it is
        CHECK((v + 0.05) * string.current(v + 0.05) < power);
    }
    Solution at = string.solver.solve_with(source, 40.0);
    CHECK(at.voltage(plus, mid) == approx(30.725668).epsilon(1e-6));
    CHECK(at.voltage(mid, minus) == approx(9.274332).epsilon(1e-6));
    at = string.solver.solve_with(source, 25.0);
    CHECK(at.voltage(plus, mid) == approx(25.5).epsilon(1e-5));
    CHECK(at.voltage(mid, minus) == approx(-0.5).epsilon(1e-3));
}

TEST_CASE("one module in three bypassed groups, one of them at 300 W/m2") {
    const auto groups = [](double dim, bool shorted) {
        Circuit c;
        Node here = c.node("-");
        for (int k = 0; k < 3; ++k) {
            const Node next = c.node(fmt::format("g{}", k));
            c.nonlinear(next, here, module54(k == 1 ? dim : 1000.0, 1.0 / 3));
            c.nonlinear(here, next, std::make_shared<ClampLaw>());
            if (k == 1 && shorted) c.resistor(next, here, 0.0);
            here = next;
        }
        return c;
    };
    Circuit shaded = groups(300, false);
    CHECK(solve(shaded).voltage(*shaded.find("g2"), *shaded.find("-")) == approx(32.147106).epsilon(1e-6));
    Branch source = shaded.voltage_source(*shaded.find("g2"), *shaded.find("-"), 0.0);
    Terminal module{Solver(shaded), source};
    CHECK(17.100439 * module.current(17.100439) == approx(129.629700).epsilon(1e-5));
    CHECK(28.846855 * module.current(28.846855) == approx(68.101615).epsilon(1e-5));

    Circuit shorted = groups(1000, true);
    CHECK(solve(shorted).voltage(*shorted.find("g2"), *shorted.find("-")) == approx(21.922275).epsilon(1e-6));
    source = shorted.voltage_source(*shorted.find("g2"), *shorted.find("-"), 0.0);
    Terminal rest{Solver(shorted), source};
    CHECK(17.565998 * rest.current(17.565998) == approx(133.423746).epsilon(1e-5));
}

TEST_CASE("arrays settle from a cold start at any voltage, to the same answer as a sweep") {
    for (const int strings : {1, 2, 4, 10})
        for (const double dimmest : {1000.0, 700.0, 100.0, 0.0}) {
            Array a = array60(strings, dimmest, 7);
            Solver warm(a.circuit);
            int steps = 0;
            for (int k = 0; k < 100; ++k) {
                const double volt = a.open_V * (-0.2 + 1.6 * k / 99.0);
                const Solution swept = warm.solve_with(a.source, volt);
                steps += swept.iterations;
                if (k % 11 != 0) continue;
                Solver fresh(a.circuit);
                const Solution cold = fresh.solve_with(a.source, volt);
                CAPTURE(strings, dimmest, volt);
                CHECK(cold.iterations < 100);
                CHECK(cold.current(a.source) == approx(swept.current(a.source)).epsilon(1e-9).margin(1e-9));
            }
            CHECK(steps < 100 * 14);
        }
}
