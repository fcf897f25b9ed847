#pragma once
// The sun of the cutaway: its arc, its disc, its figure where nothing else is.
#include "panels/cutaway_paint.hpp"

namespace sunshaft::panels {

bool meet(const view::Box& a, const view::Box& b);
/// The rising main passes there.
bool on_main(const view::SiteDrawing& d, const view::Box& box);

view::Box sun_disc(const view::Sun& sun);
void sun(shell::Canvas& c, const view::SiteDrawing& d, const view::Palette& p);
/// Drawn last: beside the sun, below it, or not at all.
void sun_words(shell::Canvas& c, const view::SiteDrawing& d, const view::Palette& p, const view::Snapshot& s,
               bool carried);

}  // namespace sunshaft::panels
