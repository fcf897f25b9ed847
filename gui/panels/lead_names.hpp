#pragma once
// The names of the points two leads lie on, beside them: each leans away from the other, and lies on no heading of a
// sheet, on no other lead's point and in sight.
#include "bench/bench.hpp"
#include "model/site_drawing.hpp"
#include "shell/panel.hpp"

namespace sunshaft::panels {

/// `named`: the point whose name stands there anyway; may be null.
void lead_names(const shell::PanelContext& x, paint::Canvas& c, const view::SiteDrawing& d, const bench::Probes& probes,
                const view::Dot* named);

}  // namespace sunshaft::panels
