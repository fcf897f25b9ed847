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

// A value that holds until the next point's time; of a gap none.
struct Point {
    double t = 0.0, value = 0.0;
    bool gap = false;
};
using Points = std::vector<Point>;
struct Row {
    const char* title;
    const char* unit;
    std::vector<Points> lines;
};

constexpr double long_days = 10.0;  // above, hours are too narrow to be seen: sums of days
constexpr double day_s = 86400.0;

Row of_marks(const char* title, const char* unit, const std::vector<DayLine>& lines,
             const std::function<double(const Mark&)>& value) {
    Row row{title, unit, {}};
    for (const DayLine& l : lines) {
        Points& points = row.lines.emplace_back();
        for (const Mark& m : l.result->marks) points.push_back({m.t, value(m), m.gap});
    }
    return row;
}

// value: of a day, and of what its marks came to.
struct Through {
    double runs_h = 0.0, hottest_degC = 0.0;
};
Row of_days(const char* title, const char* unit, const std::vector<DayLine>& lines, double offset_s,
            const std::function<double(const day::Day&, const Through&)>& value) {
    Row row{title, unit, {}};
    for (const DayLine& l : lines) {
        Points& points = row.lines.emplace_back();
        const auto& marks = l.result->marks;
        std::size_t n = 0;
        for (const day::Day& d : l.result->days) {
            const double begin = day::seconds_of(d.date) - offset_s, end = begin + day_s;
            Through t;
            for (; n < marks.size() && marks[n].t < end - 1; ++n) {
                const Mark& m = marks[n];
                if (m.gap) continue;
                const double until = n + 1 < marks.size() ? marks[n + 1].t : end;
                if (drive::turning(m.phase) && !m.standing) t.runs_h += (until - m.t) / 3600;
                t.hottest_degC = std::max(t.hottest_degC, m.winding_degC);
            }
            points.push_back({begin, value(d, t), d.gap_s > 0.5 * day_s});
        }
    }
    return row;
}

std::vector<Row> rows_of(const std::vector<DayLine>& lines, bool days, double offset_s, double tank_m3) {
    if (!days)
        return {of_marks(id("sun"), "W/m2", lines, [](const Mark& m) { return m.plane; }),
                of_marks(id("power"), "W", lines, [](const Mark& m) { return m.dc_W; }),
                of_marks(id("speed"), "rpm", lines,
                         [](const Mark& m) { return std::abs(m.speed) * 30 / std::numbers::pi; }),
                of_marks(id("flow"), "m3/h", lines, [](const Mark& m) { return 3600.0 * std::max(m.out, 0.0); }),
                of_marks(id("tank"), "m3", lines, [tank_m3](const Mark& m) { return tank_m3 * m.tank; }),
                of_marks(id("winding"), "degC", lines, [](const Mark& m) { return m.winding_degC; })};
    const auto of = [&](const char* title, const char* unit, auto value) {
        return of_days(title, unit, lines, offset_s, value);
    };
    return {of(id("sun"), "kWh/m2", [](const day::Day& d, const Through&) { return d.sun_kWh_m2; }),
            of(id("energy"), "kWh", [](const day::Day& d, const Through&) { return d.taken_J / 3.6e6; }),
            of(id("water"), "m3", [](const day::Day& d, const Through&) { return d.water_m3; }),
            of(id("running"), "h", [](const day::Day&, const Through& t) { return t.runs_h; }),
            of(id("starts"), "", [](const day::Day& d, const Through&) { return static_cast<double>(d.starts); }),
            of(id("winding"), "degC", [](const day::Day&, const Through& t) { return t.hottest_degC; })};
}

class Chart {
  public:
    Chart(Pen& pen, double begin, double end, double offset_s)
        : pen_(pen), x_{begin, end, left, wide - right}, offset_s_(offset_s) {}

