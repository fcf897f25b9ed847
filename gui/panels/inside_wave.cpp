#include "panels/inside_wave.hpp"

#include <algorithm>
#include <cmath>
#include <numbers>

#include "model/format.hpp"
#include "model/wave_figures.hpp"
#include "paint/marks.hpp"
#include "shell/widgets.hpp"
#include "text/language.hpp"
#include "trace/harmonics.hpp"

namespace sunshaft::panels {
namespace {

using namespace shell;
using view::Box;
using view::WaveFigure;

view::Figure shown_figure(const WaveFigure& item) {
    return item.value ? chain_figure(*item.value, item.unit, item.unit.empty() ? 3 : 4)
                      : view::Figure{text::tr("none"), ""};
}

paint::ValueLook value_look(const view::Palette& p, double size) {
    return {.number = p.ink, .unit = p.ink_soft, .size = size, .face = Face::mono, .align = Align::left};
}

double room_for(const Canvas& c, const WaveFigure& item, double size, const view::Palette& p) {
    const view::Figure f = shown_figure(item);
    return 16 + std::max(c.width(item.name, {.colour = p.ink_soft, .size = 12}),
                         paint::value_width(c, f.number, f.unit, value_look(p, size)));
}

void wave_cell(PanelContext& x, const Box& box, const WaveFigure& item, double size, std::span<const Path> paths,
               Reasons& reasons) {
    const view::Palette& p = x.palette();
    Canvas c = x.canvas();
    if (item.value) reasons.wave_figure(x, box, item.figure, item.hint, paths);
    else hint(x, box, item.hint);
    const view::Figure f = shown_figure(item);
    const double name = c.text({box.x + 8, box.y + 15}, item.name, {.colour = p.ink_soft, .size = 12});
    if (!item.value) return void(c.text({box.x + 8, box.y + 33}, f.number, {.colour = p.ink_soft}));
    paint::value(c, {box.x + 8, box.y + 33}, f.number, f.unit, value_look(p, size));
    c.line({box.x + 8, box.y + 18.5}, {box.x + 8 + name, box.y + 18.5},
           {.colour = p.rule_strong, .style = view::LineStyle::dotted});
}

}  // namespace

void wave_row(PanelContext& x, const Box& row, std::span<const Path> paths, Reasons& reasons) {
    const std::vector<WaveFigure> items = view::wave_figures(*paths.front().reading);
    if (items.empty()) return;
    const view::Palette& p = x.palette();
    Canvas c = x.canvas();
    c.fill(row, p.band);
    // As many as have room for their names and figures, in the order of what matters; smaller figures before fewer.
    double size = 15;
    const auto all = [&](std::size_t count) {
        double sum = 0;
        for (std::size_t n = 0; n < count; ++n) sum += room_for(c, items[n], size, p);
        return sum;
    };
    if (all(items.size()) > row.w) size = 13;
    std::size_t count = items.size();
    while (count > 1 && all(count) > row.w) --count;
    const double spare = std::max(0.0, row.w - all(count)) / static_cast<double>(count);
    double left = row.x;
    for (std::size_t n = 0; n < count; ++n) {
        const Box box{left, row.y, room_for(c, items[n], size, p) + spare, row.h};
        left += box.w;
        wave_cell(x, box, items[n], size, paths, reasons);
    }
}

Box draw_wave_mark(Canvas& c, const view::PlotArea& area, const Link& l, const meter::Reading& r,
                   std::string_view figure, const view::Palette& p) {
    const view::WaveMark mark = view::wave_mark(figure, r);
    if (mark.empty() || l.kind != Link::Kind::wave || l.wave.empty() || !l.reach) return {};
    const auto clip = c.clip(area.box);
    double top = area.y(0.0), bottom = top;
    // Over whatever colour: with a rim of paper.
    const auto draw = [&](std::span<const view::Point> points) {
        for (const view::Point& at : points) top = std::min(top, at.y), bottom = std::max(bottom, at.y);
        c.polyline(points, {.colour = p.sheet, .width = 5.0});
        c.polyline(points, {.colour = p.accent, .width = 2.0});
    };
    for (const double level : mark.levels) {
        const view::Point ends[] = {{area.box.x, area.y(level)}, {area.box.right(), area.y(level)}};
        draw(ends);
    }
    if (mark.peak) {
        const trace::Segment* far = &l.wave.front();
        const auto most = [](const trace::Segment& s) { return std::max(std::abs(s.y0), std::abs(s.y1)); };
        for (const trace::Segment& s : l.wave)
            if (most(s) > most(*far)) far = &s;
        const bool first = std::abs(far->y0) >= std::abs(far->y1);
        const double at = area.x(first ? far->t0 : far->t1);
        const view::Point ends[] = {{at, area.y(0.0)}, {at, area.y(first ? far->y0 : far->y1)}};
        draw(ends);
        c.disc(ends[1], 5.5, p.sheet);
        c.disc(ends[1], 4.0, p.accent);
    }
    if (mark.fundamental) {
        // y = sqrt(2) |C| cos(omega t + arg C)
        const double hertz = r.truth.fundamental_Hz.value_or(1.0 / trace::duration(l.wave));
        const trace::Phasor sine = trace::phasor(l.wave, hertz);
        std::vector<view::Point> points;
        constexpr int steps = 64;
        for (int n = 0; n <= steps; ++n) {
            const double t = trace::start(l.wave) + trace::duration(l.wave) * n / steps;
            const double y =
                std::numbers::sqrt2 * std::abs(sine) * std::cos(2.0 * std::numbers::pi * hertz * t + std::arg(sine));
            points.push_back({area.x(t), area.y(y)});
        }
        draw(points);
    }
    if (mark.turn) {
        const double y = area.y(0.0), from = area.x(trace::start(l.wave)),
                     to = area.x(std::min(trace::finish(l.wave), trace::start(l.wave) + 1.0 / *r.truth.fundamental_Hz));
        const view::Point ends[] = {{from, y}, {to, y}};
        draw(ends);
        for (const view::Point& end : ends) c.arrow({0.5 * (from + to), y}, end, {.colour = p.accent, .width = 2.0});
        top -= 4.0, bottom += 4.0;
    }
    return Box{area.box.x, top, area.box.w, std::max(2.0, bottom - top)};
}

}  // namespace sunshaft::panels
