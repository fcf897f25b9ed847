// Random networks held against the theorems every network obeys, and against a solution in 100 decimal digits.
#include "catch_shim.hpp"
#include "circuit/circuit.hpp"
#include "random_circuit.hpp"

using namespace sunshaft::circuit;
using sunshaft::test::approx;
using sunshaft::test::RandomCircuit;
using sunshaft::test::solve_wide;
using sunshaft::test::Wide;
using Kind = Circuit::Kind;

namespace {

struct Balance {
    double kcl = 0.0;       // largest sum of currents at a node over the sum of their magnitudes there (or, at a
                            // node where next to nothing flows, over a millionth of the largest)
    double tellegen = 0.0;  // sum of powers over the sum of their magnitudes
};

Balance balance(const Circuit& c, const Solution& s) {
    std::vector<double> net(s.node_voltage.size(), 0.0), total(net);
    double power = 0.0, throughput = 0.0;
    for (Branch b = 0; b < c.branches(); ++b) {
        const auto& what = c.info(b);
        const double i = s.current(b);
        net[static_cast<std::size_t>(what.a)] -= i;
        net[static_cast<std::size_t>(what.b)] += i;
        total[static_cast<std::size_t>(what.a)] += std::fabs(i);
        total[static_cast<std::size_t>(what.b)] += std::fabs(i);
        if (i == 0.0) continue;  // open: no power, whatever lies across it
        power += i * s.voltage(what.a, what.b);
        throughput += std::fabs(i * s.voltage(what.a, what.b));
    }
    Balance result;
    const double largest = *std::max_element(total.begin(), total.end());
    for (std::size_t n = 0; n < net.size(); ++n)
        result.kcl = std::max(result.kcl, std::fabs(net[n]) / std::max(total[n], 1e-6 * largest));
    result.tellegen = std::fabs(power) / throughput;
    return result;
}

}  // namespace

TEST_CASE("Kirchhoff and Tellegen on random networks") {
    // B. D. H. Tellegen, "A general network theorem, with applications", Philips Research Reports 7 (1952)
    // 259-269 (from memory).
    for (unsigned seed = 1; seed <= 200; ++seed) {
        RandomCircuit r(seed);
        r.fill(3 + r.below(40), r.below(60), -2.0, 4.0, 1 + r.below(4));
        // Ideal parts too: 0 ohm links on nodes of their own, so that they close no loop.
        for (int k = 0; k < 4; ++k) {
            const Node old = r.below(r.circuit.nodes()), fresh = r.circuit.node(fmt::format("x{}", k));
            if (k % 2 == 0) r.circuit.resistor(old, fresh, 0.0);
            else r.circuit.voltage_source(fresh, old, r.uniform(-50.0, 50.0));
            r.circuit.resistor(fresh, r.below(r.circuit.nodes() - 1), 10.0);
        }
        const Balance b = balance(r.circuit, solve(r.circuit));
        CAPTURE(seed);
        CHECK(b.kcl < 1e-14);
        CHECK(b.tellegen < 1e-12);
    }
}

TEST_CASE("18 decades of resistance cost no digits") {
    // Against Gaussian elimination in 100 decimal digits.
    double worst_current = 0.0, worst_kcl = 0.0;
    for (unsigned seed = 1; seed <= 60; ++seed) {
        RandomCircuit r(seed);
        r.fill(4 + r.below(20), r.below(25), -6.0, 12.0, 2);
        const Solution s = solve(r.circuit);
        const std::vector<Wide> exact = solve_wide(r.circuit);
        double largest = 0.0;
        std::vector<double> wanted(static_cast<std::size_t>(r.circuit.branches()));
        for (Branch b = 0; b < r.circuit.branches(); ++b) {
            const auto& what = r.circuit.info(b);
            if (what.kind == Kind::current_source) continue;
            const Wide v = exact[static_cast<std::size_t>(what.a)] - exact[static_cast<std::size_t>(what.b)];
            wanted[static_cast<std::size_t>(b)] = static_cast<double>((v - Wide(what.value)) / Wide(what.ohm));
            largest = std::max(largest, std::fabs(wanted[static_cast<std::size_t>(b)]));
        }
        for (Branch b = 0; b < r.circuit.branches(); ++b) {
            if (r.circuit.info(b).kind == Kind::current_source) continue;
            const double want = wanted[static_cast<std::size_t>(b)];
            // A current far below the largest is a difference of larger ones: relative to itself down to 1e-6
            // of them.
            const double error = std::fabs(s.current(b) - want) / std::max(std::fabs(want), 1e-6 * largest);
            worst_current = std::max(worst_current, error);
        }
        worst_kcl = std::max(worst_kcl, balance(r.circuit, s).kcl);
    }
    CHECK(worst_current < 1e-11);
    CHECK(worst_kcl < 1e-12);
}

