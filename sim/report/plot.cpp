#include "report/plot.hpp"

#include <cairo.h>
#include <fmt/format.h>

#include <algorithm>
#include <array>
#include <cmath>
#include <limits>
#include <stdexcept>

#include "report/pen.hpp"
#include "text/language.hpp"
#include "trace/statistics.hpp"

namespace sunshaft::report {
namespace {

// Numbers of an axis share one prefix and as many decimals as the step needs.
struct Axis {
    double factor = 1.0;
    std::string unit;
    int decimals = 0;
    Axis(double low, double high, double step, const std::string& base) {
        const double most = std::max(std::fabs(low), std::fabs(high));
        unit = base;
        if (base == "s" || base == "V" || base == "A" || base == "W") {
            if (most >= 2000.0 && base != "s") factor = 1e-3, unit = "k" + base;
            else if (most < 1e-3) factor = 1e6, unit = "\u00b5" + base;
            else if (most < 1.0) factor = 1e3, unit = "m" + base;
        }
        decimals = std::clamp(static_cast<int>(std::ceil(-std::log10(step * factor) - 1e-9)), 0, 6);
    }
    std::string words(double v) const { return fmt::format("{:.{}f}", v * factor == 0.0 ? 0.0 : v * factor, decimals); }
};

std::pair<double, double> with_margin(double low, double high) {
    if (!(high > low)) {
        const double m = std::max(1e-9, 0.1 * std::fabs(high));
        return {low - m, high + m};
    }
    return {low - 0.06 * (high - low), high + 0.06 * (high - low)};
}

void frame_of(Pen& pen, const Panel& panel, const Box& box) {
    pen.colour(ink);
    cairo_select_font_face(pen.raw(), "Inter", CAIRO_FONT_SLANT_NORMAL, CAIRO_FONT_WEIGHT_BOLD);
    pen.text(box.x, box.y - 26, panel.title, 12.5);
    cairo_select_font_face(pen.raw(), "Inter", CAIRO_FONT_SLANT_NORMAL, CAIRO_FONT_WEIGHT_NORMAL);
}

// Names with a sample of their line, on one row above the panel.
void legend(Pen& pen, const std::vector<std::string>& names, const Box& box, bool bars) {
    if (names.size() < 2) return;
    double x = box.x;
    for (std::size_t k = 0; k < names.size(); ++k) {
        pen.colour(series[k % series.size()], bars && k == 1 ? 0.55 : 1.0);
        if (bars) {
            cairo_rectangle(pen.raw(), x, box.y - 16, 10, 8);
            cairo_fill(pen.raw());
        } else {
            pen.dash(k);
            pen.line(x, box.y - 12, x + 22, box.y - 12, 1.6);
            pen.no_dash();
        }
        x += bars ? 14 : 27;
        pen.colour(ink);
        pen.text(x, box.y - 8.5, names[k], 10.5);
        x += pen.width(names[k], 10.5) + 18;
    }
}

void grid(Pen& pen, const Box& box, const Scale& sx, const std::vector<double>& xt, const Axis& ax, const Scale& sy,
          const std::vector<double>& yt, const Axis& ay) {
    for (const double v : yt) {
        pen.colour(faint);
        pen.line(box.x, sy(v), box.x + box.w, sy(v), v == 0.0 ? 1.4 : 0.7);
        pen.colour(soft);
        pen.text(box.x - 6, sy(v) + 3.5, ay.words(v), 10, 1.0);
    }
    for (const double v : xt) {
        pen.colour(faint);
        pen.line(sx(v), box.y, sx(v), box.y + box.h, 0.7);
        pen.colour(soft);
        pen.text(sx(v), box.y + box.h + 14, ax.words(v), 10, 0.5);
    }
    pen.colour(soft);
    pen.text(box.x - 6, box.y - 9, ay.unit, 10, 1.0);
    pen.text(box.x + box.w, box.y + box.h + 28, ax.unit, 10, 1.0);
}

void draw_waves(Pen& pen, const Panel& panel, const Box& box) {
    double t0 = std::numeric_limits<double>::infinity(), t1 = -t0, low = t0, high = -t0;
    std::vector<std::string> names;
    for (const Wave& w : panel.waves) {
        const trace::Statistics s = trace::statistics(w.trace);
        t0 = std::min(t0, trace::start(w.trace));
        t1 = std::max(t1, trace::finish(w.trace));
        low = std::min(low, s.min);
        high = std::max(high, s.max);
        names.push_back(w.name);
    }
    const auto [from, to] = with_margin(low, high);
    const Scale sx{t0, t1, box.x, box.x + box.w}, sy{from, to, box.y + box.h, box.y};
    const auto xt = tick_marks(t0, t1, 10), yt = tick_marks(from, to, 6);
    grid(pen, box, sx, xt, Axis(t0, t1, xt.size() > 1 ? xt[1] - xt[0] : 1.0, "s"), sy, yt,
         Axis(from, to, yt.size() > 1 ? yt[1] - yt[0] : 1.0, panel.y_unit));
    cairo_save(pen.raw());
    cairo_rectangle(pen.raw(), box.x, box.y, box.w, box.h);
    cairo_clip(pen.raw());
    cairo_set_line_join(pen.raw(), CAIRO_LINE_JOIN_BEVEL);
    for (std::size_t k = 0; k < panel.waves.size(); ++k) {
        bool first = true;
        for (const trace::Segment& s : thinned(panel.waves[k].trace, static_cast<int>(2 * box.w))) {
            if (first) cairo_move_to(pen.raw(), sx(s.t0), sy(s.y0));
            else cairo_line_to(pen.raw(), sx(s.t0), sy(s.y0));
            cairo_line_to(pen.raw(), sx(s.t1), sy(s.y1));
            first = false;
        }
        pen.colour(series[k % series.size()]);
        pen.dash(k);
        cairo_set_line_width(pen.raw(), 1.25);
        cairo_stroke(pen.raw());
        pen.no_dash();
    }
    cairo_restore(pen.raw());
    legend(pen, names, box, false);
}

void draw_bars(Pen& pen, const Panel& panel, const Box& box) {
    double high = 0.0;
    std::size_t orders = 1;
    std::vector<std::string> names;
    for (const Bars& b : panel.bars) {
        names.push_back(b.name);
        orders = std::max(orders, b.heights.size());
        for (const double h : b.heights) high = std::max(high, h);
    }
    if (high <= 0.0) high = 1.0;
    const Scale sx{0.3, static_cast<double>(orders) + 0.7, box.x, box.x + box.w},
        sy{0.0, 1.06 * high, box.y + box.h, box.y};
    std::vector<double> xt;
    for (std::size_t n = 1; n <= orders; n += 2)
        if (orders <= 25 || n % 6 == 1 || n % 6 == 5) xt.push_back(static_cast<double>(n));
    const auto yt = tick_marks(0.0, 1.06 * high, 6);
    Axis ax(0.0, 50.0, 1.0, "order");
    grid(pen, box, sx, xt, ax, sy, yt, Axis(0.0, high, yt.size() > 1 ? yt[1] - yt[0] : 1.0, panel.y_unit));
    const double room = 0.76 * (sx(2.0) - sx(1.0)), each = room / static_cast<double>(panel.bars.size());
    for (std::size_t k = 0; k < panel.bars.size(); ++k) {
        pen.colour(series[k % series.size()], k == 1 ? 0.55 : 1.0);
        for (std::size_t n = 0; n < panel.bars[k].heights.size(); ++n) {
            const double x = sx(static_cast<double>(n + 1)) - 0.5 * room + static_cast<double>(k) * each,
                         y = sy(panel.bars[k].heights[n]);
            cairo_rectangle(pen.raw(), x, y, each, box.y + box.h - y);
        }
        cairo_fill(pen.raw());
    }
    legend(pen, names, box, true);
}

void draw_paths(Pen& pen, const Panel& panel, const Box& box) {
    double most = 0.0;
    std::vector<std::string> names;
    for (const Path& p : panel.paths) {
        names.push_back(p.name);
        for (const trace::Trace* t : {&p.x, &p.y})
            for (const trace::Segment& s : *t) most = std::max({most, std::fabs(s.y0), std::fabs(s.y1)});
    }
    most = most > 0.0 ? 1.1 * most : 1.0;
    const double side = std::min(box.w, box.h);
    const Box square{box.x + 0.5 * (box.w - side), box.y, side, side};
    const Scale sx{-most, most, square.x, square.x + side}, sy{-most, most, square.y + side, square.y};
    const auto ticks = tick_marks(-most, most, 6);
    const Axis axis(-most, most, ticks.size() > 1 ? ticks[1] - ticks[0] : 1.0, panel.y_unit);
    grid(pen, square, sx, ticks, axis, sy, ticks, axis);
    cairo_save(pen.raw());
    cairo_rectangle(pen.raw(), square.x, square.y, side, side);
    cairo_clip(pen.raw());
    for (std::size_t k = 0; k < panel.paths.size(); ++k) {
        const Path& p = panel.paths[k];
        for (std::size_t n = 0; n < p.x.size(); ++n) {
            if (n == 0) cairo_move_to(pen.raw(), sx(p.x[n].y0), sy(p.y[n].y0));
            else cairo_line_to(pen.raw(), sx(p.x[n].y0), sy(p.y[n].y0));
            cairo_line_to(pen.raw(), sx(p.x[n].y1), sy(p.y[n].y1));
            if (n % 20000 == 19999) {  // a path without end would take for ever to stroke
                pen.colour(series[k % series.size()]);
                cairo_set_line_width(pen.raw(), 0.8);
                cairo_stroke(pen.raw());
                cairo_move_to(pen.raw(), sx(p.x[n].y1), sy(p.y[n].y1));
            }
        }
        pen.colour(series[k % series.size()]);
        pen.dash(k);
        cairo_set_line_width(pen.raw(), 1.0);
        cairo_stroke(pen.raw());
        pen.no_dash();
    }
    cairo_restore(pen.raw());
    legend(pen, names, square, false);
}

void finite(const std::string& path, const Panel& p) {
    const auto fail = [&](const std::string& name) {
        throw std::invalid_argument(text::say("{}: {}: holds values that do not exist, nothing drawn", path, name));
    };
    for (const Wave& w : p.waves)
        for (const trace::Segment& s : w.trace)
            if (!std::isfinite(s.y0) || !std::isfinite(s.y1)) fail(w.name);
    for (const Bars& b : p.bars)
        for (const double h : b.heights)
            if (!std::isfinite(h)) fail(b.name);
    for (const Path& q : p.paths)
        for (const trace::Trace* t : {&q.x, &q.y})
            for (const trace::Segment& s : *t)
                if (!std::isfinite(s.y0) || !std::isfinite(s.y1)) fail(q.name);
}

}  // namespace

bool is_plot(const std::string& ending) { return ending == ".svg" || ending == ".pdf" || ending == ".png"; }

std::vector<double> tick_marks(double low, double high, int most) {
    std::vector<double> out;
    if (!(high > low) || most < 1) return out;
    const double rough = (high - low) / most, power = std::pow(10.0, std::floor(std::log10(rough)));
    const double step = power * (rough <= power ? 1.0 : rough <= 2.0 * power ? 2.0 : rough <= 5.0 * power ? 5.0 : 10.0);
    for (double k = std::ceil(low / step - 1e-9); k * step <= high + 1e-9 * step; k += 1.0)
        out.push_back(k == 0.0 ? 0.0 : k * step);
    return out;
}

trace::Trace thinned(trace::View trace, int columns) {
    if (trace.size() <= static_cast<std::size_t>(4 * columns)) return {trace.begin(), trace.end()};
    trace::Trace out;
    const double begin = trace::start(trace), width = trace::duration(trace) / columns;
    std::size_t row = 0;
    for (int c = 0; c < columns && row < trace.size(); ++c) {
        const double end = c + 1 == columns ? trace::finish(trace) : begin + width * (c + 1);
        const std::size_t from = row;
        double low = trace[row].y0, high = low;
        for (; row < trace.size() && (trace[row].t1 <= end || row == from); ++row) {
            low = std::min({low, trace[row].y0, trace[row].y1});
            high = std::max({high, trace[row].y0, trace[row].y1});
        }
        const double t0 = trace[from].t0, t1 = trace[row - 1].t1, d = (t1 - t0) / 3.0;
        out.push_back({t0, t0 + d, trace[from].y0, low});
        out.push_back({t0 + d, t1 - d, low, high});
        out.push_back({t1 - d, t1, high, trace[row - 1].y1});
    }
    return out;
}

void write_plot(const std::string& path, const std::string& title, const std::vector<Panel>& panels, int columns) {
    if (panels.empty()) throw std::invalid_argument(fmt::format("{}: nothing to draw", path));
    for (const Panel& p : panels) finite(path, p);
    const int rows = (static_cast<int>(panels.size()) + columns - 1) / columns;
    const double each_w = columns == 1 ? 900.0 : 520.0, each_h = columns == 1 ? 250.0 : 330.0;
    const double wide = columns * each_w + 20.0, high = rows * each_h + 50.0;

    write_page(path, wide, high, [&](Pen& pen) {
        pen.text(24, 28, title, 15);
        for (std::size_t k = 0; k < panels.size(); ++k) {
            const int column = static_cast<int>(k) % columns, row = static_cast<int>(k) / columns;
            const double left = 10.0 + column * each_w, top = 40.0 + row * each_h;
            const Box box{left + 62.0, top + 48.0, each_w - 90.0, each_h - 92.0};
            frame_of(pen, panels[k], box);
            if (!panels[k].waves.empty()) draw_waves(pen, panels[k], box);
            if (!panels[k].bars.empty()) draw_bars(pen, panels[k], box);
            if (!panels[k].paths.empty()) draw_paths(pen, panels[k], box);
        }
    });
}

}  // namespace sunshaft::report
