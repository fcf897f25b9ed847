#include "panels/lens.hpp"
#include "text/language.hpp"

#include <algorithm>
#include <array>
#include <cmath>
#include <numbers>

namespace sunshaft::panels {
namespace {

using paint::Align;
using paint::Canvas;
using paint::Face;
using view::Box;
using view::Point;

constexpr double dot_size = 7.0, letter = 12.0;

// What of a path lies in a circle, piece by piece.
void within(Point centre, double radius, const std::vector<Point>& path, auto&& draw) {
    std::vector<Point> piece;
    const auto end = [&] {
        if (piece.size() > 1) draw(piece);
        piece.clear();
    };
    for (std::size_t n = 0; n + 1 < path.size(); ++n) {
        const Point a = path[n] - centre, along = path[n + 1] - path[n];
        const double aa = along.x * along.x + along.y * along.y, ab = a.x * along.x + a.y * along.y;
        const double inside = ab * ab - aa * (a.x * a.x + a.y * a.y - radius * radius);
        if (aa <= 0.0 || inside <= 0.0) {
            end();
            continue;
        }
        const double from = std::max(0.0, (-ab - std::sqrt(inside)) / aa),
                     to = std::min(1.0, (-ab + std::sqrt(inside)) / aa);
        if (from >= to) {
            end();
            continue;
        }
        if (from > 0.0 || piece.empty()) {
            end();
            piece.push_back(path[n] + along * from);
        }
        piece.push_back(path[n] + along * to);
        if (to < 1.0) end();
    }
    end();
}

class Painter {
  public:
    Painter(Canvas& c, const view::Lens& lens, const view::Palette& p) : c_(c), lens_(lens), p_(p) {}

    void box(const Box& of, view::Colour ground, view::Colour rule) {
        if (of.empty()) return;
        const Point a = lens_.on_glass(of.top_left());
        const auto shape =
            box_in_circle(lens_.centre, lens_.radius, Box{a.x, a.y, of.w * lens_.zoom, of.h * lens_.zoom});
        if (shape.size() < 3) return;
        c_.fill(shape, ground);
        c_.polyline(shape, {.colour = rule, .width = 1.4}, true);
    }
    void line(std::vector<Point> path, const paint::Stroke& stroke) {
        for (Point& q : path) q = lens_.on_glass(q);
        within(lens_.centre, lens_.radius, path, [&](const std::vector<Point>& piece) { c_.polyline(piece, stroke); });
    }
    void wire(const view::WirePath& w) {
        const view::ConductorLook* look[] = {&p_.l1, &p_.l2, &p_.l3, &p_.earth, &p_.dc_plus, &p_.dc_minus};
        wire_under_glass(lens_, w, [&](const std::vector<Point>& piece) {
            c_.conductor(piece, *look[static_cast<std::size_t>(w.wire)], 4.0);
        });
    }

