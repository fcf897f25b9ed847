#include "panels/cutaway_sky.hpp"

#include <fmt/format.h>

#include <algorithm>
#include <cmath>
#include <vector>

#include "model/format.hpp"

namespace sunshaft::panels {

using namespace shell;
using view::Box;
using view::Point;

Box sun_disc(const view::Sun& sun) { return {sun.at.x - 13, sun.at.y - 13, 26, 26}; }

void sun(Canvas& c, const view::SiteDrawing& d, const view::Palette& p) {
    if (!d.sun) return;
    for (double h = 6; h < 18; h += 0.25) {
        const Point q = d.sun->on_arc(h);
        if (d.box.contains(q)) c.disc(q, 0.9, p.sun_path);
    }
    const Point at = d.sun->at;
    c.disc(at, 17, p.sun.faded(0.25));
    c.disc(at, 13, p.sun);
    c.mark(sun_disc(*d.sun), "sun");
}

bool meet(const Box& a, const Box& b) {
    return a.x < b.right() && b.x < a.right() && a.y < b.bottom() && b.y < a.bottom();
}

bool on_main(const view::SiteDrawing& d, const Box& box) {
    for (std::size_t n = 0; n + 1 < d.main.size(); ++n) {
        const Point &a = d.main[n], &b = d.main[n + 1];
        if (meet(box, Box{std::min(a.x, b.x), std::min(a.y, b.y), std::abs(a.x - b.x), std::abs(a.y - b.y)}.inset(-8)))
            return true;
    }
    return false;
}

// The sun's figure, where nothing else is: drawn last, beside it, below it, or not at all.
void sun_words(Canvas& c, const view::SiteDrawing& d, const view::Palette& p, const view::Snapshot& s, bool carried) {
    if (!d.sun) return;
    const Point at = d.sun->at;
    const std::string words = carried ? fmt::format("{}, {} W/m²", view::time_of_day(d.sun->hours),
                                                    text::fixed(d.sun->asked_W_m2(d.sun->hours), 0))
                                      : text::fixed(s.site->works.array.sunlight(), 0) + " W/m²";
    const paint::TextLook look{.colour = p.ink, .face = Face::strong};
    const double wide = c.width(words, look);
    std::vector<Box> taken{
        d.drive.inset(-4), d.isolator, d.supply, {d.left, d.box.y, 280, 30}, {d.box.right() - 250, d.box.y, 250, 36}};
    for (const auto& string : d.strings) {
        if (string.modules.empty()) continue;
        const Box &first = string.modules.back().box, &last = string.modules.front().box;
        taken.push_back({first.x, first.y - 20, last.right() + 50 - first.x, first.h + 44});
    }
    if (d.tank) taken.push_back(d.tank->box.inset(-6));
    for (const Point q : {Point{at.x + 22, at.y + 4},
                          {at.x - 22 - wide, at.y + 4},
                          {at.x + 22, at.y - 12},
                          {at.x - 22 - wide, at.y - 12},
                          {at.x - wide / 2, at.y + 34},
                          {at.x - wide / 2, at.y - 22},
                          {at.x + 14, at.y + 30},
                          {at.x - 14 - wide, at.y + 30}}) {
        const Box place{q.x - 3, q.y - 13, wide + 6, 18};
        if (place.x < d.left + 4 || place.right() > d.box.right() - 4 || place.y < d.box.y + 4) continue;
        if (on_main(d, place) ||
            std::any_of(taken.begin(), taken.end(), [&](const Box& b) { return !b.empty() && meet(place, b); }))
            continue;
        c.text(q, words, look);
        return;
    }
}

}  // namespace sunshaft::panels
