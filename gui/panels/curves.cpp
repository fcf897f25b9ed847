// Curves: what the array can give and what it gives; what the pump can lift and what the main asks.
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

double top_of(const std::vector<double>& y) {
    double most = 0.0;
    for (const double v : y) most = std::max(most, v);
    return most;
}

class Curves : public Panel {
  public:
    Place place() const override { return Place::strip; }
    const char* title() const override { return "Curves"; }
    void draw(PanelContext& x) override {
        if (!x.desk) return;
        const auto s = x.desk->snapshot();
        Canvas c = x.canvas();
        const view::Palette& p = x.palette();
        Box rest = x.box.inset(8, 4);
        const bool array = s->array_current.x.size() > 1, pump = s->pump_curve.x.size() > 1;
        if (!array && !pump) {
            c.text({rest.x + 16, rest.y + 28}, "No array and no pump on this site: nothing to draw a curve of.", {.colour = p.ink_soft});
            return;
        }
        if (array) array_plot(c, pump ? rest.cut_left(rest.w / 2) : rest, *s, p);
        if (pump) pump_plot(c, rest, *s, p);
    }

  private:
    static void point(Canvas& c, const view::PlotArea& a, double x, double y, const std::string& words, const view::Palette& p, bool left) {
        const view::Point at{a.x(x), a.y(y)};
        c.line({a.box.x, at.y}, at, {.colour = p.accent, .width = 1, .style = view::LineStyle::dashed});
        c.line({at.x, a.box.bottom()}, at, {.colour = p.accent, .width = 1, .style = view::LineStyle::dashed});
        c.disc(at, 4.5, p.accent);
        c.text({at.x + (left ? -10 : 10), at.y + (at.y < a.box.y + 24 ? 18 : -8)}, words,
               {.colour = p.accent, .size = 12, .face = Face::strong, .align = left ? Align::right : Align::left, .halo = p.sheet});
    }

    static void array_plot(Canvas& c, Box outer, const view::Snapshot& s, const view::Palette& p) {
        paint::title(c, {outer.x + 56, outer.y + 12}, "Array at the link", p.ink_soft);
        outer.cut_top(16);
        Box foot = outer.cut_bottom(20);
        const Box inner = plot_inside(outer, true);
        const double volts = s.array_current.x.back(), amps = 1.08 * std::max(top_of(s.array_current.y), 0.1);
        const Axes axes{{0, volts, 0, view::pleasant({0, amps}).high, inner}, "V", "A", true, 6, 4};
        draw_axes(c, axes, p);
        draw_curve(c, axes.area, s.array_current.x, s.array_current.y, {.colour = p.signal[0].colour, .width = 2});
        view::PlotArea power = axes.area;
        power.y_high = 1.15 * std::max(top_of(s.array_power.y), 1.0);
        draw_curve(c, power, s.array_power.x, s.array_power.y, {.colour = p.signal[4].colour, .width = 2, .style = p.signal[4].style});
        c.text({inner.x + 8, axes.area.y(top_of(s.array_current.y)) + 16}, "current", {.colour = p.ink, .size = 12, .halo = p.sheet});
        if (s.best_W > 0) {
            const view::Point best{power.x(s.best_V), power.y(s.best_W)};
            c.circle(best, 4.5, {.colour = p.ink, .width = 1.2});
            c.text({best.x - 10, best.y - 7}, fmt::format("most power, {:.0f} W at {:.0f} V", s.best_W, s.best_V), {.colour = p.ink, .size = 12, .align = Align::right, .halo = p.sheet});
        }
        point(c, axes.area, s.array_V, s.array_A, fmt::format("now {}, {}", view::figure(s.array_V, "V", 3).text(), view::figure(s.array_A, "A", 3).text()), p, s.array_V > 0.4 * volts);
        const double taken = s.array_V * s.array_A;
        if (s.best_W > 0)
            c.text({inner.x, foot.y + 14}, fmt::format("{} on offer, {} taken: {}", view::figure(s.best_W, "W", 3).text(), view::figure(taken, "W", 3).text(), view::percent(taken / s.best_W, 2)), {.colour = p.ink_soft, .size = 12});
    }

    static void pump_plot(Canvas& c, Box outer, const view::Snapshot& s, const view::Palette& p) {
        paint::title(c, {outer.x + 56, outer.y + 12}, "Pump and main", p.ink_soft);
        outer.cut_top(16);
        Box foot = outer.cut_bottom(20);
        const Box inner = plot_inside(outer, true);
        const double flow = std::max(s.pump_curve.x.back(), s.main_curve.x.empty() ? 0.0 : s.main_curve.x.back());
        // A displacement pump pushes far above any head it will meet: then the page ends at three times what the main asks.
        const double asked = std::max({1.1 * s.static_head_m, s.head_m, top_of(s.main_curve.y), 1.0});
        const double head = std::min(std::max(top_of(s.pump_curve.y), asked), 3 * asked);
        const Axes axes{{0, std::max(flow, 0.01), 0, view::pleasant({0, 1.05 * head}).high, inner}, "m³/h", "m", true, 6, 4};
        draw_axes(c, axes, p);
        draw_curve(c, axes.area, s.pump_curve.x, s.pump_curve.y, {.colour = p.signal[0].colour, .width = 2});
        draw_curve(c, axes.area, s.main_curve.x, s.main_curve.y, {.colour = p.signal[1].colour, .width = 2, .style = p.signal[1].style});
        const auto name = [&](const view::Curve& curve, double share, double up, const std::string& words) {
            // At the first point of the curve that is on the page and `share` of the way along it.
            for (std::size_t n = 0; n < curve.y.size(); ++n)
                if (curve.x[n] >= share * flow && curve.y[n] <= 0.86 * axes.area.y_high)
                    return (void)c.text({axes.area.x(curve.x[n]) + 8, axes.area.y(curve.y[n]) + up}, words, {.colour = p.ink, .size = 12, .halo = p.sheet});
        };
        name(s.pump_curve, 0.3, -8, fmt::format("pump at {:.0f} rpm", s.now.speed * 60 / (2 * 3.14159265358979)));
        name(s.main_curve, 0.04, 16, "main, water level and outlet");
        point(c, axes.area, s.flow_m3_h, s.head_m, fmt::format("now {:.3g} m³/h, {:.3g} m", s.flow_m3_h, s.head_m), p, s.flow_m3_h > 0.5 * flow);
        c.text({inner.x, foot.y + 14}, fmt::format("water {:.1f} m down, to be lifted {:.1f} m", s.water_level_m, s.static_head_m), {.colour = p.ink_soft, .size = 12});
    }
};

}  // namespace

std::unique_ptr<shell::Panel> curves() { return std::make_unique<Curves>(); }

}  // namespace sunshaft::panels
