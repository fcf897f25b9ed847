#pragma once
// The second supply of the cutaway: generator or mains on the ground, its breaker, the change-over switch in the run.
#include "model/site_drawing.hpp"
#include "shell/panel.hpp"

namespace sunshaft::panels {

/// Under the conductors, then the switch's blades over them.
void second_supply(shell::Canvas& c, const view::ChangeOver& k, const view::Palette& p);
void second_supply_poles(shell::Canvas& c, const view::ChangeOver& k, const view::Palette& p);
/// Where a hand takes the switch, and the lever there: 0 on the array, 1 on the second supply.
view::Box changeover_lever(const view::ChangeOver& k);
void paint_changeover_lever(shell::Canvas& c, const view::ChangeOver& k, double turned, const view::Palette& p);

}  // namespace sunshaft::panels
