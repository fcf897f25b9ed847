// Random connected networks for checks by theorem, and their solution by another road: Gaussian elimination on
// the nodal matrix in 100 decimal digits.
#pragma once

#include <fmt/format.h>

#include <boost/multiprecision/cpp_bin_float.hpp>
#include <cmath>
#include <random>
#include <utility>
#include <vector>

#include "circuit/circuit.hpp"

namespace sunshaft::test {

struct RandomCircuit {
    circuit::Circuit circuit;
    std::mt19937 random;

    explicit RandomCircuit(unsigned seed) : random(seed) {}
    double uniform(double from, double to) { return std::uniform_real_distribution<double>(from, to)(random); }
    int below(int end) { return std::uniform_int_distribution<int>(0, end - 1)(random); }

    // A tree of resistors plus more resistors, current sources and voltage sources with resistance;
    // ohms between 10^from and 10^to.
    void fill(int nodes, int more, double from, double to, int sources) {
        const auto ohm = [&] { return std::pow(10.0, uniform(from, to)); };
        for (int n = 0; n < nodes; ++n) circuit.node(fmt::format("n{}", n));
        for (int n = 1; n < nodes; ++n) circuit.resistor(below(n), n, ohm());
        for (int k = 0; k < more; ++k) circuit.resistor(below(nodes), below(nodes), ohm());
        for (int k = 0; k < sources; ++k) {
            circuit.current_source(below(nodes), below(nodes), uniform(-5.0, 5.0));
            circuit.voltage_source(below(nodes), below(nodes), uniform(-300.0, 300.0), ohm());
        }
    }
};

using Wide = boost::multiprecision::cpp_bin_float_100;

// Node voltages against node 0 (one island, linear branches of more than 0 ohm).
inline std::vector<Wide> solve_wide(const circuit::Circuit& c) {
    using Kind = circuit::Circuit::Kind;
    const std::size_t size = static_cast<std::size_t>(c.nodes()) - 1;
    std::vector<std::vector<Wide>> m(size, std::vector<Wide>(size + 1, 0));
    for (int b = 0; b < c.branches(); ++b) {
        const auto& what = c.info(b);
        Wide g = 0, fixed = what.value;  // i = g v + fixed
        if (what.kind != Kind::current_source) {
            g = Wide(1) / Wide(what.ohm);
            fixed = -g * Wide(what.value);
        }
        const std::size_t p = static_cast<std::size_t>(what.a), q = static_cast<std::size_t>(what.b);
        if (p == q) continue;
        if (p > 0) m[p - 1][p - 1] += g, m[p - 1][size] -= fixed;
        if (q > 0) m[q - 1][q - 1] += g, m[q - 1][size] += fixed;
        if (p > 0 && q > 0) m[p - 1][q - 1] -= g, m[q - 1][p - 1] -= g;
    }
    for (std::size_t k = 0; k < size; ++k) {  // symmetric and positive definite: any pivot order will do
        for (std::size_t r = k + 1; r < size; ++r) {
            const Wide f = m[r][k] / m[k][k];
            for (std::size_t j = k; j <= size; ++j) m[r][j] -= f * m[k][j];
        }
    }
    std::vector<Wide> v(size + 1, 0);
    for (std::size_t k = size; k-- > 0;) {
        Wide sum = m[k][size];
        for (std::size_t j = k + 1; j < size; ++j) sum -= m[k][j] * v[j + 1];
        v[k + 1] = sum / m[k][k];
    }
    return v;
}

}  // namespace sunshaft::test
