#include "panels/small_site.hpp"

#include <algorithm>
#include <vector>

namespace sunshaft::panels {

using paint::Canvas;
using view::Box;
using view::Point;

namespace {

// From the drawing into its small picture.
struct Shrunk {
    const view::SiteDrawing& d;
    const Box& into;
    double k = std::min(into.w / d.box.w, into.h / d.box.h);

    Point operator()(Point q) const { return into.top_left() + (q - d.box.top_left()) * k; }
    // Never thinner than can be seen.
    Box operator()(const Box& b) const {
        const Point at = (*this)(b.top_left());
        return {at.x, at.y, std::max(1.0, b.w * k), std::max(1.0, b.h * k)};
    }
    std::vector<Point> operator()(const std::vector<Point>& path) const {
        std::vector<Point> out;
        for (const Point& q : path) out.push_back((*this)(q));
        return out;
    }
};

void ground(Canvas& c, const Shrunk& small, const view::Palette& p) {
    const Box& into = small.into;
    const auto sky = view::sky(p, 45.0);
    c.gradient(into, sky.high, sky.low);
    std::vector<Point> earth = small(small.d.surface);
    if (earth.empty()) return;
    earth.push_back({into.right(), earth.back().y});
    earth.push_back({into.right(), into.bottom()});
    earth.push_back({into.x, into.bottom()});
    c.fill(earth, p.strata[1]);
    c.polyline(small(small.d.surface), {.colour = p.ink});
}

void below(Canvas& c, const Shrunk& small, const view::Palette& p) {
    const view::SiteDrawing& d = small.d;
    if (d.bore) {
        const Box bore = small(d.bore->box);
        c.fill(bore, p.ground);
        const double water = std::clamp(small(Point{0, d.bore->water_y}).y, bore.y, bore.bottom());
        c.fill(Box{bore.x, water, bore.w, bore.bottom() - water}, p.water);
        c.frame(bore, p.ink);
    }
    if (d.main.size() > 1) c.polyline(small(d.main), {.colour = p.water_deep, .width = 2.5});
    for (const view::WirePath& wire : d.wires) {
        const bool direct = wire.wire == view::Wire::dc_plus || wire.wire == view::Wire::dc_minus;
        c.polyline(small(wire.points), {.colour = direct ? p.ink_soft : p.ink, .width = 1.0});
    }
    if (d.bore)
        for (const Box* part : {&d.bore->pump, &d.bore->motor}) {
            c.fill(small(*part), part == &d.bore->pump ? p.steel : p.steel_dark);
            c.frame(small(*part), p.ink);
        }
    if (!d.depth.tear) return;
    const double top = small(Point{0, d.depth.tear->top}).y, bottom = small(Point{0, d.depth.tear->bottom}).y;
    c.fill(Box{small.into.x, top, small.into.w, bottom - top}, p.ground);
    for (const double y : {top, bottom})
        c.line({small.into.x, y}, {small.into.right(), y}, {.colour = p.ink_soft, .style = view::LineStyle::dashed});
}

void above(Canvas& c, const Shrunk& small, const view::Palette& p) {
    const view::SiteDrawing& d = small.d;
    const auto sheet = [&](const Box& box) {
        if (box.empty()) return;
        c.fill(small(box), p.sheet);
        c.frame(small(box), p.ink);
    };
    if (d.sun) c.disc(small(d.sun->at), 4.0, p.sun);
    for (const Box& post : d.posts) c.fill(small(post), p.steel);
    const view::Colour cell = view::mix(p.cell, p.module_frame, p.dark ? 0.5 : 0.0);  // else lost in the night
    for (const auto& string : d.strings)
        for (const auto& module : string.modules) c.fill(small(module.box.inset(0.4 / small.k)), cell);
    if (d.tank) {
        sheet(d.tank->box);
        const Box tank = small(d.tank->box);
        const double level = std::clamp(small(Point{0, d.tank->level_y}).y, tank.y, tank.bottom());
        c.fill(Box{tank.x, level, tank.w, tank.bottom() - level}, p.water);
        c.frame(tank, p.ink);
    }
    for (const Box* box : {&d.supply, &d.isolator, &d.drive}) sheet(*box);
    if (d.change_over) sheet(d.change_over->box), sheet(d.change_over->source);
    if (!d.bench_motor) return;
    for (const Box* part : {&d.bench_motor->body, &d.bench_motor->fan}) {
        c.fill(small(*part), p.steel);
        c.frame(small(*part), p.ink);
    }
}

}  // namespace

void paint_small_site(Canvas& c, const view::SiteDrawing& d, const Box& into, const view::Palette& p) {
    const auto clip = c.clip(into);
    const Shrunk small{d, into};
    ground(c, small, p);
    below(c, small, p);
    above(c, small, p);
    c.frame(into, p.rule_strong);
}

}  // namespace sunshaft::panels
