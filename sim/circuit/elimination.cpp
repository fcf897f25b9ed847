#include "circuit/elimination.hpp"

#include <cassert>
#include <map>

namespace sunshaft::circuit {

Elimination::Elimination(int nodes, const std::vector<std::pair<int, int>>& edges, const std::vector<char>& keep) {
    std::vector<std::map<int, int>> slot_to(static_cast<std::size_t>(nodes));  // [node] neighbour -> slot
    int slots = 0;
    const auto slot = [&](int a, int b) {
        const auto [place, made] = slot_to[static_cast<std::size_t>(a)].try_emplace(b, slots);
        if (made) slot_to[static_cast<std::size_t>(b)].emplace(a, slots++);
        return place->second;
    };
    for (const auto& [a, b] : edges) {
        assert(a != b);
        slot_of_edge_.push_back(slot(a, b));
    }

    std::vector<int> to_do;
    for (int n = 0; n < nodes; ++n) (keep[static_cast<std::size_t>(n)] ? kept_ : to_do).push_back(n);
    while (!to_do.empty()) {
        auto next = to_do.begin();
        for (auto n = to_do.begin(); n != to_do.end(); ++n)
            if (slot_to[static_cast<std::size_t>(*n)].size() < slot_to[static_cast<std::size_t>(*next)].size())
                next = n;
        const int node = *next;
        to_do.erase(next);

        auto& star = slot_to[static_cast<std::size_t>(node)];
        steps_.push_back(
            {node, static_cast<int>(spokes_.size()), static_cast<int>(star.size()), static_cast<int>(mesh_.size())});
        for (const auto& [neighbour, s] : star) {
            spokes_.push_back({neighbour, s});
            slot_to[static_cast<std::size_t>(neighbour)].erase(node);
        }
        for (auto p = star.begin(); p != star.end(); ++p)
            for (auto q = std::next(p); q != star.end(); ++q) mesh_.push_back(slot(p->first, q->first));
        star.clear();
    }
    for (const int a : kept_)
        for (const auto& [b, s] : slot_to[static_cast<std::size_t>(a)])
            if (a < b) left_.push_back({{a, b}, s});

    g_.resize(static_cast<std::size_t>(slots));
    share_.resize(spokes_.size());
    inverse_sum_.resize(steps_.size());
}

bool Elimination::factor(const std::vector<double>& conductance) {
    assert(conductance.size() == slot_of_edge_.size());
    g_.assign(g_.size(), 0.0);
    for (std::size_t e = 0; e < conductance.size(); ++e)
        g_[static_cast<std::size_t>(slot_of_edge_[e])] += conductance[e];

    bool all_positive = true;
    for (std::size_t k = 0; k < steps_.size(); ++k) {
        const Step& step = steps_[k];
        const Spoke* spoke = spokes_.data() + step.first;
        double* share = share_.data() + step.first;
        double sum = 0.0;
        for (int p = 0; p < step.count; ++p) sum += g_[static_cast<std::size_t>(spoke[p].slot)];
        if (!(sum > 0.0)) all_positive = false;
        const double inverse = sum > 0.0 ? 1.0 / sum : 0.0;
        inverse_sum_[k] = inverse;
        const int* target = mesh_.data() + step.mesh;
        for (int p = 0; p < step.count; ++p) {
            share[p] = g_[static_cast<std::size_t>(spoke[p].slot)] * inverse;
            for (int q = p + 1; q < step.count; ++q)
                g_[static_cast<std::size_t>(*target++)] += share[p] * g_[static_cast<std::size_t>(spoke[q].slot)];
        }
    }
    return all_positive;
}

void Elimination::solve(std::vector<double>& x) const {
    for (std::size_t k = 0; k < steps_.size(); ++k) {
        const Step& step = steps_[k];
        double& here = x[static_cast<std::size_t>(step.node)];
        for (int p = step.first; p < step.first + step.count; ++p)
            x[static_cast<std::size_t>(spokes_[static_cast<std::size_t>(p)].neighbour)] +=
                share_[static_cast<std::size_t>(p)] * here;
        here *= inverse_sum_[k];
    }
    for (const int n : kept_) x[static_cast<std::size_t>(n)] = 0.0;
    back_substitute(x);
}

void Elimination::recover(std::vector<double>& volt) const {
    for (const Step& step : steps_) volt[static_cast<std::size_t>(step.node)] = 0.0;
    back_substitute(volt);
}

// In: kept nodes' voltages; elsewhere the part of the voltage that does not come from the neighbours.
void Elimination::back_substitute(std::vector<double>& volt) const {
    for (std::size_t k = steps_.size(); k-- > 0;) {
        const Step& step = steps_[k];
        double& here = volt[static_cast<std::size_t>(step.node)];
        for (int p = step.first; p < step.first + step.count; ++p)
            here += share_[static_cast<std::size_t>(p)] *
                    volt[static_cast<std::size_t>(spokes_[static_cast<std::size_t>(p)].neighbour)];
    }
}

double Elimination::between(int kept_a, int kept_b) const {
    for (const auto& [ends, slot] : left_)
        if ((ends.first == kept_a && ends.second == kept_b) || (ends.first == kept_b && ends.second == kept_a))
            return g_[static_cast<std::size_t>(slot)];
    return 0.0;
}

}  // namespace sunshaft::circuit
