// The circuit: a graph of named nodes and branches, and its solution at rest.
//
//   Circuit            the graph: make nodes and branches, look them up, change a value
//   diode()            a ready-made nonlinear branch law
//   Solver, solve()    node voltages and branch currents at rest; sweeps of one source; small-signal resistance
//   reduce()           a resistive network seen from a few ports, with the inner voltages recoverable
//   settle.hpp         the same circuit with its capacitors charging
//
// One circuit, two users. The still bench solves all of it (Newton for the nonlinear branches). The live plant
// asks for a reduced form: the terminal curve of the part behind two nodes, or the port conductances with the
// inner node voltages kept for recovery. A fault or an act is an edit of this graph.
//
// Conventions: branch current flows from `a` to `b` through the branch; SI units.
// - A resistor or voltage source of 0 ohm merges its nodes (with a fixed difference for a source); its current
// comes
//   back from Kirchhoff's current law where that settles it, and is NaN where it does not (two wires in
//   parallel).
// - Infinite resistance is no branch. No leak is ever added: parts with no conducting path between them
// ("islands";
//   a capacitor and a current source do not conduct) are each referred to their own lowest-numbered node. Their
//   mutual voltage is undefined and Solution::connected() says so. A node hanging on capacitors alone is an
//   island.
// - Any ratio of resistances is legal: voltages are kept as unevaluated sums of two doubles and conductances
// are
//   eliminated without subtraction, so that 1 micro-ohm beside 10 Mohm costs no digits.
#pragma once

#include <Eigen/Core>
#include <memory>
#include <optional>
#include <string>
#include <string_view>
#include <unordered_map>
#include <vector>

namespace sunshaft::circuit {

using Node = int;
using Branch = int;
inline std::size_t at(int index) { return static_cast<std::size_t>(index); }  // of either, for a vector

struct CurrentAndSlope {
    double i, di_dv;
};

// i(v) of a nonlinear two-terminal part, v = v(a) - v(b), i from a to b. Finite for any finite v, smooth and
// non-decreasing: then the circuit has one solution and Solver finds it from any start. A falling law (a
// constant- power draw) is tolerated where what stands around it makes the whole rise; elsewhere solve()
// throws.
struct CurrentLaw {
    virtual ~CurrentLaw() = default;
    virtual CurrentAndSlope operator()(double v) const = 0;
};

// Diode (anode a): i = Is (exp((v - i Rs) / nVt) - 1), W. Shockley, "The theory of p-n junctions in
// semiconductors", Bell System Technical Journal 28 (1949) 435-489, with a series resistance;
// beside it a leak of diode_leak_ohm. Is follows from the total drop `drop_V` at `at_A`. nVt: ideality times
// kT/q; 38.5 mV is n = 1.5 at 25 degC. Throws std::invalid_argument unless drop_V > at_A * series_ohm, and all
// are > 0.
std::shared_ptr<const CurrentLaw> diode(double drop_V, double at_A, double series_ohm = 1e-3, double nVt_V = 0.0385);
// About a microampere at 1000 V reverse (common practice, no source). Without it the voltage between two
// blocking diodes would be left open.
inline constexpr double diode_leak_ohm = 1e9;

class Circuit {
  public:
    // Nodes are numbered from 0 in the order they are made.
    Node node(std::string_view name);  // finds or makes
    std::optional<Node> find(std::string_view name) const;
    const std::string& name(Node n) const;
    int nodes() const;

    // Labels are unique (std::invalid_argument otherwise); the empty label is no label. Values that make no
    // sense (NaN, negative ohm, infinite volt) throw std::invalid_argument naming the branch.
    Branch resistor(Node a, Node b, double ohm, std::string label = {});           // 0 .. inf
    Branch current_source(Node a, Node b, double ampere, std::string label = {});  // from a to b through the source
    // v(a) - v(b) = volt - ohm * i_delivered, where i_delivered leaves at a: current() is then its negative.
    // 0 ohm is legal.
    Branch voltage_source(Node a, Node b, double volt, double ohm = 0.0, std::string label = {});
    Branch nonlinear(Node a, Node b, std::shared_ptr<const CurrentLaw> law, std::string label = {});
    Branch capacitor(Node a, Node b, double farad, std::string label = {});  // open at rest; kept for settle.hpp

