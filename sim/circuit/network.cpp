#include "circuit/network.hpp"

#include <fmt/format.h>

#include <algorithm>
#include <cmath>
#include <limits>
#include <stdexcept>
#include <utility>

#include "text/language.hpp"

namespace sunshaft::circuit {
namespace {

using Kind = Circuit::Kind;

bool merges(const Circuit::BranchInfo& what) {
    return (what.kind == Kind::resistor || what.kind == Kind::voltage_source) && what.ohm == 0.0;
}

}  // namespace

Network::Network(const Circuit& circuit, Capacitors capacitors) : circuit_(circuit) {
    for (Branch b = 0; b < circuit_.branches(); ++b) {
        const auto& what = circuit_.info(b);
        source_.push_back(what.kind == Kind::capacitor ? 0.0 : what.value);
        ohm_.push_back(what.ohm);
    }
    merge_nodes();
    join_parts(capacitors);
    find_islands();

    std::vector<char> keep(at(groups_), 0);
    std::vector<char> seen(at(islands_), 0);
    for (int g = 0; g < groups_; ++g)
        if (!std::exchange(seen[at(island_[at(g)])], char{1})) keep[at(g)] = 1;
    elimination_.emplace(groups_, edges_, keep);
    at_.high.assign(at(groups_), 0.0);
    at_.low = step_ = through_ = excess_ = excess_low_ = at_.high;
    conductance_.assign(edges_.size(), 0.0);
}

// Spanning trees of the 0-ohm branches; those that close a loop share its current in a way nothing determines.
void Network::merge_nodes() {
    const int nodes = circuit_.nodes();
    std::vector<std::vector<int>> merges_at(at(nodes));
    for (Branch b = 0; b < circuit_.branches(); ++b) {
        const auto& what = circuit_.info(b);
        if (!merges(what)) continue;
        merges_at[at(what.a)].push_back(static_cast<int>(merges_.size()));
        merges_at[at(what.b)].push_back(static_cast<int>(merges_.size()));
        merges_.push_back({b, what.a, what.b, false});
    }
    group_.assign(at(nodes), -1);
    offset_.assign(at(nodes), 0.0);
    parent_merge_.assign(at(nodes), -1);
    parent_.assign(at(nodes), -1);
    std::vector<int> depth(at(nodes), 0);
    for (Node root = 0; root < nodes; ++root) {
        if (group_[at(root)] >= 0) continue;
        group_[at(root)] = groups_;
        order_.push_back(root);
        for (std::size_t next = order_.size() - 1; next < order_.size(); ++next) {
            const Node here = order_[next];
            for (const int m : merges_at[at(here)]) {
                const Node there = merges_[at(m)].a == here ? merges_[at(m)].b : merges_[at(m)].a;
                if (group_[at(there)] >= 0) continue;
                group_[at(there)] = groups_;
                parent_[at(there)] = here;
                parent_merge_[at(there)] = m;
                depth[at(there)] = depth[at(here)] + 1;
                order_.push_back(there);
            }
        }
        ++groups_;
    }
    for (int m = 0; m < static_cast<int>(merges_.size()); ++m) {
        Node a = merges_[at(m)].a, b = merges_[at(m)].b;
        if (parent_merge_[at(a)] == m || parent_merge_[at(b)] == m) continue;
        merges_[at(m)].in_loop = true;
        while (a != b) {  // up both sides to where they meet
            Node& deeper = depth[at(a)] >= depth[at(b)] ? a : b;
            merges_[at(parent_merge_[at(deeper)])].in_loop = true;
            deeper = parent_[at(deeper)];
        }
    }
}

void Network::join_parts(Capacitors capacitors) {
    part_of_.assign(at(circuit_.branches()), -1);
    for (Branch b = 0; b < circuit_.branches(); ++b) {
        const auto& what = circuit_.info(b);
        if (merges(what) || std::isinf(what.ohm)) continue;
        if (what.kind == Kind::capacitor && (capacitors == Capacitors::open || what.value == 0.0)) continue;
        Part part{b, group_[at(what.a)], group_[at(what.b)], circuit_.law(b), what.kind == Kind::current_source, -1};
        if (!part.fixed && part.a != part.b) {
            part.edge = static_cast<int>(edges_.size());
            edges_.emplace_back(part.a, part.b);
        }
        part_of_[at(b)] = static_cast<int>(parts_.size());
        parts_.push_back(part);
    }
}

void Network::find_islands() {
    std::vector<std::vector<int>> neighbours(at(groups_));
    for (const auto& [a, b] : edges_) {
        neighbours[at(a)].push_back(b);
        neighbours[at(b)].push_back(a);
    }
    island_.assign(at(groups_), -1);
    std::vector<int> to_visit;
    for (int g = 0; g < groups_; ++g) {
        if (island_[at(g)] >= 0) continue;
        island_[at(g)] = islands_;
        to_visit.push_back(g);
        while (!to_visit.empty()) {
            const int here = to_visit.back();
            to_visit.pop_back();
            for (const int there : neighbours[at(here)]) {
                if (island_[at(there)] >= 0) continue;
                island_[at(there)] = islands_;
                to_visit.push_back(there);
            }
        }
        ++islands_;
    }
}

void Network::set_offsets() {
    for (const Node n : order_) {
        if (parent_[at(n)] < 0) continue;
        const Merge& m = merges_[at(parent_merge_[at(n)])];
        const double volt = source_[at(m.branch)];
        offset_[at(n)] = offset_[at(parent_[at(n)])] + (m.a == n ? volt : -volt);
    }
    for (const Merge& m : merges_) {
        const double volt = source_[at(m.branch)], asked = offset_[at(m.a)] - offset_[at(m.b)];
        if (std::fabs(asked - volt) > 1e-9 * std::max(1.0, std::fabs(volt)))
            throw std::runtime_error(
                text::say("{}: 0 ohm and {} V, but other 0 ohm branches hold its ends at {} V. Give one a resistance",
                          circuit_.describe(m.branch), volt, asked));
    }
    for (Part& part : parts_) {
        const auto& what = circuit_.info(part.branch);
        part.offset = offset_[at(what.a)] - offset_[at(what.b)];
    }
}

void Network::check_current_sources() const {
    std::vector<double> net(at(islands_), 0.0), total(at(islands_), 0.0);
    for (const Part& part : parts_) {
        if (!part.fixed) continue;
        const double ampere = source_[at(part.branch)];
        const std::size_t from = at(island_[at(part.a)]), to = at(island_[at(part.b)]);
        net[from] -= ampere;
        net[to] += ampere;
        total[from] += std::fabs(ampere);
        total[to] += std::fabs(ampere);
    }
    for (const Part& part : parts_) {
        const std::size_t to = at(island_[at(part.b)]);
        if (part.fixed && std::fabs(net[to]) > 1e-12 * total[to])
            throw std::runtime_error(text::say("{}: its {} A have no conducting way back from {} to {}",
                                               circuit_.describe(part.branch), source_[at(part.branch)],
                                               circuit_.name(circuit_.info(part.branch).b),
                                               circuit_.name(circuit_.info(part.branch).a)));
    }
}

double Network::voltage(Branch b) const {
    const auto& what = circuit_.info(b);
    const std::size_t ga = at(group_[at(what.a)]), gb = at(group_[at(what.b)]);
    if (island_[ga] != island_[gb]) return std::numeric_limits<double>::quiet_NaN();
    return ((at_.high[ga] - at_.high[gb]) + (offset_[at(what.a)] - offset_[at(what.b)])) + (at_.low[ga] - at_.low[gb]);
}

double Network::current(Branch b) const {
    const int part = part_of_[at(b)];
    return part < 0 ? 0.0 : parts_[at(part)].i;
}

Solution Network::solution() const {
    Solution result;
    const std::size_t nodes = at(circuit_.nodes());
    result.node_voltage.resize(nodes);
    result.island.resize(nodes);
    for (std::size_t n = 0; n < nodes; ++n) {
        const std::size_t g = at(group_[n]);
        result.node_voltage[n] = (at_.high[g] + offset_[n]) + at_.low[g];
        result.island[n] = island_[g];
    }
    result.branch_current.assign(at(circuit_.branches()), 0.0);
    for (const Part& part : parts_) result.branch_current[at(part.branch)] = part.i;
    merged_currents(result.branch_current);
    return result;
}

// What leaves a subtree of merges by other branches must come in by the one merge above it.
void Network::merged_currents(std::vector<double>& current) const {
    if (merges_.empty()) return;
    std::vector<double> leaving(group_.size(), 0.0);
    for (const Part& part : parts_) {
        const auto& what = circuit_.info(part.branch);
        leaving[at(what.a)] += part.i;
        leaving[at(what.b)] -= part.i;
    }
    for (const Merge& m : merges_) current[at(m.branch)] = std::numeric_limits<double>::quiet_NaN();
    for (std::size_t k = order_.size(); k-- > 0;) {
        const Node n = order_[k];
        if (parent_[at(n)] < 0) continue;
        const Merge& m = merges_[at(parent_merge_[at(n)])];
        if (!m.in_loop) current[at(m.branch)] = m.b == n ? leaving[at(n)] : -leaving[at(n)];
        leaving[at(parent_[at(n)])] += leaving[at(n)];
    }
}

double Network::resistance_between(Node a, Node b) {
    const int ga = group_[at(a)], gb = group_[at(b)];
    if (ga == gb) return 0.0;
    if (island_[at(ga)] != island_[at(gb)]) return std::numeric_limits<double>::infinity();
    if (!to_two_ || between_ != std::pair(ga, gb)) {
        std::vector<char> keep(at(groups_), 0);
        keep[at(ga)] = keep[at(gb)] = 1;
        to_two_.emplace(groups_, edges_, keep);
        between_ = {ga, gb};
    }
    std::vector<double> slope(edges_.size());
    for (const Part& part : parts_)
        if (part.edge >= 0) slope[at(part.edge)] = part.di_dv;
    to_two_->factor(slope);
    return 1.0 / to_two_->between(ga, gb);
}

Reduction Network::reduce(const std::vector<Node>& ports) const {
    std::vector<char> keep(at(groups_), 0), has_port(at(islands_), 0);
    for (const Node port : ports) {
        const std::size_t g = at(group_[at(port)]);
        if (std::exchange(keep[g], char{1}))
            throw std::invalid_argument(fmt::format("port {} is the same point as another port", circuit_.name(port)));
        has_port[at(island_[g])] = 1;
    }
    Elimination inner(groups_, edges_, keep);
    std::vector<double> conductance(edges_.size());
    for (const Part& part : parts_)
        if (part.edge >= 0) conductance[at(part.edge)] = 1.0 / ohm_[at(part.branch)];
    inner.factor(conductance);

    const auto count = static_cast<Eigen::Index>(ports.size());
    Reduction result{Eigen::MatrixXd::Zero(count, count), Eigen::MatrixXd(circuit_.nodes(), count)};
    std::vector<double> volt(at(groups_));
    for (Eigen::Index p = 0; p < count; ++p) {
        const int gp = group_[at(ports[static_cast<std::size_t>(p)])];
        for (Eigen::Index q = 0; q < count; ++q) {
            if (p == q) continue;
            const double g = inner.between(gp, group_[at(ports[static_cast<std::size_t>(q)])]);
            result.conductance(p, q) = -g;
            result.conductance(p, p) += g;
        }
        volt.assign(volt.size(), 0.0);
        volt[at(gp)] = 1.0;
        inner.recover(volt);
        for (Node n = 0; n < circuit_.nodes(); ++n) {
            const std::size_t g = at(group_[at(n)]);
            result.recovery(n, p) = has_port[at(island_[g])] ? volt[g] : std::numeric_limits<double>::quiet_NaN();
        }
    }
    return result;
}

}  // namespace sunshaft::circuit
