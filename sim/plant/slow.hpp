// Slow states: well, tank, water in the rising main, temperatures, damage, and what the guards see of them.
//
//   well      water/well.hpp: exact over each look for the mean flow
//   main      what runs back or out of a hole is missing above; the column stands on the pump as far as it reaches, and
//             nothing comes out until it is full again. A hole lets out  area sqrt(2 g h), h the water above it (E.
//             Torricelli)
//   tank      inflow less use; what does not fit runs over
//   heat      J_per_K dT/dt = loss - (T - T_round) / K_per_W  for heat sink and winding. The pump: 20 kJ/K, warmed by
//             its own hydraulic loss (dead-headed), cooled by the flow it moves and 12 W/K of wall; dry, rubbing heats
//             it to 90 degC in dry_life_s at rated speed (common practice, no source)
//   splices   as winding, each by its own current; one that a fault lets open parts above its temperature and touches
//             again 25 K below
//   turns     bridged ones heat by what they and their bridge lose, in copper of their own (the windings' copper is a
//             quarter of what the motor stores), and give it to the winding round them within 30 s (no source). Above
//             320 degC, where enamels of the better classes are pressed through (IEC 60317, not seen), the
//             insulation to the casing burns in 20 s for each 100 K; above 1085 degC, where copper melts, the winding
//             parts. Lasting, both
//   lift      share of its head that a centrifugal pump short of inlet pressure keeps (water/pump.hpp): an atmosphere
//             less the vapour's pressure, the water over the intake, less what a blocked screen takes of it. Follows
//             over some hundredths of a second, as bubbles fill the impeller (common practice, no source)
//   damage    above 90 degC a pump wears by 1 / dry_life_s for each 20 K and s; lasting (common practice, no source)
//   sand      wears it as well, a tenth of its head for 5000 h of best flow with 50 mg/L (common practice, no source)
#pragma once

#include "plant/state.hpp"
#include "site/site.hpp"

namespace sunshaft::plant {

inline constexpr double slow_period = 0.01;  // s

water::Well well(const site::Works& works);
// As things stand at the start.
void start_slow(const site::Site& site, State& s);
// Brings the slow states up to s.t.
void look_slow(const site::Site& site, State& s);
// Sensors and guard terminals alone, as the site stands now.
void sense(const site::Site& site, State& s);
// Head from the water in the well to the top of the column, m.
double static_head(const site::Site& site, const State& s);

}  // namespace sunshaft::plant