TEST_CASE("superposition: sources one at a time add up") {
    // H. von Helmholtz, Annalen der Physik 165 (1853) 211-233 (from memory).
    for (unsigned seed = 1; seed <= 40; ++seed) {
        RandomCircuit r(seed);
        r.fill(12, 15, -1.0, 3.0, 3);
        const Solution all = solve(r.circuit);
        std::vector<double> sum(all.branch_current.size(), 0.0);
        for (Branch alone = 0; alone < r.circuit.branches(); ++alone) {
            if (r.circuit.info(alone).kind == Kind::resistor) continue;
            Circuit one = r.circuit;
            for (Branch b = 0; b < one.branches(); ++b)
                if (b != alone && one.info(b).kind != Kind::resistor) one.set_value(b, 0.0);
            const Solution s = solve(one);
            for (std::size_t b = 0; b < sum.size(); ++b) sum[b] += s.branch_current[b];
        }
        for (std::size_t b = 0; b < sum.size(); ++b) CHECK(sum[b] == approx(all.branch_current[b]).margin(1e-11));
    }
}

TEST_CASE("reciprocity: source and ammeter change places") {
    // The reciprocity theorem of resistive networks (any textbook, from memory).
    for (unsigned seed = 1; seed <= 40; ++seed) {
        RandomCircuit r(seed);
        r.fill(15, 20, -3.0, 5.0, 0);
        const auto ammeter = [&](Node from, Node to, Node red, Node black) {
            Circuit c = r.circuit;
            c.voltage_source(from, to, 10.0);
            const Node lead = c.node("lead");
            c.resistor(red, lead, 0.0);
            const Branch ampere = c.voltage_source(lead, black, 0.0);
            return solve(c).current(ampere);
        };
        const double there = ammeter(0, 1, 7, 9), back = ammeter(7, 9, 0, 1);
        CHECK(there == approx(back).epsilon(1e-11).margin(1e-15));
    }
}

TEST_CASE("Foster: resistances across the branches over their ohms add up to nodes less one") {
    // R. M. Foster, "The average impedance of an electrical network", Contributions to Applied Mechanics
    // (Reissner anniversary volume, 1949) 333-340 (from memory).
    for (unsigned seed = 1; seed <= 40; ++seed) {
        RandomCircuit r(seed);
        r.fill(10 + r.below(20), 30, -6.0, 7.0, 0);
        Solver solver(r.circuit);
        double sum = 0.0;
        for (Branch b = 0; b < r.circuit.branches(); ++b) {
            const auto& what = r.circuit.info(b);
            sum += solver.resistance_between(what.a, what.b) / what.ohm;
        }
        CHECK(sum == approx(r.circuit.nodes() - 1.0).epsilon(1e-13));
    }
}

TEST_CASE("Thevenin: open voltage and resistance foretell any load") {
    for (unsigned seed = 1; seed <= 40; ++seed) {
        RandomCircuit r(seed);
        r.fill(12, 10, -1.0, 3.0, 2);
        Solver solver(r.circuit);
        const double open = solver.solve().voltage(3, 8), inner = solver.resistance_between(3, 8);
        for (const double load : {0.0, 1.0, 1e4}) {
            Circuit loaded = r.circuit;
            const Branch b = loaded.resistor(3, 8, load);
            CHECK(solve(loaded).current(b) == approx(open / (inner + load)).epsilon(1e-9));
        }
    }
}
