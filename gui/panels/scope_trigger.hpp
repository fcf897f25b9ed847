#pragma once
// The scope's trigger set by hand: which channel, which edge, at what level. Every change is an act that can be undone.
#include <optional>

#include "model/scope_view.hpp"
#include "model/snapshot.hpp"
#include "shell/panel.hpp"

namespace sunshaft::panels {

/// The channel that triggers: the one that was chosen, or the first while that is not on the scope. Null: no channels.
const view::Wave* trigger_source(const view::Snapshot& s, const view::Trigger& trigger);

/// The card above `key`, right edge at its right; `open` becomes false at a press elsewhere or Escape.
void trigger_card(shell::PanelContext& x, const view::Box& key, bool& open);

/// The level's handle at the left edge of the plot of the source's unit: pulled up and down, let go it is set.
class LevelHandle {
  public:
    void draw(shell::PanelContext& x, const view::PlotArea& area, const view::Wave& source, view::Colour colour);

  private:
    std::optional<double> held_;  // level under the hand
};

}  // namespace sunshaft::panels
