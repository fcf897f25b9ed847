// A circuit with its chains folded: parts in series, between whose ends nothing else hangs, carry one current. Alike
// ones among them, by the same law, share their volts evenly and become one branch, resistors one resistor. A string of
// sixty sub-strings is then one branch, or one for each kind of light on it.
#pragma once

#include <vector>

#include "circuit/circuit.hpp"

namespace sunshaft::circuit {

class Folded {
  public:
    // kept: nodes that stay, whatever hangs on them. Laws stay those of `whole`, which has to live as long.
    Folded(const Circuit& whole, const std::vector<Node>& kept);
    // What is to be solved. Nodes that stay keep their names; Solution::iterations is of this one.
    const Circuit& circuit() const { return folded_; }
    Node node(Node whole) const { return at_[static_cast<std::size_t>(whole)]; }        // -1: within a chain
    Branch branch(Branch whole) const { return as_[static_cast<std::size_t>(whole)]; }  // -1: within a chain
    // The solution of the whole circuit from that of the folded one: as solve() gives it.
    Solution unfold(const Solution& folded) const;

  private:
    struct Link {
        Branch branch;  // of the whole circuit
        bool along;     // its `a` comes first
        Node to;        // the next node
    };
    struct Kind {
        const CurrentLaw* law;  // null: resistors
        bool along;
        int count;
        double ohm;
        Branch branch;  // of the folded circuit, along the chain
    };
    struct Chain {
        Node from;
        std::vector<Link> links;
        std::vector<Kind> kinds;
    };
    static std::vector<Chain> chains(const Circuit& whole, const std::vector<Node>& kept, std::vector<char>& inner,
                                     std::vector<char>& chained);
    void take(const Circuit& whole, Chain chain);

    Circuit folded_;
    std::vector<Node> at_;
    std::vector<Branch> as_;
    std::vector<Chain> chains_;
    std::vector<double> ohm_;              // of each branch of the whole
    std::vector<const CurrentLaw*> laws_;  // likewise
};

}  // namespace sunshaft::circuit
