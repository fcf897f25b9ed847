// Curves: what the array can give and what it gives; what the pump can lift and what the main asks.
#include <fmt/format.h>

#include <algorithm>
#include <cmath>
#include <vector>

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

double top_of(const std::vector<double>& y) {
    double most = 0.0;
    for (const double v : y) most = std::max(most, v);
    return most;
}

class Curves : public Panel {
  public:
    Place place() const override { return Place::strip; }
    const char* title() const override { return text::id("Curves"); }
    void draw(PanelContext& x) override {
        if (!x.desk) return;
        const auto s = x.desk->snapshot();
        Canvas c = x.canvas();
        const view::Palette& p = x.palette();
        Box rest = x.box.inset(8, 4);
        const bool array = s->array_current.x.size() > 1, pump = s->pump_curve.x.size() > 1;
        if (!array && !pump) {
            c.text({rest.x + 16, rest.y + 28},
                   s->hidden ? text::tr("Closed: faults are hidden. Measure instead.")
                             : text::tr("No array and no pump on this site: nothing to draw a curve of."),
                   {.colour = p.ink_soft});
            return;
        }
        if (array) array_plot(x, c, pump ? rest.cut_left(rest.w / 2) : rest, *s, p);
        if (pump) pump_plot(x, c, rest, *s, p);
    }

    std::string csv(const view::Desk& desk) const override {
        const auto s = desk.snapshot();
        std::vector<view::Column> columns;
        const auto add = [&](const view::Curve& curve, const char* x, const char* y) {
            if (!curve.x.empty()) columns.push_back({x, curve.x}), columns.push_back({y, curve.y});
        };
        add(s->array_current, "link [V]", "array [A]");
        add(s->array_power, "link [V]", "array [W]");
        add(s->pump_curve, "flow [m3/h]", "pump [m]");
        add(s->main_curve, "flow [m3/h]", "main [m]");
        add(s->healthy_array_current, "healthy link [V]", "healthy array [A]");
        add(s->healthy_array_power, "healthy link [V]", "healthy array [W]");
        add(s->healthy_pump_curve, "healthy flow [m3/h]", "healthy pump [m]");
        add(s->healthy_main_curve, "healthy flow [m3/h]", "healthy main [m]");
        return view::columns_to_csv(columns);
    }

  private:
    // Returns where its words stand, inside the plot.
    static Box point(Canvas& c, const view::PlotArea& a, double x, double y, const std::string& words,
                     const view::Palette& p, bool left) {
        const view::Point at{a.x(x), a.y(y)};
        c.line({a.box.x, at.y}, at, {.colour = p.accent, .width = 1, .style = view::LineStyle::dashed});
        c.line({at.x, a.box.bottom()}, at, {.colour = p.accent, .width = 1, .style = view::LineStyle::dashed});
        c.disc(at, 4.5, p.accent);
        const paint::TextLook look{.colour = p.accent, .size = 12, .face = Face::strong, .halo = p.sheet};
        const double wide = c.width(words, look);
        const double from = std::clamp(left ? at.x - 10 - wide : at.x + 10, a.box.x + 4,
                                       std::max(a.box.x + 4, a.box.right() - wide - 4));
        const double base = std::clamp(at.y + (at.y < a.box.y + 24 ? 18.0 : -8.0), a.box.y + 14, a.box.bottom() - 6);
        c.text({from, base}, words, look);
        return {from - 2, base - 12, wide + 4, 16};
    }

    // The healthy curve in grey behind the site's; or each on its side of the wipe.
    static void both(const PanelContext& x, Canvas& c, const view::Snapshot& s, const view::PlotArea& area,
                     const view::Curve& healthy, const view::Curve& own, const paint::Stroke& look,
                     const view::Palette& p) {
        const auto halves = wiped(x, s, area.box);
        if (!halves) {
            draw_curve(c, area, healthy.x, healthy.y, {.colour = p.ghost, .width = 1.2});
            return draw_curve(c, area, own.x, own.y, look);
        }
        for (const auto& [part, curve] : {std::pair{halves->healthy, &healthy}, {halves->site, &own}}) {
            const auto clip = c.clip(part);
            draw_curve(c, area, curve->x, curve->y, look);
        }
        wipe_line(x, area.box);
    }

