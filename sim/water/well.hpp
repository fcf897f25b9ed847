// The well: how far the water falls while pumping and how it comes back; the dry-run probe that watches it.
//
// Depths in m below ground, positive down. The level tends to
//
//     static_level + specific_drawdown * flow
//
// with one time constant: the stated recovery, or, where that would be faster, what the water standing in the
// bore itself allows. Balance of the bore: A dy/dt = Q - (y - static_level) / specific_drawdown, so that A
// times specific_drawdown is the least there can be (steady well loss linear in flow: G. Thiem's equation;
// storage of the bore: I. S. Papadopulos, H. H. Cooper, Water Resour. Res. 3 (1967) 241, its late exponential
// form left out). Left out: the slow logarithmic fall of Theis, well losses with the square of the flow,
// neighbours.
#pragma once

#include <algorithm>
#include <cmath>
#include <numbers>

namespace sunshaft::water {

struct Well {
    double static_level;       // m, while nothing is pumped
    double specific_drawdown;  // m per m3/s
    double recovery;           // s
    double bore_depth;         // m
    double bore_diameter;      // m
    double intake_depth;       // m, of the pump
    double probe_depth;        // m, of the dry-run probe

    double time_constant() const {  // s
        const double bore_area = std::numbers::pi / 4 * bore_diameter * bore_diameter;
        return std::max(recovery, bore_area * specific_drawdown);
    }
    double steady_level(double flow) const { return std::min(static_level + specific_drawdown * flow, bore_depth); }
    // Exact for a flow that holds over dt; any dt.
    double level_after(double level, double flow, double dt) const {
        const double tau = time_constant(), target = static_level + specific_drawdown * flow;
        const double left = tau > 0 ? std::exp(-dt / tau) : 0.0;
        return std::min(target + (level - target) * left, bore_depth);
    }

    double submergence(double level) const { return intake_depth - level; }  // m of water over the intake
    // Share of the intake under water, 1 with 0.2 m over it, 0 when it hangs free, smooth between: below 1 it
    // draws air (common practice, no source: pumps are kept well covered, they start to gulp before they are
    // bare).
    double intake_covered(double level) const {
        const double x = std::clamp(submergence(level) / 0.2, 0.0, 1.0);
        return x * x * (3 - 2 * x);
    }
    // The probe reads water; once wet it stays so until the water is a centimetre below (a film hangs on it).
    bool probe_wet(double level, bool was_wet) const { return level <= probe_depth + (was_wet ? 0.01 : 0.0); }
};

}  // namespace sunshaft::water
