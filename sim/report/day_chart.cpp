#include "report/day_chart.hpp"

#include <fmt/format.h>

#include <algorithm>
#include <cmath>
#include <functional>
#include <numbers>
#include <stdexcept>

#include "report/pen.hpp"
#include "report/plot.hpp"
#include "text/figure.hpp"
#include "text/language.hpp"

namespace sunshaft::report {
namespace {

using day::Mark;
using drive::Phase;
using text::id, text::say, text::tr;

constexpr double wide = 900.0, left = 96.0, right = 24.0, size = 10.5;

// What a phase is drawn with: a colour and a hatch that tells it from its neighbours without one.
struct Lit {
    const char* words;
    Colour colour;
    int hatch;
};
Lit lit(Phase phase, bool standing) {
    if (standing) return {id("output on, shaft at rest"), {0.55, 0.1, 0.1}, 3};
    switch (phase) {
        case Phase::off:
        case Phase::charging: return {id("dark"), {0.85, 0.86, 0.88}, 0};
        case Phase::stopped: return {id("run switch off"), {0.6, 0.62, 0.66}, 1};
        case Phase::waiting_for_sun: return {id("waiting for sun"), {0.95, 0.8, 0.4}, 1};
        case Phase::soft_start:
        case Phase::running: return {id("running"), {0.35, 0.72, 0.55}, 0};
        case Phase::ceiling: return {id("at the speed ceiling"), {0.0, 0.5, 0.38}, 0};
        case Phase::dry_hold: return {id("dry-run hold"), {0.8, 0.475, 0.655}, 2};
        case Phase::tank_hold: return {id("tank hold"), {0.35, 0.62, 0.85}, 2};
        case Phase::tripped: return {id("tripped"), {0.835, 0.369, 0.0}, 3};
        case Phase::locked: return {id("locked out"), {0.5, 0.15, 0.0}, 3};
        case Phase::latched: return {id("control latched up"), {0.3, 0.1, 0.4}, 3};
    }
    return {"", ink, 0};
}

void fill(Pen& pen, const Box& b, const Lit& look) {
    cairo_t* c = pen.raw();
    pen.colour(look.colour);
    cairo_rectangle(c, b.x, b.y, b.w, b.h);
    cairo_fill(c);
    if (look.hatch == 0) return;
    cairo_save(c);
    cairo_rectangle(c, b.x, b.y, b.w, b.h);
    cairo_clip(c);
    cairo_set_source_rgba(c, 1, 1, 1, 0.75);
    const double step = look.hatch == 1 ? 7 : 5;
    for (double x = b.x - b.h - std::fmod(b.x, step); x < b.x + b.w; x += step) {
        if (look.hatch != 2) pen.line(x, b.y + b.h, x + b.h, b.y, 1.0);
        if (look.hatch != 1) pen.line(x, b.y, x + b.h, b.y + b.h, 1.0);
    }
    cairo_restore(c);
}

struct Row {
    const char* title;
    const char* unit;
    double factor;
    std::function<double(const Mark&)> value;
    std::function<double(const Mark&)> area = {};  // drawn faint behind
};

class Chart {
  public:
    Chart(Pen& pen, double begin, double end, double offset_s)
        : pen_(pen), x_{begin, end, left, wide - right}, offset_s_(offset_s) {}

    void hours(double top, double bottom) {
        const double span_h = (x_.high - x_.low) / 3600, step = (span_h > 60   ? 24
                                                                 : span_h > 30 ? 6
                                                                 : span_h > 9  ? 2
                                                                               : 1) *
                                                                3600;
        for (double t = std::ceil((x_.low + offset_s_) / step) * step - offset_s_; t <= x_.high + 1; t += step) {
            pen_.colour(faint);
            pen_.line(x_(t), top, x_(t), bottom, 0.7);
            pen_.colour(soft);
            const double hour = std::round(std::fmod(t + offset_s_, 86400.0) / 3600);
            pen_.text(x_(t), bottom + 13,
                      step >= 86400 ? fmt::format("{:.0f}", (t - x_.low) / 86400)
                                    : fmt::format("{:.0f}", t >= x_.high - 1 && hour == 0 ? 24.0 : hour),
                      10, 0.5);
        }
        pen_.colour(soft);
        pen_.text(wide - right, bottom + 26, x_.high - x_.low > 60 * 3600 ? tr("days") : tr("hours by the clock there"),
                  10, 1.0);
    }

