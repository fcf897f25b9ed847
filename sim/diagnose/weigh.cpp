#include "diagnose/weigh.hpp"

#include <algorithm>
#include <cmath>
#include <limits>
#include <numbers>

namespace sunshaft::diagnose {
namespace {

constexpr double ln_2pi = 1.8378770664093454836;
constexpr double none = -std::numeric_limits<double>::infinity();

}  // namespace

double log_normal(const Eigen::VectorXd& r, const Eigen::MatrixXd& v) {
    if (r.size() == 0) return 0.0;
    const Eigen::LLT<Eigen::MatrixXd> factor(v);
    const Eigen::VectorXd half = factor.matrixL().solve(r);
    double log_det = 0.0;
    for (Eigen::Index n = 0; n < r.size(); ++n) log_det += 2.0 * std::log(factor.matrixLLT()(n, n));
    return -0.5 * (static_cast<double>(r.size()) * ln_2pi + log_det + half.squaredNorm());
}

double log_sum(const std::vector<double>& logs) {
    double most = none;
    for (const double x : logs) most = std::max(most, x);
    if (!std::isfinite(most)) return most;
    double sum = 0.0;
    for (const double x : logs) sum += std::exp(x - most);
    return most + std::log(sum);
}

std::vector<double> shares_of(const std::vector<double>& logs) {
    const double all = log_sum(logs);
    std::vector<double> p(logs.size(), logs.empty() ? 0.0 : 1.0 / static_cast<double>(logs.size()));
    if (std::isfinite(all))
        for (std::size_t n = 0; n < logs.size(); ++n) p[n] = std::exp(logs[n] - all);
    return p;
}

Weighed weigh(const Eigen::VectorXd& residual, const Eigen::MatrixXd& covariance, const std::vector<double>& slip,
              const std::vector<double>& width) {
    const std::size_t n = slip.size();
    Weighed w;
    w.slip.assign(n, 0.0);
    std::vector<std::size_t> kept(n);
    for (std::size_t k = 0; k < n; ++k) kept[k] = k;
    // What a reading costs as a slip instead of a true one.
    const auto as_slip = [&](std::size_t k) { return std::log(slip[k] / width[k]) - std::log1p(-slip[k]); };
    double base = log_normal(residual, covariance);
    for (std::size_t k = 0; k < n; ++k) base += std::log1p(-slip[k]);
    w.log_without = base;
    struct Term {
        double log;
        std::vector<std::size_t> out;
    };
    std::vector<Term> terms = {{base, {}}};
    std::vector<std::size_t> out;
    while (!kept.empty()) {
        const Eigen::Index size = static_cast<Eigen::Index>(kept.size());
        Eigen::VectorXd r(size);
        Eigen::MatrixXd v(size, size);
        for (Eigen::Index a = 0; a < size; ++a) {
            const auto at = static_cast<Eigen::Index>(kept[static_cast<std::size_t>(a)]);
            r(a) = residual(at);
            for (Eigen::Index b = 0; b < size; ++b)
                v(a, b) = covariance(at, static_cast<Eigen::Index>(kept[static_cast<std::size_t>(b)]));
        }
        const Eigen::MatrixXd inverse = v.llt().solve(Eigen::MatrixXd::Identity(size, size));
        const Eigen::VectorXd pull = inverse * r;
        double best = none;
        std::size_t worst = 0;
        for (Eigen::Index a = 0; a < size; ++a) {
            const std::size_t k = kept[static_cast<std::size_t>(a)];
            // Given the others, this one is off by `off` with variance `spread`.
            const double spread = 1.0 / inverse(a, a), off = pull(a) * spread;
            const double own = -0.5 * (ln_2pi + std::log(spread) + off * off / spread);
            const double without = base - own + as_slip(k);
            Term t{without, out};
            t.out.push_back(k);
            terms.push_back(std::move(t));
            if (without > best) best = without, worst = static_cast<std::size_t>(a);
        }
        // Deeper sets only while they still gain, or nearly.
        constexpr double hardly = -3.0;
        if (best < base + hardly) break;
        out.push_back(kept[worst]);
        kept.erase(kept.begin() + static_cast<std::ptrdiff_t>(worst));
        base = best;
    }
    std::vector<double> logs;
    for (const Term& t : terms) logs.push_back(t.log);
    w.log_likelihood = log_sum(logs);
    for (const Term& t : terms)
        for (const std::size_t k : t.out) w.slip[k] += std::exp(t.log - w.log_likelihood);
    return w;
}

}  // namespace sunshaft::diagnose
