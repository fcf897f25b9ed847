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

namespace {

struct Further {
    double log = 0.0;     // of the density, against nothing further off
    double nearer = 0.0;  // what the likeliest of it takes off r' V^-1 r
};

// Some readings and their covariance.
class Kept {
  public:
    Kept(const Eigen::VectorXd& r, const Eigen::MatrixXd& shared, const Eigen::VectorXd& own, const Spread& spread)
        : spread_(spread), shared_(shared) {
        Eigen::MatrixXd v = spread.scale * spread.scale * shared * shared.transpose();
        v.diagonal() += own;
        inverse = v.llt().solve(Eigen::MatrixXd::Identity(r.size(), r.size()));
        pull = inverse * r;
        across_ = inverse * shared_;
        q_ = shared_.cwiseProduct(across_).colwise().sum().transpose();
        u_ = shared_.transpose() * pull;
    }
    // How much likelier the readings are since one shared thing may be further off, by Sherman and Morrison's formula:
    // |V + w^2 s s'| = |V| (1 + q), r' (V + w^2 s s')^-1 r = r' V^-1 r - w^2 u^2 / (1 + q), with q = w^2 s' V^-1 s and
    // u = s' V^-1 r. without: one reading left out.
    Further mixed(Eigen::Index without = -1) const {
        const double w2 = spread_.wide * spread_.wide;
        const Eigen::Index all = shared_.cols();
        if (!(spread_.outlier > 0.0) || all == 0) return {};
        Eigen::ArrayXd q = q_, u = u_;
        if (without >= 0) {
            const Eigen::ArrayXd a = across_.row(without).transpose();
            const double is = inverse(without, without);
            q -= a.square() / is, u -= a * (pull(without) / is);
        }
        q = 1.0 + w2 * q;
        const Eigen::ArrayXd nearer = w2 * u.square() / q;
        const double most = std::max(0.0, nearer.maxCoeff());
        const double each = (0.5 * (nearer - most)).exp().cwiseQuotient(q.sqrt()).sum() / static_cast<double>(all);
        const double log =
            0.5 * most + std::log((1.0 - spread_.outlier) * std::exp(-0.5 * most) + spread_.outlier * each);
        return {log, log > 0.0 ? most : 0.0};
    }
    Eigen::MatrixXd inverse;
    Eigen::VectorXd pull;

  private:
    Spread spread_;
    Eigen::MatrixXd shared_, across_;
    Eigen::ArrayXd q_, u_;  // s' V^-1 s, s' V^-1 r
};

}  // namespace

Weighed weigh(const Eigen::VectorXd& residual, const Eigen::MatrixXd& shared, const Eigen::VectorXd& own,
              const Spread& spread, const std::vector<double>& slip, const std::vector<double>& width) {
    const std::size_t n = slip.size();
    Weighed w;
    w.slip.assign(n, 0.0);
    std::vector<Eigen::Index> kept(n);
    for (std::size_t k = 0; k < n; ++k) kept[k] = static_cast<Eigen::Index>(k);
    // What a reading costs as a slip instead of a true one.
    const auto as_slip = [&](std::size_t k) { return std::log(slip[k] / width[k]) - std::log1p(-slip[k]); };
    Eigen::MatrixXd v = spread.scale * spread.scale * shared * shared.transpose();
    v.diagonal() += own;
    double base = log_normal(residual, v);  // with nothing further off
    for (std::size_t k = 0; k < n; ++k) base += std::log1p(-slip[k]);
    struct Term {
        double log;
        std::vector<std::size_t> out;
    };
    std::vector<Term> terms;
    std::vector<std::size_t> out;
    double here = 0.0;  // as base, with what may be further off
    while (!kept.empty()) {
        const Eigen::VectorXd r = residual(kept);
        const Kept rest(r, shared(kept, Eigen::all), own(kept), spread);
        if (out.empty()) {
            const Further more = rest.mixed();
            here = w.log_without = base + more.log;
            w.distance = r.dot(rest.pull) - more.nearer;
            terms.push_back({here, {}});
        }
        double best = none, best_base = none;
        std::size_t worst = 0;
        for (std::size_t a = 0; a < kept.size(); ++a) {
            const auto k = static_cast<std::size_t>(kept[a]);
            const auto at = static_cast<Eigen::Index>(a);
            // Given the others, this one is off by `off` with variance `spread_of`.
            const double spread_of = 1.0 / rest.inverse(at, at), off = rest.pull(at) * spread_of;
            const double its = -0.5 * (ln_2pi + std::log(spread_of) + off * off / spread_of);
            const double without = base - its + as_slip(k), mixed = without + rest.mixed(at).log;
            Term t{mixed, out};
            t.out.push_back(k);
            terms.push_back(std::move(t));
            if (mixed > best) best = mixed, best_base = without, worst = a;
        }
        // Deeper sets only while they still gain, or nearly.
        constexpr double hardly = -3.0;
        if (best < here + hardly) break;
        out.push_back(static_cast<std::size_t>(kept[worst]));
        kept.erase(kept.begin() + static_cast<std::ptrdiff_t>(worst));
        base = best_base, here = best;
    }
    std::vector<double> logs;
    for (const Term& t : terms) logs.push_back(t.log);
    w.log_likelihood = log_sum(logs);
    for (const Term& t : terms)
        for (const std::size_t k : t.out) w.slip[k] += std::exp(t.log - w.log_likelihood);
    return w;
}

}  // namespace sunshaft::diagnose
