// Site: what stands there now, compiled and immutable. Everything above (plant, meters, window) works from this.
#pragma once

#include <array>
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
    SourceCurve charging;  // the same seen through the charging resistor
    PhaseNetwork phases;
    water::LossTable main_loss;  // from the intake to the outlet
    // what of it lies above the gauge at the wellhead: the valve and the way to the tank
    water::RisingMain above_gauge;
    std::vector<Fault> faults;
    std::vector<Act> acts;
};

// What has moved since the start and the wiring must know.
struct Now {
    bool probe_wet = true, float_up = false;  // guards
    bool powered = false;                     // the drive's electronics
    double winding_degC = 20.0;
    std::array<bool, 3> splice_open{};  // joints that have parted by their warmth
    // What became of bridged turns: burnt through to the casing, melted.
    bool turns_earthed = false, turns_parted = false;
    bool operator==(const Now&) const = default;
};

// What stands there: set_up(scenario) with faults and acts carried out, and what has become of it (now). Throws
// BadInput for an unknown kind or place.
Works stand(const Scenario& scenario, const std::vector<Fault>& faults = {}, const std::vector<Act>& acts = {},
            const Now* now = nullptr);
// A site without its DC side, for whoever brings a link voltage of their own: works, phases, main_loss and above_gauge
// are there, source, charging and wiring are empty. Far quicker than compile_site.
std::shared_ptr<Site> compile_motor_side(const Scenario& scenario, Works works);

// now not given: as set up.  compile(set_up(scenario) with faults and acts carried out). Throws BadInput for an unknown
//                            kind or place.
std::shared_ptr<const Site> compile_site(const Scenario& scenario, const std::vector<Fault>& faults = {},
                                         const std::vector<Act>& acts = {}, const std::vector<MeterLoad>& loads = {},
                                         const Now* now = nullptr);

}  // namespace sunshaft::site
