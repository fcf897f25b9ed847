// The motor as warm as running makes it, without running so long.
#include <algorithm>
#include <cmath>

#include "bench/bench.hpp"

namespace sunshaft::bench {

void Bench::warm(double degC) {
    state_.slow.winding_degC = degC;
    if (compiled_for_.winding_degC != degC) {
        compiled_for_.winding_degC = -1e6;  // nothing is as near as to be left as it is
        compile();
    }
}

double Bench::warm_degC(double seconds) const {
    Bench trial(*this);
    const site::Thermal& body = trial.site()->works.motor_heat;
    const auto loss = [&trial] {
        trial.settle();
        const plant::Energies before = trial.state().energy;
        const double from = trial.time();
        trial.plant().average_turns(trial.state(), 0.2);
        const plant::Energies booked = plant::since(trial.state().energy, before);
        return (booked[plant::in_winding] + booked[plant::in_cage] + booked[plant::in_iron]) / (trial.time() - from);
    };
    const double start = trial.state().slow.winding_degC, cold = loss();
    // The loss follows the warmth nearly in a straight line: J_per_K dT/dt = cold + slope (T - start) - what it gives
    // off. A first guess without slope, then the slope from the loss there.
    double slope = 0.0, degC = start;
    for (int round = 0; round < 2; ++round) {
        const double gives = 1.0 / body.K_per_W - slope;
        const double rise = (cold - (start - body.round_degC) / body.K_per_W) / gives;
        degC = start + rise * -std::expm1(-seconds * gives / body.J_per_K);
        if (round == 0 && std::abs(degC - start) > 0.5) {
            trial.warm(degC);
            slope = std::min((loss() - cold) / (degC - start), 0.8 / body.K_per_W);
        }
    }
    return degC;
}

}  // namespace sunshaft::bench
