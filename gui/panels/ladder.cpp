// Ladder: each point a rung at its voltage above link-, in one instant; the leads hang on two, and the gap is what the
// meter gets.
#include <fmt/format.h>

#include <algorithm>
#include <cmath>
#include <vector>

#include "model/desk.hpp"
#include "model/format.hpp"
#include "model/ladder.hpp"
#include "model/site_drawing.hpp"
#include "panels/panels.hpp"
#include "panels/turn_strip.hpp"
#include "shell/widgets.hpp"
#include "text/language.hpp"

namespace sunshaft::panels {
namespace {

using namespace shell;
using view::Box;
using view::Point;
using view::Rung;

constexpr double kLabelPitch = 20.0, kBody = 58.0;

class Ladder : public Panel {
  public:
    explicit Ladder(std::shared_ptr<view::SharedView> shared) : shared_(std::move(shared)) {}
    Place place() const override { return Place::strip; }
    const char* title() const override { return text::id("Ladder"); }

    void draw(PanelContext& x) override {
        if (!x.desk) return;
        const auto s = x.desk->snapshot();
        const view::Palette& p = x.palette();
        Box rest = x.box.inset(16, 8);
        if (s->hidden || !s->turn) {
            x.canvas().paragraph(rest.top_left(), rest.w,
                                 s->hidden
                                     ? text::tr("Closed: faults are hidden. The displays are what there is to go by.")
                                     : text::tr("Nothing has run yet."),
                                 {.colour = p.ink_soft});
            return;
        }
        shared_->turn_cursor.calm = x.window.is_calm();
        const view::Moment m = moment_of(*s, shared_->turn_cursor);
        auto rungs = view::ladder(*s->site, m, x.desk->probes());
        Box head = rest.cut_top(22);
        const std::string_view what = rest.w > 620 ? text::tr("each point at its volts above link−, this instant")
                                                   : text::tr("volts above link−");
        head.cut_left(x.canvas().text({head.x, head.y + 16.0}, what, {.colour = p.ink_soft}) + 16);
        turn_keys(x, head, *s, shared_->turn_cursor);
        rest.cut_top(4);
        if (rest.w > 1000) {
            Box side = rest.cut_right(0.46 * rest.w);
            side.cut_left(24);
            turn_strip(x, side.cut_top(kTurnStrip), *s, shared_->turn_cursor);
            side.cut_top(12);
            const double link = m.volts("link+").value_or(0.0);
            x.canvas().paragraph(side.top_left(), side.w, view::ladder_words(rungs, link), {.colour = p.ink});
        }
        const auto room = static_cast<std::size_t>(std::max(5.0, rest.h / kLabelPitch));
        while (rungs.size() > room) {
            const auto extra = std::find_if(rungs.rbegin(), rungs.rend(), [](const Rung& r) { return !r.essential; });
            if (extra == rungs.rend()) break;
            rungs.erase(std::next(extra).base());
        }
        rungs_and_leads(x, rest, *s, rungs);
        if (s->running == view::Running::run) x.wake_in(0.033);
    }