  private:
    Canvas& c_;
    const view::Lens& lens_;
    const view::Palette& p_;
};

struct Name {
    Point at;
    std::string words;
    bool meant = false;
};

// Each name beside its thing, where no other name and no thing is; what is meant is written first and always.
void names(Canvas& c, const view::Lens& lens, std::vector<Name> all, const std::vector<Point>& things,
           const view::Palette& p) {
    std::ranges::stable_sort(all, {},
                             [&](const Name& n) { return n.meant ? -1.0 : view::distance(n.at, lens.centre); });
    std::vector<Box> taken;
    for (const Point& at : things)
        taken.push_back({at.x - dot_size - 1, at.y - dot_size - 1, 2 * dot_size + 2, 2 * dot_size + 2});
    const auto meets = [](const Box& a, const Box& b) {
        return a.x < b.right() && b.x < a.right() && a.y < b.bottom() && b.y < a.bottom();
    };
    for (const Name& name : all) {
        const paint::TextLook look{
            .colour = name.meant ? p.accent : p.ink, .size = letter, .face = Face::strong, .halo = p.sheet};
        const double wide = c.width(name.words, look);
        const std::array<Point, 10> offsets{
            Point{dot_size + 4, 4},       {-dot_size - 4 - wide, 4},  {-0.5 * wide, -dot_size - 5},
            {-0.5 * wide, dot_size + 14}, {dot_size + 2, -10},        {-dot_size - 2 - wide, -10},
            {dot_size + 2, 19},           {-dot_size - 2 - wide, 19}, {-0.5 * wide, -dot_size - 20},
            {-0.5 * wide, dot_size + 29}};
        for (const Point& offset : offsets) {
            const Point at = name.at + offset;
            const Box room{at.x - 1, at.y - letter + 1, wide + 2, letter + 2};
            const std::array corners{room.top_left(), Point{room.right(), room.y}, Point{room.x, room.bottom()},
                                     Point{room.right(), room.bottom()}};
            const bool inside = std::ranges::all_of(corners, [&](Point q) { return lens.covers(q); });
            const bool last = name.meant && &offset == &offsets.back();
            if (!last && (!inside || std::ranges::any_of(taken, [&](const Box& b) { return meets(b, room); })))
                continue;
            c.text(at, name.words, look);
            taken.push_back(room);
            break;
        }
    }
}

}  // namespace

std::vector<Point> box_in_circle(Point centre, double radius, const Box& box) {
    constexpr int steps = 72;
    std::vector<Point> rim;
    for (int n = 0; n < steps; ++n) {
        const double angle = 2 * std::numbers::pi * n / steps;
        rim.push_back(centre + Point{radius * std::cos(angle), radius * std::sin(angle)});
    }
    // Sutherland and Hodgman: the many-sided circle, cut by the four sides of the box.
    const auto cut = [](const std::vector<Point>& shape, auto&& depth) {
        std::vector<Point> out;
        for (std::size_t n = 0; n < shape.size(); ++n) {
            const Point a = shape[n], b = shape[(n + 1) % shape.size()];
            const double da = depth(a), db = depth(b);
            if (da >= 0.0) out.push_back(a);
            if ((da >= 0.0) != (db >= 0.0)) out.push_back(view::lerp(a, b, da / (da - db)));
        }
        return out;
    };
    rim = cut(rim, [&](Point q) { return q.x - box.x; });
    rim = cut(rim, [&](Point q) { return box.right() - q.x; });
    rim = cut(rim, [&](Point q) { return q.y - box.y; });
    return cut(rim, [&](Point q) { return box.bottom() - q.y; });
}

void paint_under_glass(Canvas& c, const view::Lens& lens, const view::SiteDrawing& d, const view::Palette& p) {
    Painter glass(c, lens, p);
    for (const Box* box : {&d.isolator, &d.drive, &d.supply, &d.sheets.splice, &d.sheets.motor, &d.sheets.power})
        glass.box(*box, p.ground, p.ink_soft);
    if (d.change_over)
        for (const Box* box : {&d.change_over->source, &d.change_over->box}) glass.box(*box, p.ground, p.ink_soft);
    for (const auto& string : d.strings) {
        for (const auto& m : string.modules) glass.box(m.box, p.cell, p.module_frame);
        glass.box(string.fuse, p.sheet, p.ink);
    }
    for (const auto& wire : d.wires) glass.wire(wire);
    for (const auto& string : d.strings)
        for (const auto& j : string.joints) {
            if (j.open) continue;
            std::vector<Point> loop;
            for (int n = 0; n <= 12; ++n) {
                const double t = n / 12.0, u = 1.0 - t;
                loop.push_back(j.a * (u * u * u + 3 * u * u * t) + j.b * (3 * u * t * t + t * t * t) +
                               Point{0.0, 3.0 * u * t * j.droop});
            }
            glass.line(std::move(loop), {.colour = p.ink, .width = 2.2});
        }
}

void wire_under_glass(const view::Lens& lens, const view::WirePath& wire,
                      const std::function<void(const std::vector<Point>&)>& draw) {
    std::vector<Point> path = wire.points;
    for (Point& q : path) q = lens.on_glass(q);
    within(lens.centre, lens.radius, path, draw);
}

void paint_lens(Canvas& c, const view::Lens& lens, const view::SiteDrawing& d, const UnderGlass& meant,
                const bench::Probes& probes, const view::Palette& p) {
    c.disc(lens.centre, lens.radius + 4.0, p.ink);
    c.disc(lens.centre, lens.radius + 2.4, p.sheet);
    paint_under_glass(c, lens, d, p);
    if (meant.part) {
        const Point a = lens.on_glass(meant.part->box.top_left());
        const auto shape = box_in_circle(lens.centre, lens.radius,
                                         Box{a.x, a.y, meant.part->box.w * lens.zoom, meant.part->box.h * lens.zoom});
        if (shape.size() > 2)
            c.polyline(shape, {.colour = p.accent, .width = 2.0, .style = view::LineStyle::dashed}, true);
    }
    std::vector<Name> all;
    std::vector<Point> things;
    for (const auto& ring : d.rings) {
        const Point at = lens.on_glass(ring.at);
        if (view::distance(at, lens.centre) > lens.radius - dot_size) continue;
        const bool lit = &ring == meant.ring, closed = ring.name == probes.around;
        c.circle(at, dot_size + 4,
                 {.colour = closed ? p.lead_clamp.core
                            : lit  ? p.accent
                                   : p.ink_soft,
                  .width = lit || closed ? 2.4 : 1.4,
                  .style = closed ? view::LineStyle::solid : view::LineStyle::dotted});
        all.push_back({at, text::say("clamp on {}", ring.name), lit});
        things.push_back(at);
    }
    for (const auto& dot : d.dots) {
        const Point at = lens.on_glass(dot.at);
        if (view::distance(at, lens.centre) > lens.radius - dot_size) continue;
        paint::test_point(c, at, dot.reachable, &dot == meant.dot, p, dot_size);
        if (dot.name == probes.red) c.disc(at, 5.0, p.lead_red.core);
        if (dot.name == probes.black) c.disc(at, 5.0, p.lead_black.core);
        all.push_back({at, dot.name, &dot == meant.dot});
        things.push_back(at);
    }
    if (meant.part) all.push_back({lens.centre + Point{0.0, lens.radius - 30.0}, meant.words, true});
    names(c, lens, std::move(all), things, p);
    c.circle(lens.centre, lens.radius + 2.4, {.colour = p.ink, .width = 2.0});
}

}  // namespace sunshaft::panels
