// Inside of the room: a circuit made ready for solving. Solver, reduce() and Settle stand on it.
//
// Unknowns: one voltage per group of nodes merged by 0 ohm (each node of a group has a fixed offset from its
// root: ideal voltage sources need no extra rows), all islands at once, each with its lowest group at 0 V.
#pragma once

#include <optional>
#include <utility>
#include <vector>

#include "circuit/circuit.hpp"
#include "circuit/elimination.hpp"

namespace sunshaft::circuit {

class Network {
  public:
    // Capacitors are open, or stand as a voltage source with resistance (their companion in an implicit time
    // step; set source() and ohm() before solve()). A capacitor of 0 F is no branch.
    enum class Capacitors { open, companion };
    Network(const Circuit& circuit, Capacitors capacitors);

    const Circuit& circuit() const { return circuit_; }
    // Values free to change between solves without a new analysis.
    double& source(Branch b) { return source_[static_cast<std::size_t>(b)]; }  // V or A
    double& ohm(Branch b) { return ohm_[static_cast<std::size_t>(b)]; }        // stays > 0 and finite, or stays 0

    // Newton from the last solution, and once more from 0 V if that fails. Returns the number of iterations.
    int solve();
    Solution solution() const;
    double voltage(Branch b) const;  // v(a) - v(b) at the last solution; NaN across islands
    double current(Branch b) const;  // a to b at the last solution, of a branch of more than 0 ohm

    double resistance_between(Node a, Node b);  // keeps the order of elimination for the next
    Reduction reduce(const std::vector<Node>& ports) const;

  private:
    struct Part {  // a branch that carries current by a law, or a current source
        Branch branch;
        int a, b;                     // groups
        const CurrentLaw* law;        // null: v = source + ohm i
        bool fixed;                   // current source
        int edge;                     // in edges_, -1 when none
        double offset = 0.0;          // V, offset(a) - offset(b)
        double i = 0.0, di_dv = 0.0;  // at the last evaluation
    };
    struct Merge {
        Branch branch;
        Node a, b;
        bool in_loop;
    };
    // Voltages of the groups as unevaluated sums of two doubles.
    struct Volts {
        std::vector<double> high, low;
    };

    void merge_nodes();
    void join_parts(Capacitors capacitors);
    void find_islands();
    void set_offsets();
    void check_current_sources() const;
    double across(const Part& part, double less) const;
    void evaluate();
    double slope_along_step() const;      // A V, of the co-content at the last evaluation
    double curvature_along_step() const;  // A V
    double imbalance() const;
    bool balance_is_fair() const;
    void find_step();
    std::optional<int> newton();
    [[noreturn]] void give_up() const;
    void merged_currents(std::vector<double>& current) const;

    Circuit circuit_;
    std::vector<double> source_, ohm_;  // [branch]

    std::vector<int> group_;      // [node]
    std::vector<double> offset_;  // [node] V above its group's voltage
    std::vector<Merge> merges_;
    std::vector<Node> order_;        // every node, parents before children in the trees of merges
    std::vector<int> parent_merge_;  // [node] index in merges_, -1 at a root
    std::vector<Node> parent_;       // [node]
    int groups_ = 0;

    std::vector<Part> parts_;
    std::vector<int> part_of_;                // [branch] index in parts_, -1 when none
    std::vector<std::pair<int, int>> edges_;  // groups
    std::vector<int> island_;                 // [group]
    int islands_ = 0;
    std::optional<Elimination> elimination_;
    std::optional<Elimination> to_two_;  // groups between_, of resistance_between()
    std::pair<int, int> between_;

    Volts at_;
    std::vector<double> excess_, excess_low_;  // [group] A flowing in, two doubles
    std::vector<double> through_;              // [group] A, sum of magnitudes
    std::vector<double> step_;                 // [group] V
    std::vector<double> conductance_;          // [edge] S
};

}  // namespace sunshaft::circuit
