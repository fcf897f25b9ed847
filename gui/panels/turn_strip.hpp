#pragma once
// The last turn of the field under one cursor, shared by the panels that show an instant of it.
#include "model/snapshot.hpp"
#include "shell/panel.hpp"

namespace sunshaft::panels {

inline constexpr double kTurnStrip = 62.0;  // its height

/// Six steps, what each leg does in them, the cursor; a hand drags it. False: nothing turns, nothing is drawn.
bool turn_strip(shell::PanelContext& x, const view::Box& box, const view::Snapshot& s, view::TurnCursor& cursor);
/// The instant the cursor is at.
view::Moment moment_of(const view::Snapshot& s, const view::TurnCursor& cursor);
/// "step 2 of 6"; empty where nothing turns.
std::string step_words(const view::Snapshot& s, const view::Moment& m);
/// On the line of a panel's head: the step, and keys for slow motion and back to the present.
void turn_keys(shell::PanelContext& x, const view::Box& row, const view::Snapshot& s, view::TurnCursor& cursor);

}  // namespace sunshaft::panels