    void row(const Row& r, double top, double high, const std::vector<DayLine>& lines) {
        double most = 0.0;
        for (const DayLine& l : lines)
            for (const Mark& m : l.result->marks) most = std::max(most, r.factor * r.value(m));
        const std::vector<double> ticks = tick_marks(0.0, std::max(most, 1e-9) * 1.05, 4);
        const Scale y{0.0, std::max(most, 1e-9) * 1.08, top + high, top};
        const double step = ticks.size() > 1 ? ticks[1] - ticks[0] : most;
        for (const double v : ticks) {
            pen_.colour(faint);
            pen_.line(left, y(v), wide - right, y(v), v == 0.0 ? 1.3 : 0.7);
            pen_.colour(soft);
            pen_.text(left - 6, y(v) + 3.5, text::fixed(v, text::decimals_of(step)), 10, 1.0);
        }
        pen_.colour(ink);
        pen_.text(10, top + 10, tr(r.title), size);
        pen_.colour(soft);
        pen_.text(10, top + 24, r.unit, 10);
        for (std::size_t k = lines.size(); k-- > 0;) {
            pen_.colour(series[k % series.size()]);
            pen_.dash(k == 0 ? 0 : 1 + (k - 1) % 5);
            curve(
                lines[k].result->marks, [&](const Mark& m) { return y(r.factor * r.value(m)); }, k == 0 ? 1.5 : 1.2);
            pen_.no_dash();
        }
    }

    // A strip of one line's phases.
    void lamps(const std::vector<Mark>& marks, double top, double high, std::vector<Lit>& seen) {
        for (std::size_t n = 0; n < marks.size(); ++n) {
            std::size_t last = n;
            const auto alike = [&](const Mark& m) {
                return m.gap == marks[n].gap && (m.gap || std::string(lit(m.phase, m.standing).words) ==
                                                              lit(marks[n].phase, marks[n].standing).words);
            };
            while (last + 1 < marks.size() && alike(marks[last + 1])) ++last;
            const double from = x_(marks[n].t), to = last + 1 < marks.size() ? x_(marks[last + 1].t) : x_.to;
            if (marks[n].gap) {
                pen_.colour(soft);
                pen_.line(from, top + high / 2, to, top + high / 2, 0.7);
            } else {
                const Lit look = lit(marks[n].phase, marks[n].standing);
                fill(pen_, {from, top, std::max(to - from, 0.4), high}, look);
                if (std::none_of(seen.begin(), seen.end(),
                                 [&](const Lit& l) { return std::string(l.words) == look.words; }))
                    seen.push_back(look);
            }
            n = last;
        }
    }

    // Steps: a mark holds until the next one.
    void curve(const std::vector<Mark>& marks, const std::function<double(const Mark&)>& y, double thick) {
        cairo_t* c = pen_.raw();
        cairo_set_line_width(c, thick);
        bool down = false;
        for (std::size_t n = 0; n < marks.size(); ++n) {
            if (marks[n].gap) {
                down = false;
                continue;
            }
            const double middle = n + 1 < marks.size() ? 0.5 * (marks[n].t + marks[n + 1].t) : marks[n].t;
            if (down) cairo_line_to(c, x_(middle), y(marks[n]));
            else cairo_move_to(c, x_(middle), y(marks[n]));
            down = true;
        }
        cairo_stroke(c);
    }
    const Scale& x() const { return x_; }

