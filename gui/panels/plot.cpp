#include "panels/plot.hpp"

#include <algorithm>
#include <cmath>

#include "model/format.hpp"

namespace sunshaft::panels {

using paint::Align;
using paint::Face;
using view::Box;
using view::Point;

Box plot_inside(const Box& outer, bool x_numbers) {
    return {outer.x + 56, outer.y + 10, std::max(10.0, outer.w - 64),
            std::max(10.0, outer.h - 10 - (x_numbers ? 22.0 : 6.0))};
}

void draw_axes(paint::Canvas& c, const Axes& a, const view::Palette& p) {
    const Box& b = a.area.box;
    c.fill(b, p.sheet);
    const double y_largest = std::max(std::abs(a.area.y_low), std::abs(a.area.y_high));
    const double x_largest = std::max(std::abs(a.area.t_from), std::abs(a.area.t_to));
    // A scale is read from two figures at least, however low the plot.
    int about = std::clamp(static_cast<int>(b.h / 36), 2, 2 * a.y_about);
    auto ys = view::ticks(a.area.y_low, a.area.y_high, about);
    while (ys.at.size() < 2 && about < 12) ys = view::ticks(a.area.y_low, a.area.y_high, ++about);
    const double y_pitch = ys.step / (a.area.y_high - a.area.y_low) * b.h;
    const auto xs = view::ticks(a.area.t_from, a.area.t_to, std::clamp(static_cast<int>(b.w / 90), 2, 2 * a.x_about));
    // Where the lines stand closer than figures are high, the first and the last are named.
    for (const double v : ys.at) {
        const double y = a.area.y(v);
        c.rule({b.x, y}, {b.right(), y}, v == 0.0 ? p.rule_strong : p.grid);
        if (y_pitch < 13.0 && v != ys.at.front() && (v != ys.at.back() || a.area.y(ys.at.front()) - y < 13.0)) continue;
        c.text(
            {b.x - 8, y}, view::tick_text(v, ys.step, y_largest, a.y_unit),
            {.colour = p.ink_soft, .size = 12, .face = Face::mono, .align = Align::right, .sit = paint::Sit::middle});
    }
    for (const double v : xs.at) {
        const double x = a.area.x(v);
        c.rule({x, b.y}, {x, b.bottom()}, p.grid);
        const paint::TextLook number{.colour = p.ink_soft, .size = 12, .face = Face::mono, .align = Align::centre};
        const std::string words = view::tick_text(v, xs.step, x_largest, a.x_unit);
        const double unit = c.width(view::tick_unit(x_largest, a.x_unit), {.colour = p.ink_soft, .size = 12});
        if (a.x_numbers && x + 0.5 * c.width(words, number) < b.right() - unit - 6)
            c.text({x, b.bottom() + 16}, words, number);
    }
    c.frame(b, p.rule);
    if (a.x_numbers)
        c.text({b.right(), b.bottom() + 16}, view::tick_unit(x_largest, a.x_unit),
               {.colour = p.ink_soft, .size = 12, .align = Align::right});
    c.text({b.x - 50, b.y + 11}, view::tick_unit(y_largest, a.y_unit), {.colour = p.ink, .size = 13});
}

void quiet_words(paint::Canvas& c, const view::Box& room, const char* words, const view::Palette& palette) {
    c.text({room.x, room.y + 24}, words, {.colour = palette.ink_soft});
}

void draw_curve(paint::Canvas& c, const view::PlotArea& area, const std::vector<double>& x,
                const std::vector<double>& y, const paint::Stroke& stroke) {
    std::vector<Point> points;
    for (std::size_t n = 0; n < std::min(x.size(), y.size()); ++n) points.push_back({area.x(x[n]), area.y(y[n])});
    if (points.size() < 2) return;
    const auto clip = c.clip(area.box);
    c.polyline(points, stroke);
}

}  // namespace sunshaft::panels
