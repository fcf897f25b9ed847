#pragma once
// Painting of the cutaway and of the sheets beside the bore. Everything drawn is laid out by model/site_drawing.hpp and
// moved by the snapshot.
#include <array>
#include <string>

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
// While faults are hidden they show what was measured, and a question mark for all else. `noted_amps`: of u, v, w, as
// the clamp's display had them.
void splice_sheet(paint::Canvas& c, const view::SiteDrawing& d, const view::Snapshot& s, const view::Palette& p,
                  const std::array<std::string, 3>& noted_amps);
void motor_sheet(paint::Canvas& c, const view::SiteDrawing& d, const view::Snapshot& s, const view::Palette& p);
void power_sheet(paint::Canvas& c, const view::SiteDrawing& d, const view::Snapshot& s, const view::Palette& p);

}  // namespace sunshaft::panels
