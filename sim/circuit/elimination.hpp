// Elimination of nodes from a network of conductances by the star-mesh transformation.
//
// Taking out node k of a network joins each two of its neighbours i, j by g_ik g_jk / sum(g_k*) (A. Rosen, "A
// new network theorem", Journal of the IEE 62 (1924) 916-918). This is Gaussian elimination on the nodal matrix
// with the diagonal never stored, hence never subtracted from: every conductance left keeps its relative
// precision whatever the ratio of conductances (W. Grassmann, M. Taksar, D. Heyman, "Regenerative analysis and
// steady state distributions for Markov chains", Operations Research 33 (1985) 1107-1116, for the same idea).
// (The first of them cited from memory, the second checked.)
#pragma once

#include <utility>
#include <vector>

namespace sunshaft::circuit {

// The order is found once (least neighbours first); factor() and solve() then only run down flat lists.
class Elimination {
  public:
    // edges: pairs of different nodes, parallel ones add up. keep[n]: the node is not eliminated.
    Elimination(int nodes, const std::vector<std::pair<int, int>>& edges, const std::vector<char>& keep);

    // conductance [edge] S. False when a node had no positive sum (it is then left alone: solve() puts it at 0
    // V).
    bool factor(const std::vector<double>& conductance);

    // In: current into each node, A. Out: voltages, V, kept nodes at 0.
    void solve(std::vector<double>& current_then_volt) const;
    // In: voltages of the kept nodes. Out: the voltages of all nodes with no current fed in.
    void recover(std::vector<double>& volt) const;

    // Conductance between two kept nodes after elimination, S.
    double between(int kept_a, int kept_b) const;

  private:
    void back_substitute(std::vector<double>& volt) const;

    struct Step {
        int node;
        int first, count;  // range in spokes_
        int mesh;          // first of count (count - 1) / 2 entries in mesh_
    };
    struct Spoke {
        int neighbour;
        int slot;
    };
    std::vector<Step> steps_;
    std::vector<Spoke> spokes_;
    std::vector<int> mesh_;                                  // slots that receive fill
    std::vector<int> slot_of_edge_;                          // [edge]
    std::vector<int> kept_;                                  // nodes never eliminated
    std::vector<std::pair<std::pair<int, int>, int>> left_;  // slots between kept nodes
    std::vector<double> g_;                                  // [slot] S
    std::vector<double> share_;                              // [spoke] g / sum
    std::vector<double> inverse_sum_;                        // [step] ohm
};

}  // namespace sunshaft::circuit
