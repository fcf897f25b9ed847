#include <fmt/format.h>

#include <algorithm>
#include <cmath>
#include <limits>
#include <stdexcept>

#include "circuit/network.hpp"

namespace sunshaft::circuit {

double Solution::voltage(Node n) const { return node_voltage.at(static_cast<std::size_t>(n)); }

double Solution::voltage(Node red, Node black) const {
    return connected(red, black) ? voltage(red) - voltage(black) : std::numeric_limits<double>::quiet_NaN();
}

bool Solution::connected(Node a, Node b) const {
    return island.at(static_cast<std::size_t>(a)) == island.at(static_cast<std::size_t>(b));
}

double Solution::current(Branch b) const { return branch_current.at(static_cast<std::size_t>(b)); }

int Solution::islands() const {
    int most = 0;
    for (const int i : island) most = std::max(most, i + 1);
    return most;
}

struct Solver::Impl {
    Network network;
    bool solved = false;
};

Solver::Solver(const Circuit& circuit) : impl_(new Impl{Network(circuit, Network::Capacitors::open)}) {}
Solver::~Solver() = default;
Solver::Solver(Solver&&) noexcept = default;
Solver& Solver::operator=(Solver&&) noexcept = default;

Solution Solver::solve() {
    impl_->solved = false;
    const int iterations = impl_->network.solve();
    impl_->solved = true;
    Solution result = impl_->network.solution();
    result.iterations = iterations;
    return result;
}

Solution Solver::solve_with(Branch voltage_source, double volt) {
    const Circuit& circuit = impl_->network.circuit();
    if (circuit.info(voltage_source).kind != Circuit::Kind::voltage_source || !std::isfinite(volt))
        throw std::invalid_argument(fmt::format("{}: cannot be set to {} V", circuit.describe(voltage_source), volt));
    impl_->network.source(voltage_source) = volt;
    return solve();
}

double Solver::resistance_between(Node a, Node b) {
    if (!impl_->solved) solve();
    return impl_->network.resistance_between(a, b);
}

Solution solve(const Circuit& circuit) { return Solver(circuit).solve(); }

Reduction reduce(const Circuit& circuit, const std::vector<Node>& ports) {
    Circuit resistive;
    for (Node n = 0; n < circuit.nodes(); ++n) resistive.node(circuit.name(n));
    for (Branch b = 0; b < circuit.branches(); ++b) {
        const auto& what = circuit.info(b);
        if (what.kind == Circuit::Kind::resistor) resistive.resistor(what.a, what.b, what.ohm);
    }
    return Network(resistive, Network::Capacitors::open).reduce(ports);
}

Eigen::MatrixXd port_conductance(const Circuit& circuit, const std::vector<Node>& ports) {
    return reduce(circuit, ports).conductance;
}

}  // namespace sunshaft::circuit
