// Acting under doubt, exactly where that is possible: which repair first, and whether a test before it pays.
//
// One fault is there. A repair costs its minutes whether it helps or not; that it helped is seen at once, and what it
// did not cure is ruled out. A test has outcomes with known probabilities under each fault.
#pragma once

#include <vector>

namespace sunshaft::diagnose {

struct Repair {
    double cost;
    std::vector<bool> cures;  // by fault
    double in_vain = 0.0;     // what it costs more where it did not help: who waits must come again
};
struct Trial {
    double cost;
    std::vector<std::vector<double>> outcome;  // by fault: probability of each outcome
};
// Expected cost of repairing alone, in the best order (all orders, up to 12 repairs). Faults that no repair cures cost
// `otherwise`. first: the repair to begin with.
double repair_cost(const std::vector<double>& probability, const std::vector<Repair>& repairs, double otherwise = 0.0,
                   std::size_t* first = nullptr);
// The test first, then repairs in the best order for what it showed.
double trial_cost(const std::vector<double>& probability, const Trial& trial, const std::vector<Repair>& repairs,
                  double otherwise = 0.0);
// Repairs in the order of p / C with inspection before each (Kalagnanam and Henrion 1988): the order, and its cost.
struct Inspected {
    std::vector<std::size_t> order;
    double cost;
};
Inspected inspect_in_order(const std::vector<double>& probability, const std::vector<double>& look,
                           const std::vector<double>& repair);

}  // namespace sunshaft::diagnose
