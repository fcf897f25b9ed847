// Arithmetic of doubt against closed forms and worked examples.
#include <cmath>
#include <random>

#include "catch_shim.hpp"
#include "diagnose/decide.hpp"
#include "diagnose/hypotheses.hpp"
#include "diagnose/weigh.hpp"

using namespace sunshaft;
using namespace sunshaft::diagnose;
using test::approx;

namespace {

// Two-faced shape of the shared gain: three readings of one meter, m (1 + g) + e, g ~ N(0, 0.02), e ~ N(0, 0.5).
double shared_gain(const Eigen::Vector3d& m) {
    const Eigen::Vector3d y(224.0, 223.6, 224.3);
    const Eigen::Vector3d s = 0.02 * m;
    Eigen::MatrixXd cov = s * s.transpose();
    cov.diagonal().array() += 0.25;
    return log_normal(y - m, cov);
}

}  // namespace

TEST_CASE("a gain error that three readings share, in closed form") {
    // ln L = -(1/2) [3 ln 2 pi + sum ln s2 + ln(1 + sg2 A) + C - sg2 B2 / (1 + sg2 A)] (matrix determinant lemma and
    // Sherman-Morrison), computed to 12 digits by covariance matrix, rank-one form and quadrature over the gain.
    const Eigen::Vector3d h0(230, 230, 230), h1(230, 230, 221), h2(220, 220, 220);
    CHECK(shared_gain(h0) == approx(-4.7979477977).epsilon(1e-9));
    CHECK(shared_gain(h1) == approx(-121.094482426).epsilon(1e-9));
    CHECK(shared_gain(h2) == approx(-4.30153596353).epsilon(1e-9));
    const auto p =
        shares_of({std::log(0.6) + shared_gain(h0), std::log(0.2) + shared_gain(h1), std::log(0.2) + shared_gain(h2)});
    CHECK(p[0] == approx(0.646159574).epsilon(1e-8));
    CHECK(p[1] < 1e-50);
    CHECK(p[2] == approx(0.353840426).epsilon(1e-8));
}

TEST_CASE("slips: one reading in three that is wrong is told, and the sum over sets is the whole sum") {
    std::mt19937_64 dice(23);
    std::normal_distribution<double> normal;
    for (int n = 0; n < 200; ++n) {
        const Eigen::Index size = 1 + n % 3;
        Eigen::MatrixXd shared = Eigen::MatrixXd::NullaryExpr(size, 2, [&] { return normal(dice); });
        const Eigen::VectorXd own = Eigen::VectorXd::Constant(size, 0.5);
        // Half of the times one of the two shared things may be three deviations off.
        const Spread spread{1.3, n % 4 < 2 ? 0.0 : 0.3, 3.0};
        std::vector<std::pair<double, Eigen::MatrixXd>> laws;
        for (Eigen::Index k = -1; k < shared.cols(); ++k) {
            Eigen::MatrixXd cov = 1.3 * 1.3 * shared * shared.transpose();
            cov.diagonal() += own;
            if (k >= 0) cov += 9.0 * shared.col(k) * shared.col(k).transpose();
            laws.emplace_back(k < 0 ? 1.0 - spread.outlier : spread.outlier / 2, cov);
        }
        Eigen::VectorXd r = Eigen::VectorXd::NullaryExpr(size, [&] { return 3 * normal(dice); });
        if (n % 2) r(0) += 40.0;
        const std::vector<double> slip(static_cast<std::size_t>(size), 0.02);
        const std::vector<double> width(static_cast<std::size_t>(size), 100.0);
        const Weighed w = weigh(r, shared, own, spread, slip, width);
        // Every set of slips by itself.
        double sum = 0.0, first = 0.0;
        for (int set = 0; set < 1 << size; ++set) {
            std::vector<Eigen::Index> kept;
            double p = 1.0;
            for (Eigen::Index k = 0; k < size; ++k) {
                if (set >> k & 1) p *= 0.02 / 100.0;
                else p *= 0.98, kept.push_back(k);
            }
            const Eigen::VectorXd some = r(kept);
            double density = 0.0;
            for (const auto& [share, cov] : laws) density += share * std::exp(log_normal(some, cov(kept, kept)));
            p *= density;
            sum += p;
            if (set & 1) first += p;
        }
        // None a slip, exactly.
        std::vector<double> none;
        for (const auto& [share, cov] : laws) none.push_back(std::log(share) + log_normal(r, cov));
        CHECK(w.log_without == approx(log_sum(none) + static_cast<double>(size) * std::log(0.98)).epsilon(1e-9));
        CHECK(w.log_likelihood <= std::log(sum) + 1e-9);
        CHECK(w.log_likelihood == approx(std::log(sum)).margin(0.05));
        CHECK(w.slip[0] == approx(first / sum).margin(0.05));
        if (n % 2) CHECK(w.slip[0] > 0.5);
    }
}

