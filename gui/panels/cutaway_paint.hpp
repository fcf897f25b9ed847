#pragma once
// Painting of the cutaway and of the sheets beside the bore. Everything drawn is laid out by model/site_drawing.hpp and
// moved by the snapshot.
#include "model/site_drawing.hpp"
#include "paint/marks.hpp"
#include "shell/panel.hpp"

namespace sunshaft::panels {

void paint_site(paint::Canvas& c, const view::SiteDrawing& d, const view::Snapshot& s, const view::Palette& p,
                bool sun_carried);
/// A clamp's ring, `wider` than its conductors.
void ellipse(paint::Canvas& c, const view::Ring& ring, double wider, const paint::Stroke& stroke);
view::Box ring_box(const view::Ring& ring);
/// Green: the drive lives and turns; amber: it waits; the accent: it tripped.
view::Colour lamp_colour(const view::Lamp& lamp, const view::Palette& p);
// In place of the three while faults are hidden.
void closed_sheets(paint::Canvas& c, const view::SiteDrawing& d, const view::Palette& p);
void splice_sheet(paint::Canvas& c, const view::SiteDrawing& d, const view::Snapshot& s, const view::Palette& p);
void motor_sheet(paint::Canvas& c, const view::SiteDrawing& d, const view::Snapshot& s, const view::Palette& p);
void power_sheet(paint::Canvas& c, const view::SiteDrawing& d, const view::Snapshot& s, const view::Palette& p);

}  // namespace sunshaft::panels
