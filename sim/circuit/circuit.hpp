// The circuit: a graph of named nodes and branches, and its solution at rest.
//
// One circuit, two users. The still bench solves all of it (modified nodal analysis, Newton for the nonlinear
// branches). The live plant asks for a reduced form: the terminal curve of the part behind two nodes, with inner
// node voltages kept for recovery. A fault or an act is an edit of this graph.
//
// Conventions: branch current flows from `a` to `b` through the branch; SI. Zero-ohm branches merge their nodes
// (1 micro-ohm beside 10 Mohm would cost digits). Infinite resistance is no branch. Parts with no conducting path
// between them ("islands") are each referred to their own node: their mutual voltage is undefined and
// Solution::connected() says so.
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

struct CurrentAndSlope { double i, di_dv; };
// i(v) of a nonlinear two-terminal part, v = v(a) - v(b), i from a to b; must be smooth and non-decreasing.
struct CurrentLaw {
    virtual ~CurrentLaw() = default;
    virtual CurrentAndSlope operator()(double v) const = 0;
};
// Shockley diode with series resistance (anode a): finite for any v.
std::shared_ptr<const CurrentLaw> diode(double drop_V, double at_A, double series_ohm = 1e-3);

class Circuit {
  public:
    Node node(std::string_view name);                      // finds or makes
    std::optional<Node> find(std::string_view name) const;
    const std::string& name(Node n) const;
    int nodes() const;

    Branch resistor(Node a, Node b, double ohm, std::string label = {});          // 0 .. inf
    Branch current_source(Node a, Node b, double ampere, std::string label = {});  // from a to b through the source
    // v(a) - v(b) = volt - ohm * i_delivered, where i_delivered leaves at a. 0 ohm is legal.
    Branch voltage_source(Node a, Node b, double volt, double ohm = 0.0, std::string label = {});
    Branch nonlinear(Node a, Node b, std::shared_ptr<const CurrentLaw> law, std::string label = {});
    Branch capacitor(Node a, Node b, double farad, std::string label = {});        // open at rest; kept for transients

    std::optional<Branch> find_branch(std::string_view label) const;
    void set_ohm(Branch b, double ohm);
    // Everything about one branch, for tools that draw or check the wiring.
    enum class Kind { resistor, current_source, voltage_source, nonlinear, capacitor };
    struct BranchInfo { Kind kind; Node a, b; double value, ohm; std::string label; };
    const BranchInfo& info(Branch b) const;
    int branches() const;

  private:
    friend class Solver;
    std::vector<std::string> names_;
    std::unordered_map<std::string, Node> by_name_;
    std::vector<BranchInfo> branches_;
    std::vector<std::shared_ptr<const CurrentLaw>> laws_;  // parallel to branches_, null unless nonlinear
};

class Solution {
  public:
    double voltage(Node n) const;               // against its island's reference
    double voltage(Node red, Node black) const;  // NaN when not connected
    bool connected(Node a, Node b) const;
    double current(Branch b) const;              // from a to b; a merged (0 ohm) branch: NaN, unknown
    int iterations = 0;
    std::vector<double> node_voltage;            // by node
    std::vector<int> island;
    std::vector<double> branch_current;
};

// Solves a circuit; keeps factorisation pattern and last solution, so that sweeps are cheap.
class Solver {
  public:
    explicit Solver(const Circuit& circuit);
    ~Solver();
    Solver(Solver&&) noexcept;
    // Throws std::runtime_error naming the worst node when Newton does not converge.
    Solution solve();
    // As solve(), with the voltage of one voltage source branch changed: the way to sweep a terminal.
    Solution solve_with(Branch voltage_source, double volt);
    // Thevenin resistance seen between two nodes at the last solution (small signal); inf when not connected.
    double resistance_between(Node a, Node b);

  private:
    struct Impl;
    std::unique_ptr<Impl> impl_;
};

Solution solve(const Circuit& circuit);

// Eliminates the inner nodes of a linear resistive circuit (resistors only are looked at): conductance matrix between
// ports, i = G v (i into the port), v against an arbitrary reference. Ports with no path to any other get zero rows.
Eigen::MatrixXd port_conductance(const Circuit& circuit, const std::vector<Node>& ports);

}  // namespace sunshaft::circuit