TEST_CASE("repair order with inspection: the rule of p / C and its cost") {
    // Heckerman, Breese, Rommelse, CACM 38(3), 1995, and Kalagnanam and Henrion, UAI 1988; figures computed by the rule
    // and by all 120 orders.
    const auto best = inspect_in_order({0.35, 0.25, 0.20, 0.15, 0.05}, {6, 2, 8, 1, 4}, {40, 25, 60, 10, 120});
    CHECK(best.order == std::vector<std::size_t>{3, 1, 0, 2, 4});
    CHECK(best.cost == approx(48.25).epsilon(1e-12));
}

namespace {

// Five faults, four tests, three repairs; computed by dynamic programming in exact fractions.
struct Small {
    std::vector<double> p = {0.30, 0.25, 0.20, 0.15, 0.10};
    std::vector<std::vector<double>> plus = {{0.95, 0.90, 0.10, 0.05, 0.05},
                                             {0.90, 0.05, 0.05, 0.90, 0.10},
                                             {0.10, 0.10, 0.95, 0.10, 0.80},
                                             {0.50, 0.50, 0.50, 0.90, 0.20}};
    std::vector<double> cost = {2, 5, 4, 3};
    std::vector<Repair> repairs = {{20, {true, false, false, true, false}},
                                   {35, {false, true, true, false, false}},
                                   {60, {false, false, true, true, true}}};
    Trial trial(std::size_t t) const {
        Trial out{cost[t], {}};
        for (const double x : plus[t]) out.outcome.push_back({x, 1 - x});
        return out;
    }
};

// What the planner really pays: a test where one test before the best repairs pays, asked again after each.
double one_step(const Small& s, const std::vector<double>& p, unsigned used) {
    std::size_t repair = 0;
    const double act = repair_cost(p, s.repairs, 0.0, &repair);
    double best = act;
    std::size_t test = s.cost.size();
    for (std::size_t t = 0; t < s.cost.size(); ++t)
        if (!(used >> t & 1U))
            if (const double c = trial_cost(p, s.trial(t), s.repairs); c < best - 1e-12) best = c, test = t;
    double sum = 0.0;
    for (const double x : p) sum += x;
    if (test == s.cost.size()) {
        double left = 0.0;
        std::vector<double> rest = p;
        for (std::size_t f = 0; f < p.size(); ++f)
            if (s.repairs[repair].cures[f]) rest[f] = 0.0;
            else left += p[f];
        return s.repairs[repair].cost * sum + (left > 1e-15 ? one_step(s, rest, used) : 0.0);
    }
    double cost = s.cost[test] * sum;
    for (int o = 0; o < 2; ++o) {
        std::vector<double> joint = p;
        for (std::size_t f = 0; f < p.size(); ++f) joint[f] *= o ? 1 - s.plus[test][f] : s.plus[test][f];
        cost += one_step(s, joint, used | 1U << test);
    }
    return cost;
}

}  // namespace

TEST_CASE("test or repair first, against exact dynamic programming") {
    const Small s;
    std::size_t first = 9;
    CHECK(repair_cost(s.p, s.repairs, 0.0, &first) == approx(45.25).epsilon(1e-12));
    CHECK(first == 0);
    // One-step look-ahead, asked again after every outcome: 8499/200, against the optimum of 42.48765.
    CHECK(one_step(s, s.p, 0) == approx(42.495).epsilon(1e-12));
    CHECK(one_step(s, s.p, 0) >= 42.48765);
}

