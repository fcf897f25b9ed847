#pragma once
// What suspects and lessons mark on the drawing: where a lesson wants the leads; two still rings on every point of the
// next test, and a frame round the part of the site that is asked for; where a figure comes from that is pointed at.
#include "model/shared_view.hpp"
#include "model/site_drawing.hpp"
#include "shell/panel.hpp"

namespace sunshaft::panels {

void case_marks(const shell::PanelContext& x, shell::Canvas& c, const view::SiteDrawing& d, view::SharedView& shared);

}  // namespace sunshaft::panels
