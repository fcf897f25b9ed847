// Site: what stands there now, compiled and immutable. Everything above (plant, meters, window) works from this.
#pragma once

#include <memory>
#include <string>
#include <vector>

#include "circuit/circuit.hpp"
#include "site/faults.hpp"
#include "site/phase_network.hpp"
#include "site/points.hpp"
#include "site/scenario.hpp"
#include "site/source_curve.hpp"
#include "site/works.hpp"

namespace sunshaft::site {

struct Site {
    Scenario scenario;
    Works works;              // after faults and acts
    circuit::Circuit wiring;  // dc, bridge at rest and ac part: what the still bench solves
    SourceCurve source;
    PhaseNetwork phases;
    water::LossTable main_loss;
    std::vector<Fault> faults;
    std::vector<Act> acts;
};

// compile(set_up(scenario) with faults and acts carried out). Throws BadInput for an unknown kind or place.
std::shared_ptr<const Site> compile_site(const Scenario& scenario, const std::vector<Fault>& faults = {},
                                         const std::vector<Act>& acts = {},
                                         const std::vector<MeterLoad>& loads = {});

}  // namespace sunshaft::site
