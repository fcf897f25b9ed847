#include "diagnose/decide.hpp"

#include <algorithm>
#include <cstdint>
#include <limits>
#include <numeric>

namespace sunshaft::diagnose {

double repair_cost(const std::vector<double>& probability, const std::vector<Repair>& repairs, double otherwise,
                   std::size_t* first) {
    const std::size_t n = std::min<std::size_t>(repairs.size(), 12), all = std::size_t{1} << n;
    // What is left after a set of repairs, and the least it costs from there on; from the largest set down.
    std::vector<double> left(all, 0.0), cost(all, 0.0);
    for (std::size_t f = 0; f < probability.size(); ++f) {
        std::size_t cured_by = 0;
        for (std::size_t r = 0; r < n; ++r)
            if (repairs[r].cures[f]) cured_by |= std::size_t{1} << r;
        for (std::size_t set = 0; set < all; ++set)
            if (!(set & cured_by)) left[set] += probability[f];
    }
    std::size_t best_first = 0;
    for (std::size_t set = all; set-- > 0;) {
        double best = left[set] * otherwise;  // given up
        bool gains = false;
        for (std::size_t r = 0; r < n; ++r) {
            const std::size_t then = set | (std::size_t{1} << r);
            if (then == set || left[then] >= left[set] - 1e-15) continue;
            const double way = left[set] * repairs[r].cost + left[then] * repairs[r].in_vain + cost[then];
            if (!gains || way < best) {
                best = way;
                if (set == 0) best_first = r;
            }
            gains = true;
        }
        cost[set] = best;
    }
    if (first) *first = best_first;
    return cost[0];
}

double trial_cost(const std::vector<double>& probability, const Trial& trial, const std::vector<Repair>& repairs,
                  double otherwise) {
    const double sum = std::accumulate(probability.begin(), probability.end(), 0.0);
    double cost = trial.cost * sum;
    const std::size_t outcomes = trial.outcome.empty() ? 0 : trial.outcome.front().size();
    for (std::size_t o = 0; o < outcomes; ++o) {
        std::vector<double> joint(probability.size());
        for (std::size_t f = 0; f < probability.size(); ++f) joint[f] = probability[f] * trial.outcome[f][o];
        cost += repair_cost(joint, repairs, otherwise);
    }
    return cost;
}

Inspected inspect_in_order(const std::vector<double>& p, const std::vector<double>& look,
                           const std::vector<double>& repair) {
    Inspected out;
    out.order.resize(p.size());
    std::iota(out.order.begin(), out.order.end(), std::size_t{0});
    std::stable_sort(out.order.begin(), out.order.end(),
                     [&](std::size_t a, std::size_t b) { return p[a] / look[a] > p[b] / look[b]; });
    double left = 1.0;
    out.cost = 0.0;
    for (const std::size_t n : out.order) {
        out.cost += left * look[n] + p[n] * repair[n];
        left -= p[n];
    }
    return out;
}

}  // namespace sunshaft::diagnose
