#pragma once
// The wipe: an upright rule across the drawing and the plots under it. Left of it stands the healthy twin, right of it
// the site, under the same sky at the same instant. Where it stands is the window's (WindowState::wipe).
#include <optional>

#include "model/site_drawing.hpp"
#include "model/snapshot.hpp"
#include "shell/panel.hpp"

namespace sunshaft::panels {

/// The two parts of a box; nothing: the wipe is off, or there is no twin to show.
struct Halves {
    view::Box healthy, site;
};
std::optional<Halves> wiped(const shell::PanelContext& x, const view::Snapshot& s, const view::Box& box);

/// The drawing and its sheets, on either side of the rule or as one.
void paint_cutaway(shell::PanelContext& x, const view::Snapshot& s, const view::SiteDrawing& drawing,
                   view::SheetChoice choice, bool sun_carried);
/// Its key and its button; off when there is nothing to compare any more. `at`: upper left corner of the button;
/// `from_x`: where the rule stands first, clear of the sheets' figures, of which it would make others.
void wipe_key(shell::PanelContext& x, const view::Snapshot& s, view::Point at, double from_x);
/// The rule in the hand or under it: then nothing else is meant there. `snap_x`: where it likes to stand.
bool wipe_hands(shell::PanelContext& x, const view::Snapshot& s, const view::Box& box, std::optional<double> snap_x);
/// The rule and what stands on either side; pairs of values, where they are asked for.
void wipe_rule(shell::PanelContext& x, const view::Snapshot& s, const view::Box& box, bool with_pairs);
/// The rule alone, over a plot that is cut by it.
void wipe_line(const shell::PanelContext& x, const view::Box& plot);
/// And on either side of it whose half that is, in a line with this foot.
void wipe_names(const shell::PanelContext& x, const view::Snapshot& s, const view::Box& plot, double base);
/// And over a table that the rule does not part: it is this site's.
void wipe_table(const shell::PanelContext& x, const view::Snapshot& s, view::Point at, shell::Align align);

}  // namespace sunshaft::panels
