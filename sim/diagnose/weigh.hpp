// How well what was read fits what a hypothesis would show: Gaussian errors, of which some are shared (one temperature,
// one sun, one gain error a meter), and now and then a reading that is simply wrong.
//
//     y = m + S z + e,   z ~ N(0, 1) shared, e_i ~ N(0, v_i) each its own
//
// With covariance V = diag(v) + S S'. Any reading may be a slip, with its own small probability, and then lies
// anywhere: its density is 1 / width. The sum over all sets of slips is cut to those that matter: none, every single
// one, and what follows from taking the worst one out, again and again.
#pragma once

#include <Eigen/Dense>
#include <vector>

namespace sunshaft::diagnose {

// ln N(y - m; 0, V).
double log_normal(const Eigen::VectorXd& residual, const Eigen::MatrixXd& covariance);

struct Weighed {
    double log_likelihood = 0.0;  // all sets of slips together
    double log_without = 0.0;     // none of them a slip
    std::vector<double> slip;     // how probable it is that this one is wrong, were the hypothesis true
};
// slip, width: by reading.
Weighed weigh(const Eigen::VectorXd& residual, const Eigen::MatrixXd& covariance, const std::vector<double>& slip,
              const std::vector<double>& width);

double log_sum(const std::vector<double>& logs);
// Probabilities from logarithms of prior times likelihood.
std::vector<double> shares_of(const std::vector<double>& logs);

}  // namespace sunshaft::diagnose