    // Room for a plot under its title, and for the line of words below it.
    struct Framed {
        Box inner, foot;
    };
    static Framed framed(Canvas& c, Box outer, const char* title, const view::Palette& p) {
        paint::title(c, {outer.x + 56, outer.y + 12}, title, p.ink_soft);
        outer.cut_top(16);
        const Box foot = outer.cut_bottom(20);
        return {plot_inside(outer, true), foot};
    }

    static void array_plot(const PanelContext& x, Canvas& c, Box outer, const view::Snapshot& s,
                           const view::Palette& p) {
        const Framed plot = framed(c, outer, text::tr("Array at the link"), p);
        const Box& inner = plot.inner;
        const auto end = [](const view::Curve& curve) { return curve.x.empty() ? 0.0 : curve.x.back(); };
        const double volts = std::max(end(s.array_current), end(s.healthy_array_current)),
                     amps = 1.08 * std::max({top_of(s.array_current.y), top_of(s.healthy_array_current.y), 0.1});
        const Axes axes{{0, volts, 0, view::pleasant({0, amps}).high, inner}, "V", "A", true, 6, 4};
        draw_axes(c, axes, p);
        const paint::Stroke current{.colour = p.signal[0].colour, .width = 2};
        both(x, c, s, axes.area, s.healthy_array_current, s.array_current, current, p);
        view::PlotArea power = axes.area;
        power.y_high = 1.15 * std::max({top_of(s.array_power.y), top_of(s.healthy_array_power.y), 1.0});
        both(x, c, s, power, s.healthy_array_power, s.array_power,
             {.colour = p.signal[4].colour, .width = 2, .style = p.signal[4].style}, p);
        const Box now = point(c, axes.area, s.array_V, s.array_A,
                              text::say("now {}, {}", view::figure(s.array_V, "V", 3).text(),
                                        view::figure(std::abs(s.array_A) < 5e-4 ? 0.0 : s.array_A, "A", 3).text()),
                              p, s.array_V > 0.4 * volts);
        const auto free = [&](const Box& b) {
            return !(b.x < now.right() && now.x < b.right() && b.y < now.bottom() && now.y < b.bottom());
        };
        const double named = axes.area.y(top_of(s.array_current.y)) + 16;
        if (free({inner.x + 8, named - 12, 50, 16}))
            c.text({inner.x + 8, named}, text::tr("current"), {.colour = p.ink, .size = 12, .halo = p.sheet});
        if (s.best_W > 0) {
            const view::Point best{power.x(s.best_V), power.y(s.best_W)};
            c.circle(best, 4.5, {.colour = p.ink, .width = 1.2});
            const std::string words =
                text::say("most power, {} at {}", text::quantity(s.best_W, "W", 3), text::quantity(s.best_V, "V", 3));
            const paint::TextLook look{.colour = p.ink, .size = 12, .halo = p.sheet};
            const double wide = c.width(words, look),
                         from = std::clamp(best.x - 10 - wide, inner.x + 4, inner.right() - wide - 4);
            for (const double base : {best.y - 7, best.y + 18, best.y - 24, best.y + 36})
                if (base - 12 > inner.y && base + 4 < inner.bottom() && free({from - 2, base - 12, wide + 4, 16}) &&
                    !(base == best.y - 7 && std::abs(base - named) < 15 && from < inner.x + 60)) {
                    c.text({from, base}, words, look);
                    break;
                }
        }
        const double taken = s.array_V * s.array_A;
        if (s.best_W > 0)
            c.text({inner.x, plot.foot.y + 14},
                   text::say_of(s.healthy_array_current.x.empty() || x.window.wipe
                                    ? text::id("{} on offer, {} taken: {}")
                                    : text::id("{} on offer, {} taken: {}; grey: healthy"),
                                view::figure(s.best_W, "W", 3).text(), view::figure(taken, "W", 3).text(),
                                view::percent(taken / s.best_W, 2)),
                   {.colour = p.ink_soft, .size = 12});
    }

