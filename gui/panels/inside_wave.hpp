#pragma once
// The wave's own figures under the chains, each live: where a hand is on one, what it tells of is drawn over the wave;
// where it is on the wave, its figures light up.
#include "panels/inside_links.hpp"
#include "panels/inside_reasons.hpp"
#include "shell/panel.hpp"

namespace sunshaft::panels {

/// As many as have room, of the first path's wave; before Reasons::draw().
void wave_row(shell::PanelContext& x, const view::Box& row, std::span<const Path> paths, Reasons& reasons);

/// Over the wave of `link`, drawn in `area`: what the figure tells of. Its bounds; empty: nothing that could be drawn.
view::Box draw_wave_mark(paint::Canvas& c, const view::PlotArea& area, const Link& link, const meter::Reading& reading,
                         std::string_view figure, const view::Palette& palette);

}  // namespace sunshaft::panels