  private:
    void rungs_and_leads(PanelContext& x, const Box& box, const view::Snapshot& s, const std::vector<Rung>& rungs) {
        const view::Palette& p = x.palette();
        // From the left: volts, ladder over the meter's body, labels.
        const double labels_w = std::clamp(0.34 * box.w, 190.0, 250.0);
        Box stand = box;
        const Box labels = stand.cut_right(labels_w);
        Box body = stand.cut_bottom(kBody);
        stand.cut_bottom(6.0);
        const double left = stand.x + 52.0, right = stand.right() - 34.0;
        // The scale: the whole turn's, so that it stands still while rungs move.
        double low = 0.0, high = 1.0;
        for (const auto& [point, v] : extremes(*s.turn, rungs))
            low = std::min(low, v.first), high = std::max(high, v.second);
        const double slack = 0.05 * (high - low);
        const auto y_of = [&](double v) {
            return stand.bottom() - 6.0 - (v - low + slack) / (high - low + 2.0 * slack) * (stand.h - 12.0);
        };
        Canvas c = x.canvas();
        const auto ticks = view::ticks(low, high, std::max(2, static_cast<int>(stand.h / 34.0)));
        for (const double v : ticks.at) {
            const double y = y_of(v);
            if (y < stand.y + 4.0 || y > stand.bottom() - 2.0) continue;
            c.rule({left - 6.0, y}, {left, y}, p.rule_strong);
            c.text({left - 10.0, y + 4.0}, view::tick_text(v, ticks.step, high, "V"),
                   {.colour = p.ink_soft, .size = 12, .face = Face::mono, .align = Align::right});
        }
        c.text({stand.x, stand.y + 8.0}, view::tick_unit(high, "V"), {.colour = p.ink_soft, .size = 12});
        for (const double at : {left, right})
            c.line({at, stand.y}, {at, stand.bottom()}, {.colour = p.rule_strong, .width = 2.4});

        // Labels beside their rungs, spread apart.
        std::vector<double> wishes;
        wishes.reserve(rungs.size());
        for (const Rung& r : rungs) wishes.push_back(y_of(r.known ? r.volts : 0.0));
        const auto at = view::spread(wishes, kLabelPitch, labels.y + 8.0, labels.bottom() - 6.0);
        for (std::size_t n = 0; n < rungs.size(); ++n) rung(c, rungs[n], {left, right}, wishes[n], p);
        for (std::size_t n = 0; n < rungs.size(); ++n) {
            const Rung& r = rungs[n];
            const Point leader[] = {
                {right + 4.0, wishes[n]}, {right + 14.0, wishes[n]}, {labels.x - 8.0, at[n]}, {labels.x - 2.0, at[n]}};
            c.polyline(leader, {.colour = r.floats ? p.accent : p.rule_strong, .width = 1.0});
            label(x, c, {labels.x + 2.0, at[n] - 0.5 * kLabelPitch, labels.w - 2.0, kLabelPitch}, r, p);
        }
        meter(x, body, right, s, p);
        leads(x, {stand.x, stand.y, right + 30.0 - stand.x, stand.h}, left, right, body, rungs, wishes, at, labels);
        gap_between(c, stand.y, left, right, rungs, wishes, p);
    }

    // Lowest and highest of each rung in the whole turn.
    static std::vector<std::pair<std::string, std::pair<double, double>>> extremes(const view::Turn& turn,
                                                                                   const std::vector<Rung>& rungs) {
        std::vector<std::pair<std::string, std::pair<double, double>>> out;
        const trace::Recording& r = turn.rows;
        for (const Rung& one : rungs) {
            const std::string name = one.point == "link+" ? "link_V" : one.point == "motor.n" ? "star_V" : one.point;
            const auto at = std::find(r.names.begin(), r.names.end(), name);
            if (at == r.names.end()) continue;
            const auto n = static_cast<std::size_t>(at - r.names.begin());
            std::pair<double, double> v{0.0, 0.0};
            for (const auto* ends : {&r.y0[n], &r.y1[n]})
                for (const double y : *ends)
                    if (std::isfinite(y)) v = {std::min(v.first, y), std::max(v.second, y)};
            out.emplace_back(one.point, v);
        }
        return out;
    }

    static view::Colour colour_of(const Rung& r, const view::Palette& p) {
        if (r.point == "link+") return p.dc_plus.core;
        if (r.point == "link-" || r.point == "motor.n") return p.ink;
        const char phase = r.point.back();
        const view::ConductorLook* look = phase == 'u' ? &p.l1 : phase == 'v' ? &p.l2 : phase == 'w' ? &p.l3 : nullptr;
        if (!look) return p.ink_soft;
        return look->casing.a && p.dark ? look->casing : look->core;
    }

    static void rung(Canvas& c, const Rung& r, std::pair<double, double> span, double y, const view::Palette& p) {
        const paint::Stroke stroke{.colour = colour_of(r, p),
                                   .width = r.red || r.black ? 2.8 : 2.0,
                                   .style = r.floats      ? view::LineStyle::dashed
                                            : r.reachable ? view::LineStyle::solid
                                                          : view::LineStyle::dotted};
        c.line({span.first, y}, {span.second, y}, stroke);
    }