    static void pump_plot(const PanelContext& x, Canvas& c, Box outer, const view::Snapshot& s,
                          const view::Palette& p) {
        const Framed plot = framed(c, outer, text::tr("Pump and main"), p);
        const Box& inner = plot.inner;
        const double flow = std::max(s.pump_curve.x.back(), s.main_curve.x.empty() ? 0.0 : s.main_curve.x.back());
        // A displacement pump pushes far above any head it will meet: then the page ends at three times what the main
        // asks.
        const double asked = std::max({1.1 * s.static_head_m, s.head_m, top_of(s.main_curve.y), 1.0});
        const double head = std::min(std::max(top_of(s.pump_curve.y), asked), 3 * asked);
        const Axes axes{
            {0, std::max(flow, 0.01), 0, view::pleasant({0, 1.05 * head}).high, inner}, "m³/h", "m", true, 6, 4};
        draw_axes(c, axes, p);
        both(x, c, s, axes.area, s.healthy_pump_curve, s.pump_curve, {.colour = p.signal[0].colour, .width = 2}, p);
        both(x, c, s, axes.area, s.healthy_main_curve, s.main_curve,
             {.colour = p.signal[1].colour, .width = 2, .style = p.signal[1].style}, p);
        const std::string now = text::say("now {} m³/h, {}", text::figure(s.flow_m3_h, "m3/h", 3).number,
                                          text::figure(s.head_m, "m", 3).text());
        std::vector<Box> taken{point(c, axes.area, s.flow_m3_h, s.head_m, now, p, s.flow_m3_h > 0.5 * flow)};
        const auto name = [&](const view::Curve& curve, double share, double up, const std::string& words) {
            // At the first point of the curve that is on the page, `share` of the way along it, and where the words
            // have room.
            const paint::TextLook look{.colour = p.ink, .size = 12, .halo = p.sheet};
            const double wide = c.width(words, look);
            for (std::size_t n = 0; n < curve.y.size(); ++n) {
                if (curve.x[n] < share * flow || curve.y[n] > 0.86 * axes.area.y_high) continue;
                const view::Point at{std::min(axes.area.x(curve.x[n]) + 8, inner.right() - wide - 6),
                                     axes.area.y(curve.y[n]) + up};
                const Box place{at.x - 2, at.y - 12, wide + 4, 16};
                const auto meets = [&](const Box& b) {
                    return b.x < place.right() && place.x < b.right() && b.y < place.bottom() && place.y < b.bottom();
                };
                if (place.y < inner.y || place.bottom() > inner.bottom() || std::ranges::any_of(taken, meets)) continue;
                c.text(at, words, look);
                taken.push_back(place);
                return;
            }
        };
        name(s.pump_curve, 0.3, -8,
             text::say("pump at {}", text::figure_at(s.now.speed * 60 / (2 * 3.14159265358979), "rpm", 1).text()));
        name(s.main_curve, 0.04, 16, text::tr("main, water level and outlet"));
        c.text({inner.x, plot.foot.y + 14},
               text::say("water {} down, to be lifted {}", text::figure_at(s.water_level_m, "m", 0.1).text(),
                         text::figure_at(s.static_head_m, "m", 0.1).text()),
               {.colour = p.ink_soft, .size = 12});
    }
};

}  // namespace

std::unique_ptr<shell::Panel> curves() { return std::make_unique<Curves>(); }

}  // namespace sunshaft::panels
