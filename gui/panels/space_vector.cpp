// Space vector: the path of the drive's voltages and of the line currents through one turn, each as one point.
#include <fmt/format.h>

#include <algorithm>
#include <cmath>
#include <tuple>

#include "model/desk.hpp"
#include "model/format.hpp"
#include "model/waves_csv.hpp"
#include "panels/panels.hpp"
#include "panels/plot.hpp"
#include "panels/wipe.hpp"
#include "shell/widgets.hpp"
#include "text/language.hpp"

namespace sunshaft::panels {
namespace {

using namespace shell;
using view::Box;

class SpaceVector : public Panel {
  public:
    Place place() const override { return Place::strip; }
    const char* title() const override { return text::id("Space vector"); }
    void draw(PanelContext& x) override {
        if (!x.desk) return;
        const auto s = x.desk->snapshot();
        const view::Palette& p = x.palette();
        Canvas c = x.canvas();
        Box rest = x.box.inset(16, 8);
        if (s->amp_path.size() < 3) return quiet_words(c, rest, text::tr("Nothing turns: no path."), p);
        const double each = std::min(rest.h + 120, 0.36 * rest.w);
        path(x, *s, rest.cut_left(each), text::tr("Output voltages"), s->volt_path, s->healthy_volt_path, "V",
             p.signal[0], p);
        path(x, *s, rest.cut_left(each), text::tr("Line currents"), s->amp_path, s->healthy_amp_path, "A",
             p.signal[1 % p.signal.size()], p);
        rest.cut_left(12);
        if (rest.w > 150)
            c.paragraph(
                {rest.x, rest.y + 4}, rest.w,
                text::tr("Three phases add up to one vector; this is where its tip goes in one turn. A six-step output "
                         "stands still in six corners, sine currents draw a circle. What is unequal between the phases "
                         "draws an ellipse. With one phase lost it is a line."),
                {.colour = p.ink_soft});
    }

    std::string csv(const view::Desk& desk) const override {
        const auto s = desk.snapshot();
        std::vector<view::Column> columns;
        for (const auto& [words, unit, points] : {std::tuple{"", "V", &s->volt_path},
                                                  {"", "A", &s->amp_path},
                                                  {"healthy ", "V", &s->healthy_volt_path},
                                                  {"healthy ", "A", &s->healthy_amp_path}}) {
            view::Column alpha{fmt::format("{}alpha [{}]", words, unit), {}},
                beta{fmt::format("{}beta [{}]", words, unit), {}};
            for (const motor::Vec2& v : *points) alpha.figures.push_back(v[0]), beta.figures.push_back(v[1]);
            if (!points->empty()) columns.push_back(std::move(alpha)), columns.push_back(std::move(beta));
        }
        return view::columns_to_csv(columns);
    }

  private:
    static void line(Canvas& c, const Box& square, double half, const std::vector<motor::Vec2>& way,
                     const paint::Stroke& stroke) {
        std::vector<view::Point> line;
        line.reserve(way.size());
        for (const motor::Vec2& v : way) {
            const view::Point at{square.x + (v[0] / half + 1) / 2 * square.w,
                                 square.y + (1 - v[1] / half) / 2 * square.h};
            if (line.empty() || std::hypot(at.x - line.back().x, at.y - line.back().y) > 0.3) line.push_back(at);
        }
        if (line.size() > 1) c.polyline(line, stroke);
    }
    static void path(PanelContext& x, const view::Snapshot& s, const Box& box, const char* words,
                     const std::vector<motor::Vec2>& points, const std::vector<motor::Vec2>& healthy, const char* unit,
                     const view::SignalLook& look, const view::Palette& p) {
        // Less than this is nothing: the solver's own noise is no path.
        double most = unit[0] == 'A' ? 1e-3 : 1e-2, least = 1e300;
        for (const motor::Vec2& v : points)
            most = std::max(most, std::hypot(v[0], v[1])), least = std::min(least, std::hypot(v[0], v[1]));
        const double floor = unit[0] == 'A' ? 1e-3 : 1e-2, farthest = most > floor ? most : 0.0;
        for (const motor::Vec2& v : healthy) most = std::max(most, std::hypot(v[0], v[1]));
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
                paint::value(c, {square.right() + 92, y + 17}, f.number, f.unit,
                             {.number = p.ink, .unit = p.ink_soft, .size = 12});
            };
            row(square.y + 14, text::tr("farthest"), farthest);
            row(square.y + 54, text::tr("nearest"), farthest > 0.0 && least > 1e-4 * farthest ? least : 0.0);
            wipe_table(x, s, {square.right() + 10, square.y + 138}, Align::left);
            if (!healthy.empty() && side > 150 && !wiped(x, s, square))
                c.text({square.right() + 10, square.y + 138}, text::tr("grey: healthy"),
                       {.colour = p.ink_soft, .size = 12});
            if (ticks.step > 0.0 && side > 90) row(square.y + 94, text::tr("a square is"), ticks.step);
        }
        Child child = x.child(words, square);
        Canvas c = child.canvas();
        const double half = 1.08 * most;
        const auto draw = [&](const std::vector<motor::Vec2>& way, const paint::Stroke& stroke) {
            line(c, square, half, way, stroke);
        };
        if (const auto halves = wiped(x, s, square)) {
            {
                const auto clip = c.clip(halves->healthy);
                draw(healthy, {.colour = look.colour, .width = 1.5});
            }
            {
                const auto clip = c.clip(halves->site);
                draw(points, {.colour = look.colour, .width = 1.5});
            }
            return wipe_names(x, s, square, square.y + 15);
        }
        draw(healthy, {.colour = p.ghost, .width = 1.2});
        draw(points, {.colour = look.colour, .width = 1.5});
    }
};

}  // namespace

std::unique_ptr<shell::Panel> space_vector() { return std::make_unique<SpaceVector>(); }

}  // namespace sunshaft::panels
