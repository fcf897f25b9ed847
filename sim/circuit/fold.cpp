#include "circuit/fold.hpp"

#include <algorithm>
#include <cmath>

namespace sunshaft::circuit {
namespace {

using What = Circuit::Kind;

// So many alike ones in series.
struct Row : CurrentLaw {
    Row(const CurrentLaw* one, int count) : one_(one), count_(count) {}
    CurrentAndSlope operator()(double v) const override {
        const CurrentAndSlope y = (*one_)(v / count_);
        return {y.i, y.di_dv / count_};
    }
    const CurrentLaw* one_;  // the whole circuit's
    double count_;
};

bool conducts(const Circuit::BranchInfo& b) { return b.kind != What::capacitor && !std::isinf(b.ohm); }
bool in_chains(const Circuit::BranchInfo& b) { return b.kind == What::resistor || b.kind == What::nonlinear; }

}  // namespace

Folded::Folded(const Circuit& whole, const std::vector<Node>& kept) {
    at_.assign(at(whole.nodes()), -1);
    as_.assign(at(whole.branches()), -1);
    for (Branch b = 0; b < whole.branches(); ++b) {
        ohm_.push_back(whole.info(b).ohm);
        laws_.push_back(whole.law(b));
    }
    std::vector<char> inner(at(whole.nodes()), 1), chained(at(whole.branches()), 0);
    std::vector<Chain> found = chains(whole, kept, inner, chained);
    for (Node n = 0; n < whole.nodes(); ++n)
        if (!inner[at(n)]) at_[at(n)] = folded_.node(whole.name(n));
    for (Branch b = 0; b < whole.branches(); ++b) {
        const auto& what = whole.info(b);
        const Node a = at_[at(what.a)], z = at_[at(what.b)];
        if (chained[at(b)] || a < 0 || z < 0) continue;
        switch (what.kind) {
            case What::resistor: as_[at(b)] = folded_.resistor(a, z, what.ohm, what.label); break;
            case What::current_source: as_[at(b)] = folded_.current_source(a, z, what.value, what.label); break;
            case What::voltage_source:
                as_[at(b)] = folded_.voltage_source(a, z, what.value, what.ohm, what.label);
                break;
            case What::nonlinear:         // always in a chain
            case What::capacitor: break;  // open at rest
        }
    }
    for (Chain& c : found) {
        if (c.links.back().to != c.from) {
            take(whole, std::move(c));
            continue;
        }
        Node from = c.from;  // a ring: link by link
        for (const Link& l : c.links) {
            take(whole, {from, {l}, {}});
            from = l.to;
        }
    }
}

// Every resistor and every law is in one of them, be it by itself. inner: the nodes within.
std::vector<Folded::Chain> Folded::chains(const Circuit& whole, const std::vector<Node>& kept, std::vector<char>& inner,
                                          std::vector<char>& chained) {
    std::vector<std::vector<Branch>> hangs(at(whole.nodes()));
    for (Branch b = 0; b < whole.branches(); ++b) {
        const auto& what = whole.info(b);
        if (!conducts(what)) continue;
        for (const Node n : {what.a, what.b}) {
            hangs[at(n)].push_back(b);
            if (!in_chains(what) || what.a == what.b) inner[at(n)] = 0;
        }
    }
    for (Node n = 0; n < whole.nodes(); ++n)
        if (hangs[at(n)].size() != 2 || hangs[at(n)][0] == hangs[at(n)][1]) inner[at(n)] = 0;
    for (const Node n : kept) inner[at(n)] = 0;
    std::vector<Chain> found;
    const auto follow = [&](Node from) {
        for (const Branch first : hangs[at(from)]) {
            if (chained[at(first)] || !in_chains(whole.info(first))) continue;
            Chain c{from, {}, {}};
            Node here = from;
            for (Branch b = first;; b = hangs[at(here)][0] == b ? hangs[at(here)][1] : hangs[at(here)][0]) {
                const auto& what = whole.info(b);
                chained[at(b)] = 1;
                c.links.push_back({b, what.a == here, what.a == here ? what.b : what.a});
                here = c.links.back().to;
                if (!inner[at(here)]) break;
            }
            found.push_back(std::move(c));
        }
    };
    for (Node n = 0; n < whole.nodes(); ++n)
        if (!inner[at(n)]) follow(n);
    // A ring that nothing else hangs on has to begin somewhere.
    for (Node n = 0; n < whole.nodes(); ++n)
        if (inner[at(n)] && !chained[at(hangs[at(n)][0])]) inner[at(n)] = 0, follow(n);
    // What comes back to where it began stays as it is.
    for (const Chain& c : found)
        if (c.links.back().to == c.from)
            for (const Link& l : c.links) inner[at(l.to)] = 0;
    return found;
}

void Folded::take(const Circuit& whole, Chain c) {
    for (const Link& l : c.links) {
        const CurrentLaw* law = whole.law(l.branch);
        const bool along = law ? l.along : true;
        auto kind = std::find_if(c.kinds.begin(), c.kinds.end(),
                                 [&](const Kind& k) { return k.law == law && k.along == along; });
        if (kind == c.kinds.end()) kind = c.kinds.insert(c.kinds.end(), Kind{law, along, 0, 0.0, -1});
        ++kind->count;
        kind->ohm += ohm_[at(l.branch)];
    }
    // Joints of no resistance are nothing beside something.
    if (c.kinds.size() > 1) std::erase_if(c.kinds, [](const Kind& k) { return !k.law && k.ohm == 0.0; });
    Node from = at_[at(c.from)];
    for (std::size_t k = 0; k < c.kinds.size(); ++k) {
        Kind& kind = c.kinds[k];
        const bool last = k + 1 == c.kinds.size();
        const Node to = last ? at_[at(c.links.back().to)] : folded_.node(whole.name(c.links[k].to));
        if (kind.law) {
            auto row = std::make_shared<Row>(kind.law, kind.count);
            kind.branch = kind.along ? folded_.nonlinear(from, to, row) : folded_.nonlinear(to, from, row);
        } else {
            kind.branch = folded_.resistor(from, to, kind.ohm);
        }
        from = to;
    }
    chains_.push_back(std::move(c));
}

Solution Folded::unfold(const Solution& s) const {
    Solution out;
    out.iterations = s.iterations;
    out.node_voltage.assign(at_.size(), 0.0);
    out.branch_current.assign(as_.size(), 0.0);
    std::vector<int> of(at_.size(), -1);  // the folded circuit's island
    for (std::size_t n = 0; n < at_.size(); ++n)
        if (at_[n] >= 0) out.node_voltage[n] = s.voltage(at_[n]), of[n] = s.island[at(at_[n])];
    for (std::size_t b = 0; b < as_.size(); ++b)
        if (as_[b] >= 0) out.branch_current[b] = s.current(as_[b]);
    for (const Chain& c : chains_) {
        const auto current = [&](const Kind& k) { return k.along ? s.current(k.branch) : -s.current(k.branch); };
        const double i = current(c.kinds.front());
        double v = s.voltage(at_[at(c.from)]);
        const int island = s.island[at(at_[at(c.from)])];
        for (const Link& l : c.links) {
            const CurrentLaw* law = laws_[at(l.branch)];
            out.branch_current[at(l.branch)] = l.along ? i : -i;
            if (at_[at(l.to)] >= 0) break;  // the last one
            if (law) {
                const auto kind = std::find_if(c.kinds.begin(), c.kinds.end(),
                                               [&](const Kind& k) { return k.law == law && k.along == l.along; });
                const auto& what = folded_.info(kind->branch);
                const double fall = (s.voltage(what.a) - s.voltage(what.b)) / kind->count;
                v -= kind->along ? fall : -fall;
            } else if (ohm_[at(l.branch)] > 0.0) {
                v -= i * ohm_[at(l.branch)];
            }
            out.node_voltage[at(l.to)] = v, of[at(l.to)] = island;
        }
    }
    // Islands are told from their lowest nodes on, which stand at nothing.
    std::vector<int> number(at_.size() + 1, -1);
    std::vector<double> lowest;
    for (std::size_t n = 0; n < at_.size(); ++n) {
        int& island = number[at(of[n])];
        if (island < 0) island = static_cast<int>(lowest.size()), lowest.push_back(out.node_voltage[n]);
        out.island.push_back(island);
    }
    for (std::size_t n = 0; n < at_.size(); ++n) out.node_voltage[n] -= lowest[at(out.island[n])];
    return out;
}

}  // namespace sunshaft::circuit