    std::optional<Branch> find_branch(std::string_view label) const;
    void set_ohm(Branch b, double ohm);      // resistor, voltage source
    void set_value(Branch b, double value);  // volt, ampere or farad of a source or capacitor

    // Everything about one branch, for tools that draw or check the wiring.
    enum class Kind { resistor, current_source, voltage_source, nonlinear, capacitor };
    struct BranchInfo {
        Kind kind;
        Node a, b;
        double value;  // V, A or F; 0 for a resistor or a nonlinear branch
        double ohm;    // resistor and voltage source; 0 otherwise
        std::string label;
    };
    const BranchInfo& info(Branch b) const;
    int branches() const;
    const CurrentLaw* law(Branch b) const;  // null unless nonlinear
    // How messages call a branch: its label, or its kind and its nodes.
    std::string describe(Branch b) const;

  private:
    Branch add(BranchInfo info, std::shared_ptr<const CurrentLaw> law = {});

    std::vector<std::string> names_;
    std::unordered_map<std::string, Node> by_name_;
    std::vector<BranchInfo> branches_;
    std::unordered_map<std::string, Branch> by_label_;
    std::vector<std::shared_ptr<const CurrentLaw>> laws_;  // parallel to branches_
};

class Solution {
  public:
    double voltage(Node n) const;                // V against its island's reference
    double voltage(Node red, Node black) const;  // V; NaN when not connected
    bool connected(Node a, Node b) const;        // by a conducting path
    double current(Branch b) const;              // A from a to b; NaN where Kirchhoff's law leaves it open
    int islands() const;

    int iterations = 0;                  // of Newton's method
    std::vector<double> node_voltage;    // [node] V
    std::vector<int> island;             // [node] numbered from 0 by first node
    std::vector<double> branch_current;  // [branch] A
};

// Solves a circuit. Works on its own copy, taken at construction; keeps the elimination order and the last
// solution, so that sweeps are cheap. Not for use by two threads at once.
class Solver {
  public:
    explicit Solver(const Circuit& circuit);
    ~Solver();
    Solver(Solver&&) noexcept;
    Solver& operator=(Solver&&) noexcept;
    // Throws std::runtime_error in words: Newton does not converge (names the worst node), ideal voltage
    // sources contradict each other, a current source has no way back.
    Solution solve();
    // As solve(), with the voltage of one voltage source branch changed (it stays so): the way to sweep a
    // terminal.
    Solution solve_with(Branch voltage_source, double volt);
    // Thevenin resistance seen between two nodes at the last solution (small signal; solves first if there is
    // none): 0 when merged, inf when not connected.
    double resistance_between(Node a, Node b);

  private:
    struct Impl;
    std::unique_ptr<Impl> impl_;
};

Solution solve(const Circuit& circuit);

// A resistive network seen from its ports (resistors only are looked at).
struct Reduction {
    Eigen::MatrixXd conductance;  // ports x ports, S: i = conductance v, i into the port; rows sum to zero
    Eigen::MatrixXd recovery;     // nodes x ports: node voltages = recovery v; NaN row: no path to any port
};
// Eliminates the inner nodes (star-mesh transformation; = Schur complement). Ports with no path to any other
// get zero rows. Throws std::invalid_argument when two ports are the same node or are merged by 0 ohm.
Reduction reduce(const Circuit& circuit, const std::vector<Node>& ports);
// Only the conductance matrix of reduce().
Eigen::MatrixXd port_conductance(const Circuit& circuit, const std::vector<Node>& ports);

}  // namespace sunshaft::circuit
