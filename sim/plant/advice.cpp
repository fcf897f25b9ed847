// Which key of the scenario may have stopped the solver.
#include "plant/options.hpp"
#include "site/far_off.hpp"

namespace sunshaft::plant {

std::string advice(const site::Site& site, std::size_t component) {
    switch (component) {
        case i_alpha:
        case i_beta:
        case psi_alpha:
        case psi_beta:
        case outer_alpha:
        case outer_beta:
        case i_turns: return site::far_off(site.scenario, {"motor", "drop_cable", "splice", "drive", "supply"});
        case v_cap: return site::far_off(site.scenario, {"link", "array", "dc_run", "supply", "drive"});
        case speed:
        case theta: return site::far_off(site.scenario, {"motor", "pump", "drive"});
        default: return site::far_off(site.scenario, {"rising_main", "pump", "well", "tank"});
    }
}

}  // namespace sunshaft::plant
