// A round glass over a crowded place of the section drawing: what a hand can touch there, enlarged until every thing
// has room. Pure geometry, design units.
#pragma once

#include <optional>

#include "model/site_drawing.hpp"

namespace sunshaft::view {

// No two things to touch may stand closer than this, or a glass opens over them. WCAG 2.2, 2.5.8 (target size,
// minimum).
inline constexpr double target_room = 24.0;

struct Lens {
    Point at;      // of the drawing, shown in the middle
    Point centre;  // where the glass lies
    double zoom = 4.0, radius = 120.0;
    Point in_drawing(Point on_glass) const { return at + (on_glass - centre) * (1.0 / zoom); }
    Point on_glass(Point in_drawing) const { return centre + (in_drawing - at) * zoom; }
    bool covers(Point p) const { return distance(p, centre) <= radius; }
};

// The glass for a hand at `hand`: none where nothing is in reach or what is in reach stands by itself. What lies under
// the hand stays under it.
std::optional<Lens> lens_over(const SiteDrawing& d, Point hand);

}  // namespace sunshaft::view
