// Newton's method on the nodal equations of a Network.
//
// With non-decreasing branch laws the node voltages minimise a convex function, the co-content sum of the
// integrals of i dv (W. Millar, "Some general theorems for non-linear systems possessing resistance",
// Philosophical Magazine 42 (1951) 1150-1160). A Newton step is a descent direction of it, and its
// slope along the step is minus the step times the excess currents: a line search needs no more than that
// slope, which only rises along the step.
#include <fmt/format.h>

#include <algorithm>
#include <cmath>
#include <limits>
#include <stdexcept>

#include "text/language.hpp"

#include "circuit/network.hpp"

namespace sunshaft::circuit {
namespace {

constexpr int most_steps = 300;
constexpr int most_trials = 60;
// A step this small, V and relative: converging quadratically, the next would be rounding.
constexpr double step_small = 1e-8;
// Excess over the current through a node. Good: no step is needed to better it. Fair, this or in ampere: what
// may be put down to the rounding of a law when steps better it no more.
constexpr double balance_good = 1e-10;
constexpr double balance_fair = 1e-6;
constexpr double ampere_fair = 1e-10;
// S, in the matrix only: a blocking diode's slope underflows. The currents keep to the law.
constexpr double slope_least = 1e-16;

// high + low grows by more; what high rounds away is kept in low (D. Knuth, The Art of Computer Programming
// 2, 4.2.2, theorem B).
void add(double& high, double& low, double more) {
    const double sum = high + more;
    const double taken = sum - high;
    low += (high - (sum - taken)) + (more - taken);
    high = sum;
}

}  // namespace

// The part's voltage less `less`, which is taken off before the small words come in: a source may stand behind
// 1 micro-ohm, the companion of a capacitor behind picoohms.
double Network::across(const Part& part, double less) const {
    const std::size_t a = at(part.a), b = at(part.b);
    double high = at_.high[a], low = at_.low[a] - at_.low[b];
    add(high, low, -at_.high[b]);
    return (high + (part.offset - less)) + low;
}

void Network::evaluate() {
    std::fill(excess_.begin(), excess_.end(), 0.0);
    std::fill(excess_low_.begin(), excess_low_.end(), 0.0);
    std::fill(through_.begin(), through_.end(), 0.0);
    for (Part& part : parts_) {
        if (part.fixed) {
            part.i = source_[at(part.branch)];
        } else if (part.law) {
            const auto [i, di_dv] = (*part.law)(across(part, 0.0));
            part.i = i;
            part.di_dv = di_dv;
        } else {
            part.di_dv = 1.0 / ohm_[at(part.branch)];
            part.i = across(part, source_[at(part.branch)]) / ohm_[at(part.branch)];
        }
        add(excess_[at(part.a)], excess_low_[at(part.a)], -part.i);
        add(excess_[at(part.b)], excess_low_[at(part.b)], part.i);
        through_[at(part.a)] += std::fabs(part.i);
        through_[at(part.b)] += std::fabs(part.i);
    }
}

// The largest excess current at a group, over the currents through it (at least a millionth of the largest
// anywhere: where next to nothing flows, rounding is all there is).
double Network::imbalance() const {
    const double floor = 1e-6 * *std::max_element(through_.begin(), through_.end());
    double worst = 0.0;
    for (std::size_t g = 0; g < excess_.size(); ++g)
        if (const double excess = std::fabs(excess_[g] + excess_low_[g]); excess > 0.0)
            worst = std::max(worst, excess / (through_[g] + floor));
    return worst;
}

bool Network::balance_is_fair() const {
    if (imbalance() <= balance_fair) return true;
    return std::all_of(excess_.begin(), excess_.end(), [](double i) { return std::fabs(i) <= ampere_fair; });
}

void Network::find_step() {
    for (const Part& part : parts_)
        if (part.edge >= 0) conductance_[at(part.edge)] = part.law ? part.di_dv : 1.0 / ohm_[at(part.branch)];
    for (double& g : conductance_)
        if (std::fabs(g) < slope_least) g = slope_least;
    if (!elimination_->factor(conductance_)) {
        // A falling law has the upper hand somewhere: leave what falls out of the matrix.
        for (double& g : conductance_) g = std::max(g, slope_least);
        elimination_->factor(conductance_);
    }
    for (std::size_t g = 0; g < step_.size(); ++g) step_[g] = excess_[g] + excess_low_[g];
    elimination_->solve(step_);
}

double Network::slope_along_step() const {
    double slope = 0.0;
    for (std::size_t g = 0; g < step_.size(); ++g) slope -= (excess_[g] + excess_low_[g]) * step_[g];
    return slope;
}

double Network::curvature_along_step() const {
    double curvature = 0.0;
    for (const Part& part : parts_) {
        const double dv = step_[at(part.a)] - step_[at(part.b)];
        if (!part.fixed) curvature += part.di_dv * dv * dv;
    }
    return curvature;
}

std::optional<int> Network::newton() {
    evaluate();
    double last_imbalance = std::numeric_limits<double>::infinity();
    for (int steps = 1; steps <= most_steps; ++steps) {
        find_step();
        bool small = true, finite = true;
        for (std::size_t g = 0; g < step_.size(); ++g) {
            small = small && std::fabs(step_[g]) <= step_small * (1.0 + std::fabs(at_.high[g]));
            finite = finite && std::isfinite(step_[g]);
        }
        if (!finite) return std::nullopt;

        const Volts start = at_;
        const double slope0 = slope_along_step();
        double t = 1.0, below = 0.0, above = 1.0;
        for (int trial = 0; trial < most_trials; ++trial) {
            at_ = start;
            for (std::size_t g = 0; g < step_.size(); ++g) add(at_.high[g], at_.low[g], t * step_[g]);
            evaluate();
            if (small || !(slope0 < 0.0)) break;
            const double slope = slope_along_step();
            // Past the minimum only a little; a shortened step at least half way to it.
            if (slope <= -0.5 * slope0 && (t == 1.0 || slope >= 0.5 * slope0)) break;
            (slope > 0.0 ? above : below) = t;
            const double better = t - slope / curvature_along_step();
            t = better > below && better < above ? better : 0.5 * (below + above);
        }
        if (!small) continue;
        // A sharp kink, or resistances far apart, ask for more steps; a law's own rounding for one at most.
        const double now = imbalance();
        if (now <= balance_good || (now > 0.5 * last_imbalance && balance_is_fair())) return steps;
        last_imbalance = now;
    }
    // Between blocking diodes a voltage may be left open though every current is right.
    return balance_is_fair() ? std::optional(most_steps) : std::nullopt;
}

int Network::solve() {
    if (groups_ == 0) return 0;
    set_offsets();
    check_current_sources();
    if (const auto steps = newton()) return *steps;
    std::fill(at_.high.begin(), at_.high.end(), 0.0);
    std::fill(at_.low.begin(), at_.low.end(), 0.0);
    if (const auto steps = newton()) return *steps;
    give_up();
}

void Network::give_up() const {
    std::size_t worst = 0;
    for (std::size_t g = 0; g < excess_.size(); ++g)
        if (!(std::fabs(excess_[g]) < std::fabs(excess_[worst]))) worst = g;
    const auto node = std::find(group_.begin(), group_.end(), static_cast<int>(worst)) - group_.begin();
    throw std::runtime_error(
        text::say("the circuit does not settle after {} Newton steps: {} A are left over at {} (at {} V)", most_steps,
                  excess_[worst], circuit_.name(static_cast<Node>(node)), at_.high[worst]));
}

}  // namespace sunshaft::circuit
