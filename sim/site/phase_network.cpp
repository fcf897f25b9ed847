#include "site/phase_network.hpp"

#include <Eigen/LU>
#include <algorithm>
#include <cmath>
#include <map>
#include <numeric>

#include "site/points.hpp"

namespace sunshaft::site {
namespace {

using motor::Vec2;
using motor::Vec3;

// Nodes of the little graph: the twelve phase nodes, metal parts, and the three sources behind the legs.
constexpr int metal = PhaseNode::count, source = metal + 2, all_nodes = source + 3;
// Two ideal legs joined by no resistance at all would carry any current.
constexpr double least_short_ohm = 1e-3;

struct Edge {
    int a, b;
    double ohm;
};

struct Merge {  // union-find
    std::array<int, all_nodes> parent;
    Merge() { std::iota(parent.begin(), parent.end(), 0); }
    int operator()(int n) const {
        while (parent[static_cast<std::size_t>(n)] != n) n = parent[static_cast<std::size_t>(n)];
        return n;
    }
    void join(int a, int b) { parent[static_cast<std::size_t>((*this)(b))] = (*this)(a); }
};

struct Graph {
    Merge group;                                    // nodes merged by 0 ohm
    std::map<std::pair<int, int>, double> between;  // ohm between groups, parallel ones combined
    Merge part;                                     // groups joined by any edge

    void add(int a, int b, double ohm) {
        a = group(a), b = group(b);
        if (a == b) return;
        const auto [place, fresh] = between.try_emplace(std::minmax(a, b), ohm);
        if (!fresh) place->second = 1 / (1 / place->second + 1 / ohm);
        part.join(a, b);
    }
    int part_of(int node) const { return part(group(node)); }
};

bool is_motor(int n) { return n >= PhaseNode::motor && n < PhaseNode::count; }

// The strongest reading of the wiring for one pattern: merged nodes, then edges, without the ties that count as
// open.
Graph build(const std::vector<Edge>& edges, const Pattern& pattern, double on_resistance) {
    Graph g;
    for (const Edge& e : edges)
        if (e.ohm == 0.0) g.group.join(e.a, e.b);
    std::vector<Edge> legs;
    for (int k = 0; k < 3; ++k) {
        const LegDrive leg = pattern[static_cast<std::size_t>(k)];
        if (leg == LegDrive::floating) continue;
        double ohm = leg == LegDrive::device ? on_resistance : 0.0;
        for (int other = 0; other < k; ++other)
            if (ohm == 0.0 && g.group(source + other) == g.group(PhaseNode::drive + k)) ohm = least_short_ohm;
        if (ohm == 0.0) g.group.join(source + k, PhaseNode::drive + k);
        else legs.push_back({source + k, PhaseNode::drive + k, ohm});
    }
    // part has to start from the groups: joined by edges only.
    for (const Edge& e : legs) g.add(e.a, e.b, e.ohm);
    for (const Edge& e : edges)
        if (e.ohm > 0.0 && e.ohm <= open_above_ohm) g.add(e.a, e.b, e.ohm);

    // A diode, too, is asked for its motor current alone: a leak that feeds it would keep it conducting in one pattern
    // and let go in the next, without end.
    const auto loose = [&](const Graph& strong, int node) {
        bool motor = false, driven = false;
        for (int n = 0; n < all_nodes; ++n) {
            if (strong.part_of(n) != strong.part_of(node)) continue;
            if (n >= source && pattern[static_cast<std::size_t>(n - source)] == LegDrive::diode) return true;
            driven = driven || (n >= source && pattern[static_cast<std::size_t>(n - source)] == LegDrive::device);
            motor = motor || is_motor(n);
        }
        return motor && !driven;
    };
    const Graph strong = g;
    for (const Edge& e : edges)
        if (e.ohm > open_above_ohm && !loose(strong, e.a) && !loose(strong, e.b)) g.add(e.a, e.b, e.ohm);
    return g;
}

// One connected part of the graph as a tree from a root: resistance shared by the ways to two nodes.
class Tree {
  public:
    Tree(const Graph& g, int root) : g_(g) {
        parent_.fill(-1);
        ohm_.fill(0.0);
        std::vector<int> front = {root};
        parent_[static_cast<std::size_t>(root)] = root;
        while (!front.empty()) {
            const int at = front.back();
            front.pop_back();
            for (const auto& [ends, ohm] : g.between) {
                const int to = ends.first == at ? ends.second : ends.second == at ? ends.first : -1;
                if (to < 0 || parent_[static_cast<std::size_t>(to)] >= 0) continue;
                parent_[static_cast<std::size_t>(to)] = at;
                ohm_[static_cast<std::size_t>(to)] = ohm;
                front.push_back(to);
            }
        }
    }
    double shared(int node_a, int node_b) const {
        const std::vector<int> a = way(g_.group(node_a)), b = way(g_.group(node_b));
        double sum = 0.0;
        for (std::size_t n = 0; n < std::min(a.size(), b.size()) && a[n] == b[n]; ++n)
            sum += ohm_[static_cast<std::size_t>(a[n])];
        return sum;
    }