    void label(PanelContext& x, Canvas& c, const Box& box, const Rung& r, const view::Palette& p) {
        const Touch t = touch(x, "rung " + r.point, box);
        if (t.hovered || t.focused) c.fill(box, p.band);
        if (t.focused) focus_mark(x, box);
        const double base = box.centre().y + 4.5;
        const bool held = r.red || r.black;
        const double named =
            c.text({box.x + 4.0, base}, r.point, {.colour = p.ink, .face = held ? Face::strong : Face::words});
        const std::string note = r.floats ? text::tr("floats") : r.point == "motor.n" ? text::tr("star point") : "";
        const auto f = view::figure(std::abs(r.volts) < 0.05 ? 0.0 : r.volts, "V", 3);
        const paint::ValueLook look{.number = p.ink, .unit = p.ink_soft, .size = 12};
        const bool figures = r.known && !r.apart;
        const double wide = figures ? paint::value_width(c, f.number, f.unit, look) : 0.0;
        if (figures) paint::value(c, {box.right() - 4.0, base}, f.number, f.unit, look);
        const paint::TextLook quiet{.colour = r.floats ? p.accent : p.ink_soft, .size = 12};
        if (!note.empty() && named + 18.0 + c.width(note, quiet) + wide < box.w)
            c.text({box.x + 12.0 + named, base}, note, quiet);
        hint(x, t,
             r.reachable ? text::tr("Click: the red lead goes there; with Shift the black one. Or drag a hook.")
                         : text::tr("Out of reach in the field: for teaching only."));
        if (t.clicked) put(x, r.point, x.input.shift);
    }

    void put(PanelContext& x, const std::string& point, bool black) {
        bench::Probes probes = x.desk->probes();
        std::string& end = black ? probes.black : probes.red;
        const std::string& other = black ? probes.red : probes.black;
        if (point == other) return;
        end = point;
        x.desk->place(probes);
    }

    // ---- the meter below, its leads, the gap

    static Point jack(const Box& body, double right, bool black) {
        return {right - (black ? 24.0 : 64.0), body.y + 0.5 * body.h};
    }

    static void meter(PanelContext& x, const Box& body, double right, const view::Snapshot& s, const view::Palette& p) {
        Canvas c = x.canvas();
        const Box sheet{body.x, body.y, right + 8.0 - body.x, body.h};
        c.fill(sheet, p.meter_body, 5.0);
        c.outline(sheet.inset(0.5), {.colour = p.meter_edge, .width = 1.2}, 5.0);
        const view::MeterFace& face = s.meters[0];
        const paint::SegmentLook look{.lit = p.meter_figure, .ghost = p.meter_ghost, .size = 36, .places = 4};
        const double sign = 14.0, figures = sign + paint::segments_width(c, look);
        const Box display{sheet.x + 8.0, sheet.y + 6.0, figures + 44.0, body.h - 12.0};
        c.fill(display, p.meter_display);
        const Shown shown = face.reading ? taken_apart(*face.reading) : Shown{};
        const double base = display.bottom() - 5.0;
        const double wide = paint::segments(c, {display.x + 6.0 + figures, base}, shown.figures, look);
        if (const Box minus{display.x + 6.0 + figures - wide - 11.0, base - 19.5, 9.0, 3.0}; shown.minus)
            c.fill(minus, p.meter_figure), c.mark(minus, "minus");
        c.text({display.right() - 6.0, display.bottom() - 6.0}, shown.unit,
               {.colour = p.meter_soft, .size = 13, .align = Align::right});
        const double from = display.right() + 10.0, room = jack(body, right, false).x - 16.0 - from;
        const paint::TextLook quiet{.colour = p.ink_soft, .size = 12};
        // The healthy figure, where the scope has the same two points and the meter shows what it draws.
        const std::string name = s.probes.red + ":" + s.probes.black;
        const auto wave = std::find_if(s.waves.begin(), s.waves.end(), [&](const auto& w) { return w.name == name; });
        std::string healthy;
        if (s.faulty && wave != s.waves.end() && wave->healthy_rms && face.mode == meter::Mode::acv)
            healthy = text::say("healthy, true rms {}", view::figure(*wave->healthy_rms, "V").text());
        const bool beside = !healthy.empty() && c.width(healthy, quiet) < room;
        if (beside) c.text({from, sheet.y + 50.0}, healthy, quiet);
        if (c.width(text::tr("over one whole turn"), quiet) < room) {
            c.text({from, sheet.y + (beside ? 18.0 : 24.0)}, c.fitted(face.name, room, {.colour = p.ink, .size = 12}),
                   {.colour = p.ink, .size = 12});
            c.text({from, sheet.y + (beside ? 34.0 : 42.0)}, text::tr("over one whole turn"), quiet);
        }
        for (const bool black : {false, true}) {
            const Point at = jack(body, right, black);
            c.circle(at, 8.0, {.colour = black ? p.lead_black.core : p.lead_red.core, .width = 2.4});
            c.disc(at, 3.6, p.meter_display);
        }
    }