TEST_CASE("who waits in vain must come again: by hand") {
    // Nothing is wrong with 0.6; a repair of 30 min cures the rest. Waiting takes 5 min, in vain 100 more.
    //   wait first: 5 + 0.4 (100 + 30) = 57;  repair first: 30 + 0.6 (5 + 0) = 33
    std::size_t first = 9;
    const std::vector<double> p = {0.6, 0.4};
    CHECK(repair_cost(p, {{5, {true, false}, 100}, {30, {false, true}}}, 0.0, &first) == approx(33.0));
    CHECK(first == 1);
    //   without it: 5 + 0.4 30 = 17
    CHECK(repair_cost(p, {{5, {true, false}}, {30, {false, true}}}, 0.0, &first) == approx(17.0));
    CHECK(first == 0);
}

TEST_CASE("two tests that are worth nothing alone: looking one step ahead stays where it is") {
    const std::vector<double> p(4, 0.25);
    const std::vector<Repair> repairs = {{20, {true, false, false, true}}, {20, {false, true, true, false}}};
    const Trial one{3, {{1, 0}, {1, 0}, {0, 1}, {0, 1}}},
        both{6, {{1, 0, 0, 0}, {0, 1, 0, 0}, {0, 0, 1, 0}, {0, 0, 0, 1}}};
    CHECK(repair_cost(p, repairs) == approx(30.0));
    CHECK(trial_cost(p, one, repairs) == approx(33.0));
    CHECK(trial_cost(p, both, repairs) == approx(26.0));
}

TEST_CASE("the value of a test before drilling for oil") {
    // H. Raiffa, Decision Analysis, 1968; payoffs and likelihoods from memory. Drilling costs 70 and yields nothing,
    // 120 or 270; a seismic test costs 10. As costs: not to drill is 0, to drill minus its net payoff.
    const double p[3] = {0.5, 0.3, 0.2}, payoff[3] = {-70, 50, 200};
    const double likely[3][3] = {{0.6, 0.3, 0.1}, {0.3, 0.4, 0.4}, {0.1, 0.3, 0.5}};
    double value = -10.0;
    for (const auto& outcome : likely) {
        std::vector<double> joint;
        for (int k = 0; k < 3; ++k) joint.push_back(std::log(p[k] * outcome[k]));
        const auto posterior = shares_of(joint);
        double drilled = 0.0;
        for (std::size_t k = 0; k < 3; ++k) drilled += posterior[k] * payoff[k];
        value += std::max(0.0, drilled) * std::exp(log_sum(joint));
    }
    CHECK(value == approx(22.5).epsilon(1e-12));
}

TEST_CASE("what one event does comes together more often than by chance") {
    Priors priors;
    priors.two_at_once = 0.05;
    priors.common = {{0.3, {"string-fuse-blown", "arrester-shorted", "string-earth-fault"}}};
    std::vector<Cause> causes(4);
    causes[0].fault = "string-fuse-blown", causes[0].prior = 0.10;
    causes[1].fault = "arrester-shorted", causes[1].prior = 0.02;
    causes[2].fault = "string-earth-fault", causes[2].prior = 0.06;
    causes[3].fault = "seized", causes[3].prior = 0.82;
    CHECK(second(causes, priors, 0, 1) == approx(0.05 * 0.02 + 0.3 * 0.02 / (0.02 + 0.06)));
    CHECK(second(causes, priors, 1, 0) == approx(0.05 * 0.10 + 0.3 * 0.10 / (0.10 + 0.06)));
    CHECK(second(causes, priors, 0, 3) == approx(0.05 * 0.82));
    CHECK(second(causes, priors, 3, 0) == approx(0.05 * 0.10));
    // Of the shorted arresters so many come with another of these, by the one event.
    const double by_event = second(causes, priors, 1, 0) + second(causes, priors, 1, 2) - 0.05 * (0.10 + 0.06);
    CHECK(by_event == approx(0.3));
}