  private:
    std::vector<int> way(int group) const {  // from the root's child outwards
        std::vector<int> w;
        for (; parent_[static_cast<std::size_t>(group)] != group; group = parent_[static_cast<std::size_t>(group)])
            w.push_back(group);
        std::reverse(w.begin(), w.end());
        return w;
    }
    const Graph& g_;
    std::array<int, all_nodes> parent_;
    std::array<double, all_nodes> ohm_;
};

// Fills A and Z of all nodes in one part. roots: groups whose voltage is given, with the source they belong to
// (-1: an island's reference).
void solve_part(const Graph& g, const std::vector<std::pair<int, int>>& roots, const std::vector<int>& nodes,
                Reduced& r) {
    const int part = g.part(roots.front().first);
    std::vector<int> groups;
    for (int n = 0; n < all_nodes; ++n)
        if (g.group(n) == n && g.part(n) == part) groups.push_back(n);
    const auto edges =
        std::count_if(g.between.begin(), g.between.end(), [&](const auto& e) { return g.part(e.first.first) == part; });

    const auto set = [&](int node, auto value_A, auto value_Z) {
        if (node >= PhaseNode::count) return;
        for (int k = 0; k < 3; ++k) {
            r.A[static_cast<std::size_t>(node)][static_cast<std::size_t>(k)] = value_A(k);
            const bool fed = g.part_of(PhaseNode::motor + k) == part;
            r.Z[static_cast<std::size_t>(node)][static_cast<std::size_t>(k)] = fed ? value_Z(k) : 0.0;
        }
    };
    if (roots.size() == 1 && edges + 1 == static_cast<std::ptrdiff_t>(groups.size())) {
        const Tree tree(g, roots.front().first);
        for (const int n : nodes)
            set(
                n, [&](int k) { return k == roots.front().second ? 1.0 : 0.0; },
                [&](int k) { return tree.shared(n, PhaseNode::motor + k); });
        return;
    }

    // Meshed or fed from several legs: nodal analysis of the groups whose voltage is not given.
    std::array<int, all_nodes> row;
    row.fill(-1);
    int unknowns = 0;
    for (const int group : groups) {
        const bool given =
            std::any_of(roots.begin(), roots.end(), [&](const auto& root) { return root.first == group; });
        if (!given) row[static_cast<std::size_t>(group)] = unknowns++;
    }
    Eigen::MatrixXd Y = Eigen::MatrixXd::Zero(unknowns, unknowns), fed = Eigen::MatrixXd::Zero(unknowns, 6);
    const auto row_of = [&](int group) { return row[static_cast<std::size_t>(group)]; };
    const auto source_of = [&](int group) {
        for (const auto& root : roots)
            if (root.first == group) return root.second;
        return -1;
    };
    for (const auto& [ends, ohm] : g.between) {
        if (g.part(ends.first) != part) continue;
        for (const auto& [here, there] : {ends, std::pair(ends.second, ends.first)}) {
            if (row_of(here) < 0) continue;
            Y(row_of(here), row_of(here)) += 1 / ohm;
            if (row_of(there) >= 0) Y(row_of(here), row_of(there)) -= 1 / ohm;
            else if (source_of(there) >= 0) fed(row_of(here), source_of(there)) += 1 / ohm;
        }
    }
    for (int k = 0; k < 3; ++k) {
        const int group = g.group(PhaseNode::motor + k);
        if (g.part(group) == part && row_of(group) >= 0) fed(row_of(group), 3 + k) += 1.0;
    }
    Eigen::MatrixXd v = fed;
    if (unknowns > 0) v = Y.fullPivLu().solve(fed);
    for (const int n : nodes) {
        const int group = g.group(n);
        if (row_of(group) >= 0)
            set(
                n, [&](int k) { return v(row_of(group), k); }, [&](int k) { return v(row_of(group), 3 + k); });
        else
            set(
                n, [&](int k) { return k == source_of(group) ? 1.0 : 0.0; }, [](int) { return 0.0; });
    }
    // Leg currents from the drops across the edges at the given groups.
    for (const auto& [group, k] : roots) {
        if (k < 0) continue;
        Vec3 &G = r.G[static_cast<std::size_t>(k)], &B = r.B[static_cast<std::size_t>(k)];
        for (const auto& [ends, ohm] : g.between) {
            if (ends.first != group && ends.second != group) continue;
            const int other = ends.first == group ? ends.second : ends.first;
            for (int j = 0; j < 3; ++j) {
                const auto at = static_cast<std::size_t>(j);
                const double a = row_of(other) >= 0 ? v(row_of(other), j) : j == source_of(other) ? 1.0 : 0.0;
                G[at] += ((j == k ? 1.0 : 0.0) - a) / ohm;
                if (row_of(other) >= 0) B[at] += v(row_of(other), 3 + j) / ohm;
            }
        }
        for (int j = 0; j < 3; ++j)
            if (g.group(PhaseNode::motor + j) == group) B[static_cast<std::size_t>(j)] += 1.0;
    }
}

// What is left of the (alpha, beta) plane when the currents of each set of phases sum to zero.
void free_directions(const std::vector<std::vector<int>>& sets, Reduced& r) {
    r.free_directions = 2;
    Vec2 first{};
    for (const std::vector<int>& set : sets) {
        Vec2 normal{};
        for (const int k : set)
            for (std::size_t x = 0; x < 2; ++x) normal[x] += motor::axis[static_cast<std::size_t>(k)][x];
        const double length = std::hypot(normal[0], normal[1]);
        if (length < 0.5) continue;  // all three: sums to zero anyway
        if (r.free_directions == 2) {
            first = {normal[0] / length, normal[1] / length};
            r.direction = {0.0 - first[1], first[0]};
            r.free_directions = 1;
        } else if (std::abs(first[0] * normal[1] - first[1] * normal[0]) > 0.1) {
            r.free_directions = 0;
        }
    }
}

Reduced reduce(const std::vector<Edge>& edges, const Pattern& pattern, double on_resistance,
               const std::array<bool, 3>& winding_open) {
    const Graph g = build(edges, pattern, on_resistance);
    Reduced r;
    std::map<int, std::vector<int>> parts;
    for (int n = 0; n < all_nodes; ++n) parts[g.part_of(n)].push_back(n);

    std::vector<std::vector<int>> closed;  // sets of phases whose currents sum to zero
    for (int k = 0; k < 3; ++k)
        if (winding_open[static_cast<std::size_t>(k)]) closed.push_back({k});
    int islands = 0;
    for (const auto& [part, nodes] : parts) {
        std::vector<std::pair<int, int>> roots;
        std::vector<int> motors;
        for (const int n : nodes) {
            if (n >= source && pattern[static_cast<std::size_t>(n - source)] != LegDrive::floating)
                roots.emplace_back(g.group(n), n - source);
            if (is_motor(n)) motors.push_back(n - PhaseNode::motor);
        }
        const bool tied = !roots.empty();
        if (!tied) {
            if (nodes.front() >= PhaseNode::count) continue;  // metal parts or unused sources alone
            roots.emplace_back(g.group(motors.empty() ? nodes.front() : PhaseNode::motor + motors.front()), -1);
            if (!motors.empty()) closed.push_back(motors);
        }
        for (const int n : nodes)
            if (n < PhaseNode::count) r.island[static_cast<std::size_t>(n)] = tied ? -1 : islands;
        if (!tied) ++islands;
        const bool one_leg = tied && roots.size() == 1;
        if (one_leg)
            for (const int k : motors)
                r.B[static_cast<std::size_t>(roots.front().second)][static_cast<std::size_t>(k)] = 1.0;
        Reduced solved = r;
        solve_part(g, roots, nodes, solved);
        if (one_leg) solved.G = r.G, solved.B = r.B;  // what comes in goes out: no rounding
        r = solved;
    }
    free_directions(closed, r);
    return r;
}

}  // namespace

PhaseNetwork::PhaseNetwork(const circuit::Circuit& circuit, double on_resistance) {
    std::map<circuit::Node, int> number;
    const auto take = [&](const std::string& name, int n) {
        if (const auto found = circuit.find(name)) number[*found] = n;
    };
    constexpr std::array<const char*, 4> stems = {"drive", "lead", "cable", "motor"};
    for (int s = 0; s < 4; ++s)
        for (int k = 0; k < 3; ++k) take(phase_point(stems[static_cast<std::size_t>(s)], k), 3 * s + k);
    take("casing", metal);
    take("earth", metal + 1);

    std::vector<Edge> edges;
    const auto star = circuit.find("motor.n");
    winding_open_.fill(star.has_value());
    for (circuit::Branch b = 0; b < circuit.branches(); ++b) {
        const auto& what = circuit.info(b);
        // A wet joint is a source of some tenths of a volt behind its leak: a leak, here.
        const bool leak = what.kind == circuit::Circuit::Kind::voltage_source && what.ohm > 0.0;
        if (what.kind != circuit::Circuit::Kind::resistor && !leak) continue;
        if (star && (what.a == *star || what.b == *star)) {
            const auto end = number.find(what.a == *star ? what.b : what.a);
            if (end != number.end() && is_motor(end->second) && what.ohm <= open_above_ohm)
                winding_open_[static_cast<std::size_t>(end->second - PhaseNode::motor)] = false;
        }
        const auto a = number.find(what.a), z = number.find(what.b);
        if (a != number.end() && z != number.end() && what.ohm <= leak_above_ohm)
            edges.push_back({a->second, z->second, what.ohm});
    }
    constexpr std::array<LegDrive, 3> ways = {LegDrive::device, LegDrive::diode, LegDrive::floating};
    for (const LegDrive u : ways)
        for (const LegDrive v : ways)
            for (const LegDrive w : ways) {
                const Pattern p = {u, v, w};
                table_[static_cast<std::size_t>(index(p))] = reduce(edges, p, on_resistance, winding_open_);
            }
}

}  // namespace sunshaft::site
