// Below the ground as a call-out shows it: a plain section, nothing to be seen from here. On it what eyes see above,
// and what the site's papers say.
#pragma once

#include "model/palette.hpp"
#include "model/site_drawing.hpp"
#include "model/snapshot.hpp"
#include "paint/canvas.hpp"

namespace sunshaft::panels {

// y of the ground there.
double surface_at(const view::SiteDrawing& drawing, double x);
void paint_below_ground(paint::Canvas& c, const view::SiteDrawing& d, const view::Snapshot& s, const view::Palette& p);

}  // namespace sunshaft::panels
