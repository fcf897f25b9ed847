// Space vector: the path of the drive's voltages and of the line currents through one turn, each as one point.
#include <fmt/format.h>

#include <algorithm>
#include <cmath>

#include "model/desk.hpp"
#include "model/format.hpp"
#include "panels/panels.hpp"
#include "panels/plot.hpp"
#include "shell/widgets.hpp"

namespace sunshaft::panels {
namespace {

using namespace shell;
using view::Box;

class SpaceVector : public Panel {
  public:
    Place place() const override { return Place::strip; }
    const char* title() const override { return "Space vector"; }
    void draw(PanelContext& x) override {
        if (!x.desk) return;
        const auto s = x.desk->snapshot();
        const view::Palette& p = x.palette();
        Canvas c = x.canvas();
        Box rest = x.box.inset(16, 8);
        if (s->amp_path.size() < 3) {
            c.text({rest.x, rest.y + 24}, "Nothing turns: no path.", {.colour = p.ink_soft});
            return;
        }
        const double each = std::min(rest.h + 120, 0.36 * rest.w);
        path(x, rest.cut_left(each), "Output voltages", s->volt_path, "V", p.signal[0], p);
        path(x, rest.cut_left(each), "Line currents", s->amp_path, "A", p.signal[1 % p.signal.size()], p);
        rest.cut_left(12);
        if (rest.w > 150)
            c.paragraph({rest.x, rest.y + 4}, rest.w,
                        "Three phases add up to one vector; this is where its tip goes in one turn. A six-step output stands still in six corners, sine currents draw a circle, and what is unequal "
                        "between the phases draws an ellipse: with one phase lost it is a line.",
                        {.colour = p.ink_soft});
    }

  private:
    static void path(PanelContext& x, const Box& box, const char* words, const std::vector<motor::Vec2>& points, const char* unit, const view::SignalLook& look, const view::Palette& p) {
        double most = 1e-9, least = 1e300;
        for (const motor::Vec2& v : points) most = std::max(most, std::hypot(v[0], v[1])), least = std::min(least, std::hypot(v[0], v[1]));
        const double side = std::min(box.w - 116, box.h - 26);
        Box square{box.x, box.y + 22, side, side};
        {
            Canvas c = x.canvas();
            paint::title(c, {box.x, box.y + 12}, words, p.ink_soft);
            c.fill(square, p.sheet);
            const double half = 1.08 * most;
            const auto ticks = view::ticks(-half, half, 6);
            for (const double v : ticks.at) {
                const double u = square.x + (v / half + 1) / 2 * side, w = square.y + (1 - v / half) / 2 * side;
                c.rule({u, square.y}, {u, square.bottom()}, v == 0.0 ? p.rule : p.grid);
                c.rule({square.x, w}, {square.right(), w}, v == 0.0 ? p.rule : p.grid);
            }
            c.frame(square, p.rule);
            const auto row = [&](double y, const char* name, double v) {
                c.text({square.right() + 10, y}, name, {.colour = p.ink_soft, .size = 12});
                const auto f = view::figure(v, unit);
                paint::value(c, {square.right() + 92, y + 17}, f.number, f.unit, {.number = p.ink, .unit = p.ink_soft, .size = 12});
            };
            row(square.y + 14, "farthest", most);
            row(square.y + 54, "nearest", least > 1e-4 * most ? least : 0.0);
            if (ticks.step > 0.0 && side > 90) row(square.y + 94, "a square is", ticks.step);
        }
        Child child = x.child(words, square);
        Canvas c = child.canvas();
        std::vector<view::Point> line;
        line.reserve(points.size());
        const double half = 1.08 * most;
        for (const motor::Vec2& v : points) {
            const view::Point at{square.x + (v[0] / half + 1) / 2 * side, square.y + (1 - v[1] / half) / 2 * side};
            if (line.empty() || std::hypot(at.x - line.back().x, at.y - line.back().y) > 0.3) line.push_back(at);
        }
        if (line.size() > 1) c.polyline(line, {.colour = look.colour, .width = 1.5});
    }
};

}  // namespace

std::unique_ptr<shell::Panel> space_vector() { return std::make_unique<SpaceVector>(); }

}  // namespace sunshaft::panels
