#include "panels/turn_strip.hpp"

#include <fmt/format.h>

#include <algorithm>
#include <cmath>
#include <numbers>

#include "model/desk.hpp"
#include "shell/widgets.hpp"
#include "text/language.hpp"

namespace sunshaft::panels {

using namespace shell;
using view::Box;
using view::Point;

namespace {

constexpr double two_pi = 2.0 * std::numbers::pi;
constexpr double kSlow = 1e-3;  // simulated s per s: a turn at 50 Hz takes 20 s

bool running(const view::Snapshot& s) { return s.running == view::Running::run; }
drive::Modulation modulation(const view::Snapshot& s) { return s.site->works.drive.modulation; }

// Per column of the plot: how much of it the leg is high, in a diode, floating; and how much is known.
struct Column {
    double high = 0.0, diode = 0.0, floating = 0.0, all = 0.0;
};

std::vector<Column> columns_of(const view::Turn& turn, std::size_t leg, double first, std::size_t count) {
    std::vector<Column> out(count);
    const auto& r = turn.rows;
    const auto name = std::find(r.names.begin(), r.names.end(), site::phase_point("leg", static_cast<int>(leg)));
    if (name == r.names.end()) return out;
    const auto& mode = r.y0[static_cast<std::size_t>(name - r.names.begin())];
    const auto add = [&](double from, double to, drive::Leg does) {
        for (double at = from; at < to;) {
            const auto n = std::min(count - 1, static_cast<std::size_t>(at));
            const double end = std::min(to, static_cast<double>(n) + 1.0), wide = end - at;
            Column& c = out[n];
            c.all += wide;
            if (does == drive::Leg::blocked) c.floating += wide;
            if (does == drive::Leg::upper || does == drive::Leg::diode_up) c.high += wide;
            if (does == drive::Leg::diode_up || does == drive::Leg::diode_down) c.diode += wide;
            if (end <= at) break;
            at = end;
        }
    };
    const double wide = static_cast<double>(count);
    for (std::size_t k = 0; k < r.rows(); ++k) {
        if (!(mode[k] >= 0.0) || r.t1[k] <= r.t0[k]) continue;
        const auto share = [&](double t) { return (turn.angle - turn.omega * (turn.to() - t) - first) / two_pi; };
        const double a = share(r.t0[k]), b = share(r.t1[k]), base = std::floor(std::min(a, b));
        const double low = std::min(a, b) - base, high = std::min(std::max(a, b) - base, low + 1.0);
        const auto does = static_cast<drive::Leg>(std::lround(mode[k]));
        add(wide * low, wide * std::min(high, 1.0), does);
        if (high > 1.0) add(0.0, wide * (high - 1.0), does);
    }
    return out;
}

}  // namespace

view::Moment moment_of(const view::Snapshot& s, const view::TurnCursor& cursor) {
    return view::moment_at(*s.turn, cursor.time(*s.turn, running(s), s.wanted_rate, modulation(s)));
}

std::string step_words(const view::Snapshot& s, const view::Moment& m) {
    if (s.turn->omega == 0.0) return {};
    if (!s.turn->driven) return text::say("{:.0f}° of the turn", s.turn->angle_at(m.t) * 360.0 / two_pi);
    return text::say("step {} of 6", view::step_of(modulation(s), s.turn->angle_at(m.t)));
}

void turn_keys(PanelContext& x, const Box& row, const view::Snapshot& s, view::TurnCursor& cursor) {
    const view::Palette& p = x.palette();
    Canvas c = x.canvas();
    double right = row.right();
    const std::string step = step_words(s, moment_of(s, cursor));
    const paint::TextLook look{.colour = p.ink, .face = Face::strong, .align = Align::right};
    // As wide as it ever gets, so that the keys stand still.
    if (!step.empty())
        c.text({right, row.y + 16.0}, step, look), right -= c.width(text::tr("step 0 of 6"), look) + 14.0;
    if (s.turn->omega == 0.0) return;
    const auto key = [&](const char* id, std::string_view words, std::string_view why) {
        const double wide = button_width(c, words) + 4.0;
        const Box at{right - wide, row.y, wide, 22.0};
        if (at.x < row.x) return false;
        right = at.x - 8.0;
        const bool pressed = button(x, id, at, words);
        hint(x, at, why);
        return pressed;
    };
    if (s.wanted_rate > view::TurnCursor::fastest_live &&
        key("slow", "1 : 1000", text::tr("Slow motion: watch every step"))) {
        x.desk->rate(kSlow);
        x.desk->run();
        cursor.angle.reset();
    }
    if (cursor.angle && key("now", text::tr("Let go"), text::tr("The cursor goes with the present instant again")))
        cursor.angle.reset();
}

bool turn_strip(PanelContext& x, const Box& box, const view::Snapshot& s, view::TurnCursor& cursor) {
    const view::Turn& turn = *s.turn;
    if (turn.omega == 0.0) return false;
    const view::Palette& p = x.palette();
    const double first = view::first_step(modulation(s));
    Box plot = box;
    plot.cut_left(16.0);
    const Box numbers = plot.cut_top(16.0);
    {
        Canvas c = x.canvas();
        c.fill(plot, p.sheet);
        const double pitch = plot.h / 3.0;
        const int now = view::step_of(modulation(s), turn.angle_at(moment_of(s, cursor).t));
        for (int n = 0; n < 6; ++n) {
            const double left = plot.x + plot.w * n / 6.0;
            if (n) c.rule({left, numbers.y + 2.0}, {left, plot.bottom()}, p.grid);
            if (turn.driven)
                c.text({left + plot.w / 12.0, numbers.bottom() - 4.0}, std::to_string(n + 1),
                       {.colour = n + 1 == now ? p.ink : p.ink_soft,
                        .size = 12,
                        .face = n + 1 == now ? Face::strong : Face::words,
                        .align = Align::centre});
        }
        const auto count = static_cast<std::size_t>(std::max(1.0, std::floor(plot.w)));
        const view::ConductorLook* wire[] = {&p.l1, &p.l2, &p.l3};
        for (std::size_t k = 0; k < 3; ++k) {
            const double top = plot.y + pitch * static_cast<double>(k) + 3.0, low = top + pitch - 6.0;
            c.text({box.x, low - 0.5 * (low - top) + 4.0}, std::string(1, "UVW"[k]),
                   {.colour = p.ink, .size = 12, .face = Face::strong});
            const auto columns = columns_of(turn, k, first, count);
            const double wide = plot.w / static_cast<double>(count);
            const auto runs = [&](auto value, auto draw) {
                for (std::size_t a = 0; a < count;) {
                    std::size_t b = a + 1;
                    const double v = columns[a].all > 0.0 ? value(columns[a]) : 0.0;
                    while (b < count && std::abs((columns[b].all > 0.0 ? value(columns[b]) : 0.0) - v) < 0.02) ++b;
                    if (v > 0.02) draw(plot.x + wide * static_cast<double>(a), wide * static_cast<double>(b - a), v);
                    a = b;
                }
            };
            c.rule({plot.x, low}, {plot.right(), low}, p.rule);
            const view::Colour ink = wire[k]->casing.a && p.dark ? wire[k]->casing : wire[k]->core;
            runs([](const Column& one) { return one.high / one.all; },
                 [&](double at, double w, double v) {
                     c.fill(Box{at, low - v * (low - top), w, v * (low - top)}, ink);
                 });
            runs([](const Column& one) { return one.floating / one.all; },
                 [&](double at, double w, double v) {
                     if (v > 0.5)
                         c.line({at, 0.5 * (top + low)}, {at + w, 0.5 * (top + low)},
                                {.colour = p.ink_soft, .width = 1.2, .style = view::LineStyle::dotted});
                 });
            runs([](const Column& one) { return one.diode / one.all; },
                 [&](double at, double w, double v) {
                     if (v > 0.05) c.fill(Box{at, low + 1.0, std::max(w, 1.0), 2.0}, p.sun);
                 });
        }
        c.frame(plot, p.rule);
    }
    const Box reach{plot.x, numbers.y, plot.w, box.h};
    const Touch t = touch(x, "turn", reach);
    if (t.focused) focus_mark(x, plot);
    const auto to_angle = [&](double share) { return first + two_pi * std::clamp(share, 0.0, 0.9999); };
    if (t.held) {
        cursor.angle = to_angle((x.input.mouse.x - plot.x) / plot.w);
        x.wake_in(0.016);
    }
    const view::Moment m = moment_of(s, cursor);
    const double turned = (turn.angle_at(m.t) - first) / two_pi, share = turned - std::floor(turned);
    if (t.focused) {
        for (const auto& [key, by] : {std::pair{Key::Left, -1.0}, {Key::Right, 1.0}})
            if (x.input.take(key)) cursor.angle = first + two_pi * std::fmod(share + by / 120.0 + 1.0, 1.0);
        if (!x.input.typing && cursor.angle && x.input.take(Key::Escape)) cursor.angle.reset();
    }
    hint(
        x, t,
        text::tr(
            "One turn, six steps. High: the leg is on the upper rail. Dotted: it floats. Amber below: a diode carries. "
            "Drag the cursor to look at any instant."));
    Canvas c = x.canvas();
    const double at = plot.x + share * plot.w;
    c.rule({at, plot.y}, {at, plot.bottom()}, p.ink, 1.6);
    const Point head[] = {{at - 5.0, plot.bottom()}, {at + 5.0, plot.bottom()}, {at, plot.bottom() - 7.0}};
    c.fill(head, cursor.angle ? p.accent : p.ink);
    x.target("turn cursor", {at - 4.0, plot.y, 8.0, plot.h});
    return true;
}

}  // namespace sunshaft::panels
