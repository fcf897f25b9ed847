#pragma once
// A site's section drawing made small: what stands there and how deep, without a word or a test point.
#include "model/site_drawing.hpp"
#include "paint/canvas.hpp"

namespace sunshaft::panels {

void paint_small_site(paint::Canvas& c, const view::SiteDrawing& d, const view::Box& into, const view::Palette& p);

}  // namespace sunshaft::panels
