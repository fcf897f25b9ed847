#include "panels/heat_glass.hpp"

#include <fmt/format.h>

#include <algorithm>

#include "model/heat.hpp"
#include "model/lens.hpp"
#include "paint/marks.hpp"
#include "panels/lens.hpp"
#include "shell/widgets.hpp"

namespace sunshaft::panels {

using namespace shell;
using view::Box;
using view::Point;

void HeatGlass::draw(PanelContext& x, Canvas& c, const view::SiteDrawing& d, const view::Snapshot& s) {
    if (!x.input.typing && x.input.take(Key::T)) on_ = !on_;
    if (on_ && !x.input.typing && x.input.take(Key::Escape)) on_ = false;
    const Point m = x.input.mouse;
    if (!on_ || !d.box.contains(m)) return;
    const view::Palette& p = x.palette();
    view::Lens lens{.at = m, .centre = m, .zoom = 2.0, .radius = std::min({110.0, 0.4 * d.box.w, 0.4 * d.box.h})};
    // It lies inside the drawing, with room for its words below.
    const double out = lens.radius + 5.0;
    lens.centre = {std::clamp(m.x, d.box.x + out, std::max(d.box.x + out, d.box.right() - out)),
                   std::clamp(m.y, d.box.y + out, std::max(d.box.y + out, d.box.bottom() - out - 62.0))};
    const auto things = view::warm_things(s, d);
    // What is round them: the air, or below ground the water.
    const bool below = d.bore && m.y > d.depth.ground_y;
    const double round = below ? s.site->works.water.degC : s.site->scenario.sun.air_temperature_degC;
    const view::Colour white = view::rgb(0xffffff);
    c.disc(lens.centre, lens.radius + 4.0, p.ink);
    c.disc(lens.centre, lens.radius + 2.4, view::heat_colour(round));
    for (const view::Warm& w : things) {
        const Point a = lens.on_glass(w.box.top_left());
        const auto shape =
            box_in_circle(lens.centre, lens.radius, {a.x, a.y, w.box.w * lens.zoom, w.box.h * lens.zoom});
        if (shape.size() < 3) continue;
        c.fill(shape, view::heat_colour(w.degC));
        c.polyline(shape, {.colour = white.faded(0.35), .width = 1.0}, true);
    }
    const Point eye = lens.on_glass(m);
    for (const Point& arm : {Point{7.0, 0.0}, Point{0.0, 7.0}})
        c.line(eye - arm, eye + arm, {.colour = white, .width = 1.4});
    const view::Warm* meant = view::warm_at(things, m);
    const char* surroundings = below ? "ground and water" : "air";
    const std::string line =
        fmt::format("{}  {:.0f} °C", meant ? meant->name : std::string(surroundings), meant ? meant->degC : round);
    const char* why = !meant || meant->by_camera ? "Emissivity 0.95: bare metal and glass show less than they are."
                                                 : "No camera sees this in the field: it is shown for teaching.";
    constexpr double wide = 236.0, high = 60.0;
    const Box tag{std::clamp(lens.centre.x - 0.5 * wide, d.box.x + 4, std::max(d.box.x + 4, d.box.right() - wide - 4)),
                  lens.centre.y + lens.radius + 6.0, wide, high};
    paint::sheet(c, tag, p.sheet, p.ink_soft);
    c.text({tag.x + 8, tag.y + 17}, line, {.colour = p.ink, .face = Face::strong});
    c.paragraph({tag.x + 8, tag.y + 22}, wide - 16, why, {.colour = p.ink_soft, .size = 12});
    if (x.targets) x.target("heat glass", tag);
}

}  // namespace sunshaft::panels
