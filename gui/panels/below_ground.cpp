#include "panels/below_ground.hpp"

#include <algorithm>
#include <vector>

namespace sunshaft::panels {

using view::Point;

double surface_at(const view::SiteDrawing& drawing, double x) {
    const std::vector<Point>& line = drawing.surface;
    for (std::size_t n = 1; n < line.size(); ++n)
        if (x <= line[n].x && line[n].x > line[n - 1].x)
            return line[n - 1].y + (x - line[n - 1].x) / (line[n].x - line[n - 1].x) * (line[n].y - line[n - 1].y);
    return line.empty() ? drawing.box.bottom() : line.back().y;
}

void paint_below_ground(paint::Canvas& c, const view::SiteDrawing& d, const view::Palette& p) {
    std::vector<Point> earth;
    double lowest = d.box.y;
    for (const Point& q : d.surface) {
        earth.push_back({q.x, q.y + 1.5});
        lowest = std::max(lowest, q.y);
    }
    earth.push_back({d.box.right(), d.box.bottom()});
    earth.push_back({d.box.x, d.box.bottom()});
    c.fill(earth, p.strata[0]);
    c.hatch(earth, p.hatch, 6.0);
    c.polyline(d.surface, {.colour = p.ink, .width = 1.8});
    const Point middle{d.box.centre().x, 0.5 * (lowest + d.box.bottom())};
    c.text(middle, "Below ground: nothing to see from here",
           {.colour = p.ink, .face = paint::Face::strong, .align = paint::Align::centre, .halo = p.strata[0]});
    c.text(middle + Point{0, 20}, "Dip the well, or measure from above.",
           {.colour = p.ink_soft, .align = paint::Align::centre, .halo = p.strata[0]});
}

}  // namespace sunshaft::panels
