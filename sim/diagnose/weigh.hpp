// How well what was read fits what a hypothesis would show: errors of which some are shared (one temperature, one gain
// error a meter), and now and then a reading that is simply wrong.
//
//     y = m + S z + e,   z_k shared, e_i ~ N(0, v_i) each its own
//
// Sites and meters are off by more than their deviation more often than a normal law has it. So z is a mixture: all of
// z_k ~ N(0, c^2), and by a share of it one of them with a further variance w^2. Any reading may be a slip, with its
// own small probability, and then lies anywhere: its density is 1 / width. The sum over all sets of slips is cut to
// those that matter: none, every single one, and what follows from taking the worst one out, again and again.
#pragma once

#include <Eigen/Dense>
#include <vector>

namespace sunshaft::diagnose {

// ln N(y - m; 0, V).
double log_normal(const Eigen::VectorXd& residual, const Eigen::MatrixXd& covariance);

// How far what is shared may be off.
struct Spread {
    double scale = 1.0;                // c, of all
    double outlier = 0.0, wide = 0.0;  // share of sites of which one thing is further off; w, by how much
};

struct Weighed {
    double log_likelihood = 0.0;  // all sets of slips together
    double log_without = 0.0;     // none of them a slip
    double distance = 0.0;        // r' V^-1 r with none a slip, where the likeliest of what is shared is far off
    std::vector<double> slip;     // how probable it is that this one is wrong, were the hypothesis true
};
// shared: S; own: v; slip, width: by reading.
Weighed weigh(const Eigen::VectorXd& residual, const Eigen::MatrixXd& shared, const Eigen::VectorXd& own,
              const Spread& spread, const std::vector<double>& slip, const std::vector<double>& width);

double log_sum(const std::vector<double>& logs);
// Probabilities from logarithms of prior times likelihood.
std::vector<double> shares_of(const std::vector<double>& logs);

}  // namespace sunshaft::diagnose