  private:
    Pen& pen_;
    Scale x_;
    double offset_s_;
};

}  // namespace

void write_day_chart(const std::string& path, const std::string& title, const std::string& under, double offset_h,
                     const std::vector<DayLine>& lines, double tank_m3) {
    if (lines.empty() || lines.front().result->marks.size() < 2)
        throw std::invalid_argument(say("{}: nothing to draw", path));
    const std::vector<Row> rows = {
        {id("sun"), "W/m2", 1.0, [](const Mark& m) { return m.plane; }},
        {id("power"), "W", 1.0, [](const Mark& m) { return m.dc_W; }},
        {id("speed"), "rpm", 30 / std::numbers::pi, [](const Mark& m) { return std::abs(m.speed); }},
        {id("flow"), "m3/h", 3600.0, [](const Mark& m) { return std::max(m.out, 0.0); }},
        {id("tank"), "m3", tank_m3, [](const Mark& m) { return m.tank; }},
        {id("winding"), "degC", 1.0, [](const Mark& m) { return m.winding_degC; }},
    };
    constexpr double head = 76.0, row_h = 84.0, gap = 18.0, strip = 14.0;
    const double lamps_top = head + static_cast<double>(rows.size()) * (row_h + gap);
    const double bottom = lamps_top + static_cast<double>(lines.size()) * (strip + 4);
    const double high = bottom + 70.0;
    const auto& marks = lines.front().result->marks;
    const double last = marks.back().t + (marks.back().t - marks[marks.size() - 2].t);
    write_page(path, wide, high, [&](Pen& pen) {
        pen.text(10, 24, title, 15);
        pen.colour(soft);
        pen.text(10, 42, under, size);
        double at = 10.0;
        if (lines.size() > 1)
            for (std::size_t k = 0; k < lines.size(); ++k) {
                pen.colour(series[k % series.size()]);
                pen.dash(k == 0 ? 0 : 1 + (k - 1) % 5);
                pen.line(at, 56, at + 22, 56, 1.6);
                pen.no_dash();
                pen.colour(ink);
                pen.text(at + 27, 59.5, lines[k].name, size);
                at += 45 + pen.width(lines[k].name, size);
            }
        Chart chart(pen, marks.front().t, last, 3600 * offset_h);
        chart.hours(head, bottom);
        for (std::size_t n = 0; n < rows.size(); ++n)
            chart.row(rows[n], head + static_cast<double>(n) * (row_h + gap), row_h, lines);
        std::vector<Lit> seen;
        for (std::size_t k = 0; k < lines.size(); ++k)
            chart.lamps(lines[k].result->marks, lamps_top + static_cast<double>(k) * (strip + 4), strip, seen);
        pen.colour(ink);
        pen.text(10, lamps_top + 11, tr("drive"), size);
        double x = left, y = bottom + 36;
        for (const Lit& l : seen) {
            const double need = 34 + pen.width(tr(l.words), 10);
            if (x + need > wide - right) x = left, y += 16;
            fill(pen, {x, y - 8, 14, 9}, l);
            pen.colour(ink);
            pen.text(x + 19, y, tr(l.words), 10);
            x += need;
        }
    });
}

void write_cost_chart(const std::string& path, const std::string& title, const std::string& under,
                      const day::Costs& costs) {
    if (costs.list.empty()) throw std::invalid_argument(say("{}: nothing to draw", path));
    constexpr double head = 92.0, row_h = 17.0, names = 210.0, bar = 200.0;
    const double high = head + row_h * static_cast<double>(costs.list.size()) + 40.0;
    const double most = std::max(costs.healthy_year_m3, 1e-9);
    write_page(path, wide, high, [&](Pen& pen) {
        pen.text(10, 24, title, 15);
        pen.colour(soft);
        pen.text(10, 42, under, size);
        pen.text(10, 74, tr("fault"), size);
        pen.text(names, 74, say("water lost in a year, of {}", text::quantity(costs.healthy_year_m3, "m3", 3)), size);
        pen.text(names + bar + 20, 74, tr("what water does not show"), size);
        double y = head;
        for (const day::Cost& c : costs.list) {
            pen.colour(c.rank() == 3 ? Colour{0.7, 0.1, 0.05} : ink);
            pen.text(10, y + 11,
                     (c.rank() == 3 ? "! " : "") + c.fault.kind + (c.fault.place.empty() ? "" : "@" + c.fault.place),
                     size);
            const double share = std::clamp(c.year_lost_m3 / most, 0.0, 1.0);
            pen.colour(faint);
            cairo_rectangle(pen.raw(), names, y + 2, bar, 11);
            cairo_fill(pen.raw());
            pen.colour(series[0]);
            cairo_rectangle(pen.raw(), names, y + 2, bar * share, 11);
            cairo_fill(pen.raw());
            pen.colour(ink);
            const std::string words =
                !c.people.empty() ? c.people.front()
                : c.destroyed_s   ? say("{} after {}", c.destroyed_what, text::quantity(*c.destroyed_s / 3600, "h", 2))
                : c.heat_W >= 10  ? say("{} in {}", text::quantity(c.heat_W, "W", 2), c.heat_where)
                : !c.unprotected.empty() ? c.unprotected.front()
                                         : "";
            pen.text(names + bar + 20, y + 11, words, 10);
            y += row_h;
        }
    });
}

}  // namespace sunshaft::report