    void leads(PanelContext& x, const Box& stand, double left, double right, const Box& body,
               const std::vector<Rung>& rungs, const std::vector<double>& ys, const std::vector<double>& label_ys,
               const Box& labels) {
        const view::Palette& p = x.palette();
        Canvas c = x.canvas();
        const Point mouse = x.input.mouse;
        const bool over = x.hovers(stand) || x.hovers(labels);
        for (const bool black : {false, true}) {
            const Rung* on = nullptr;
            double y = body.y + 0.5 * body.h - 18.0;
            for (std::size_t n = 0; n < rungs.size(); ++n)
                if (black ? rungs[n].black : rungs[n].red) on = &rungs[n], y = ys[n];
            const double at = right - (black ? 0.14 : 0.34) * (right - left);
            Point hook{at, y};
            if (x.input.pressed[left_button] && x.hovers(stand) && view::distance(mouse, hook) < view::dot_reach)
                held_ = black ? Held::black : Held::red;
            const bool held = held_ == (black ? Held::black : Held::red);
            if (held) hook = mouse;
            x.target(black ? "hook black" : "hook red", {hook.x - 5.0, hook.y - 5.0, 10.0, 10.0});
            if (!on && !held) continue;
            const view::ConductorLook& look = black ? p.lead_black : p.lead_red;
            const Point end = jack(body, right, black);
            c.lead({hook.x, hook.y + 3.0}, end, 8.0, look, p.ground, 3.0);
            // A hook over the rung, and the grip below it.
            c.arc({hook.x, hook.y + 1.0}, 6.0, 3.14159265358979, 2.0 * 3.14159265358979,
                  {.colour = look.core, .width = 3.0, .cap = paint::Cap::round});
            if (look.casing.a) c.circle(hook, 8.5, {.colour = look.casing, .width = 1.0});
            if (held && x.input.released[left_button]) {
                if (over)
                    if (const Rung* to = nearest(rungs, ys, label_ys, labels, mouse)) put(x, to->point, black);
                held_ = Held::none;
            }
        }
        if (held_ != Held::none) x.wake_in(0.016);
    }

    static const Rung* nearest(const std::vector<Rung>& rungs, const std::vector<double>& ys,
                               const std::vector<double>& label_ys, const Box& labels, Point mouse) {
        const auto& heights = labels.contains(mouse) ? label_ys : ys;
        const Rung* best = nullptr;
        double least = 16.0;
        for (std::size_t n = 0; n < rungs.size(); ++n)
            if (const double d = std::abs(heights[n] - mouse.y); d < least) least = d, best = &rungs[n];
        return best;
    }

    static void gap_between(Canvas& c, double top, double left, double right, const std::vector<Rung>& rungs,
                            const std::vector<double>& ys, const view::Palette& p) {
        const auto between = view::gap(rungs);
        double red = 0.0, black = 0.0;
        int there = 0;
        for (std::size_t n = 0; n < rungs.size(); ++n) {
            if (rungs[n].red) red = ys[n], ++there;
            if (rungs[n].black) black = ys[n], ++there;
        }
        if (there < 2) return;
        const double at = left + 0.34 * (right - left), middle = 0.5 * (red + black);
        const bool open = std::abs(red - black) > 34.0;
        if (open) {
            c.arrow({at, middle + (red < black ? -20.0 : 20.0)}, {at, red}, {.colour = p.ink, .width = 1.4}, 6.0);
            c.arrow({at, middle + (red < black ? 20.0 : -20.0)}, {at, black}, {.colour = p.ink, .width = 1.4}, 6.0);
        }
        const auto f = between ? view::figure(std::abs(*between) < 0.05 ? 0.0 : *between, "V", 3)
                               : view::Figure{text::tr("no gap"), ""};
        const paint::TextLook look{
            .colour = p.ink, .size = 15, .face = Face::strong, .align = Align::centre, .halo = p.ground};
        // Above the two, or below where there is no room.
        const double beside = std::min(red, black) - 8.0;
        c.text({at, open ? middle + 5.0 : beside > top + 16.0 ? beside : std::max(red, black) + 19.0}, f.text(), look);
    }

    enum class Held { none, red, black };
    Held held_ = Held::none;
    std::shared_ptr<view::SharedView> shared_;
};

}  // namespace

std::unique_ptr<shell::Panel> ladder(std::shared_ptr<view::SharedView> shared) {
    return std::make_unique<Ladder>(std::move(shared));
}

}  // namespace sunshaft::panels