    void tick(double t, const std::string& words, double top, double bottom) {
        pen_.colour(faint);
        pen_.line(x_(t), top, x_(t), bottom, 0.7);
        pen_.colour(soft);
        pen_.text(x_(t), bottom + 13, words, 10, 0.5);
    }

    // Months as they begin where there are several, else days.
    void dates(double top, double bottom) {
        const double span = (x_.high - x_.low) / day_s;
        const bool months = span > 62;
        const int every = months ? (span > 800 ? 6 : 1) : static_cast<int>(std::ceil(span / 12));
        int n = 0;
        for (double t = std::ceil((x_.low + offset_s_) / day_s) * day_s; t - offset_s_ < x_.high - 1; t += day_s) {
            const day::Date d = day::date_of(t + 1);
            if (months ? d.day == 1 && (d.month - 1) % every == 0 : n++ % every == 0)
                tick(t - offset_s_,
                     months ? tr(day::month_word(d.month)) : fmt::format("{:02d}-{:02d}", d.month, d.day), top, bottom);
        }
        pen_.colour(soft);
        pen_.text(wide - right, bottom + 26,
                  span > long_days ? tr("a figure a day; winding: the hottest of it") : tr("month and day"), 10, 1.0);
    }

    void hours(double top, double bottom) {
        const double span_h = (x_.high - x_.low) / 3600, step = (span_h > 30 ? 6 : span_h > 9 ? 2 : 1) * 3600;
        for (double t = std::ceil((x_.low + offset_s_) / step) * step - offset_s_; t <= x_.high + 1; t += step) {
            const double hour = std::round(std::fmod(t + offset_s_, day_s) / 3600);
            tick(t, fmt::format("{:.0f}", t >= x_.high - 1 && hour == 0 ? 24.0 : hour), top, bottom);
        }
        pen_.colour(soft);
        pen_.text(wide - right, bottom + 26, tr("hours by the clock there"), 10, 1.0);
    }

    void row(const Row& r, double top, double high) {
        double most = 0.0;
        for (const Points& l : r.lines)
            for (const Point& p : l) most = std::max(most, p.value);
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
        for (std::size_t k = r.lines.size(); k-- > 0;) {
            pen_.colour(series[k % series.size()]);
            pen_.dash(k == 0 ? 0 : 1 + (k - 1) % 5);
            curve(r.lines[k], y, k == 0 ? 1.5 : 1.2);
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

    void curve(const Points& points, const Scale& y, double thick) {
        cairo_t* c = pen_.raw();
        cairo_set_line_width(c, thick);
        bool down = false;
        for (std::size_t n = 0; n < points.size(); ++n) {
            if (points[n].gap) {
                down = false;
                continue;
            }
            const double middle = 0.5 * (points[n].t + (n + 1 < points.size() ? points[n + 1].t : x_.high));
            if (down) cairo_line_to(c, x_(middle), y(points[n].value));
            else cairo_move_to(c, x_(middle), y(points[n].value));
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
    const auto& marks = lines.front().result->marks;
    const double last = marks.back().t + (marks.back().t - marks[marks.size() - 2].t);
    const bool days = last - marks.front().t > long_days * day_s;
    const std::vector<Row> rows = rows_of(lines, days, 3600 * offset_h, tank_m3);
    constexpr double head = 76.0, row_h = 84.0, gap = 18.0, strip = 14.0;
    const double lamps_top = head + static_cast<double>(rows.size()) * (row_h + gap);
    // Of what the drive does within a day nothing is to be seen in a year.
    const double bottom = lamps_top + (days ? 0.0 : static_cast<double>(lines.size()) * (strip + 4));
    const double high = bottom + (days ? 36.0 : 70.0);
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
        if (last - marks.front().t > 60 * 3600.0) chart.dates(head, bottom);
        else chart.hours(head, bottom);
        for (std::size_t n = 0; n < rows.size(); ++n)
            chart.row(rows[n], head + static_cast<double>(n) * (row_h + gap), row_h);
        if (days) return;
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
