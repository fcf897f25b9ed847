#include "panels/wipe.hpp"

#include <algorithm>
#include <cmath>

#include "model/desk.hpp"
#include "model/twin.hpp"
#include "model/wipe.hpp"
#include "panels/below_ground.hpp"
#include "panels/cutaway_paint.hpp"
#include "shell/widgets.hpp"
#include "text/language.hpp"

namespace sunshaft::panels {

using namespace shell;
using view::Box;
using view::Point;

namespace {

constexpr double kGrab = 12.0, kStep = 8.0, kSnap = 10.0, kWipeMargin = 24.0;

bool known(const view::Snapshot& s) { return s.twin && !s.hidden; }

double keep_in(double at, const Box& box) {
    return std::clamp(at, box.x + kWipeMargin, std::max(box.x + kWipeMargin, box.right() - kWipeMargin));
}

}  // namespace

std::optional<Halves> wiped(const PanelContext& x, const view::Snapshot& s, const Box& box) {
    if (!x.window.wipe || !known(s)) return {};
    const double at = std::clamp(*x.window.wipe, box.x, box.right());
    return Halves{{box.x, box.y, at - box.x, box.h}, {at, box.y, box.right() - at, box.h}};
}

void wipe_key(PanelContext& x, const view::Snapshot& s, Point at, double from_x) {
    if (!known(s)) {
        x.window.wipe.reset();
        return;
    }
    const bool on = x.window.wipe.has_value();
    const Box key{at.x, at.y, button_width(x.canvas(), text::tr("Compare")), 22.0};
    const bool pressed = button(x, "wipe", key, text::tr("Compare"), {.chosen = on});
    hint(x, key, text::tr("Left of a rule the healthy twin, right of it this site (F10)"));
    const bool ended = on && !x.input.typing && x.input.take(Key::Escape);
    if (!pressed && !x.input.take(Key::F10) && !ended) return;
    if (on) x.window.wipe.reset();
    else x.window.wipe = from_x;
}

bool wipe_hands(PanelContext& x, const view::Snapshot& s, const Box& box, std::optional<double> snap_x) {
    if (!wiped(x, s, box)) return false;
    double& at = *x.window.wipe;
    at = keep_in(at, box);
    const Touch t = touch(x, "wipe rule", {at - 0.5 * kGrab, box.y + 60.0, kGrab, box.h - 60.0});
    if (t.held) {
        at = keep_in(x.input.mouse.x, box);
        if (snap_x && std::abs(at - *snap_x) < kSnap) at = *snap_x;
        x.wake_in(0.016);
    }
    if (t.focused)
        for (const auto& [key, by] : {std::pair{Key::Left, -kStep}, {Key::Right, kStep}})
            if (x.input.take(key)) at = keep_in(at + by, box);
    hint(x, t, text::tr("Drag: left of it the healthy twin, right of it this site. Arrow keys move it."));
    return t.held || t.hovered;
}

void paint_cutaway(PanelContext& x, const view::Snapshot& live, const view::SiteDrawing& drawing,
                   view::SheetChoice choice, bool sun_carried) {
    const view::Palette& p = x.palette();
    const auto halves = wiped(x, live, x.box);
    const bool still = x.window.is_calm() && live.running == view::Running::run;
    const view::Snapshot stood = still ? view::stilled(live) : view::Snapshot{};
    const view::Snapshot& s = still ? stood : live;
    const view::Snapshot twin = !halves ? view::Snapshot{}
                                : still ? view::stilled(*live.twin)
                                        : view::twin_at(*live.twin, live.t);
    view::SiteDrawing twins;
    if (halves) twins = view::draw_site(*twin.site, x.box, view::moving_part(twin), choice);
    // A draw list each.
    const auto both = [&](const std::string& id, auto&& paint) {
        if (halves) {
            Child child = x.child((id + " of the twin").c_str(), halves->healthy, false, true);
            Canvas c = child.canvas();
            paint(c, twins, twin);
        }
        Child child = x.child(id.c_str(), halves ? halves->site : x.box, false, halves.has_value());
        Canvas c = child.canvas();
        paint(c, drawing, s);
    };
    both("site", [&](Canvas& c, const view::SiteDrawing& d, const view::Snapshot& of) {
        paint_site(c, d, of, p, sun_carried);
    });
    both("sheets", [&](Canvas& c, const view::SiteDrawing& d, const view::Snapshot& of) {
        if (of.sealed && d.bore) return paint_below_ground(c, d, of, p);
        splice_sheet(c, d, of, p, view::noted_line_amps(x.desk->notebook));
        motor_sheet(c, d, of, p);
        power_sheet(c, d, of, p);
    });
}

void wipe_line(const PanelContext& x, const Box& plot) {
    if (!x.window.wipe || *x.window.wipe <= plot.x || *x.window.wipe >= plot.right()) return;
    x.canvas().rule({*x.window.wipe, plot.y}, {*x.window.wipe, plot.bottom()}, x.palette().accent, 2.0);
}

void wipe_names(const PanelContext& x, const view::Snapshot& s, const Box& plot, double base) {
    wipe_line(x, plot);
    const auto halves = wiped(x, s, plot);
    if (!halves) return;
    const view::Palette& p = x.palette();
    Canvas c = x.canvas();
    paint::TextLook look{.colour = p.ink, .size = 12, .face = Face::strong, .align = Align::centre, .halo = p.ground};
    if (const char* words = text::tr("healthy twin"); c.width(words, look) + 8.0 < halves->healthy.w)
        c.text({halves->healthy.centre().x, base}, words, look);
    look.colour = p.accent;
    if (const char* words = text::tr("this site"); c.width(words, look) + 8.0 < halves->site.w)
        c.text({halves->site.centre().x, base}, words, look);
}

void wipe_table(const PanelContext& x, const view::Snapshot& s, Point at, Align align) {
    if (!x.window.wipe || !known(s)) return;
    x.canvas().text(at, text::tr("this site"),
                    {.colour = x.palette().accent, .size = 12, .face = Face::strong, .align = align});
}

void wipe_rule(PanelContext& x, const view::Snapshot& s, const Box& box, bool with_pairs) {
    if (!wiped(x, s, box)) return;
    const view::Palette& p = x.palette();
    Canvas c = x.overlay();
    const auto clip = c.clip(box);
    const double at = *x.window.wipe;
    c.rule({at, box.y}, {at, box.bottom()}, p.accent, 2.0);
    const auto rows = with_pairs ? view::pairs(s, *s.twin) : std::vector<view::Pair>{};
    const paint::TextLook name{.colour = p.ink_soft, .size = 12};
    const paint::TextLook figure{.colour = p.ink, .size = 12, .face = Face::mono, .align = Align::right};
    const double place = c.width("00.00", figure) + 8.0;
    double names = 0.0, units = 0.0, half = 96.0;
    for (const view::Pair& row : rows) {
        names = std::max(names, c.width(row.name, name) + 12.0),
        units = std::max(units, c.width(row.unit, name) + 12.0);
        half = std::max(half, static_cast<double>(row.values.size()) * place + 8.0);
    }
    // What flanks it goes with it, on a sheet of its own.
    const Box sheet{at - half - names, box.y + 58.0, 2.0 * half + names + units,
                    24.0 + (rows.empty() ? 0.0 : 17.0 * static_cast<double>(rows.size()) + 6.0)};
    c.fill(sheet, p.sheet);
    c.frame(sheet, p.rule_strong);
    c.rule({at, sheet.y}, {at, sheet.bottom()}, p.accent, 2.0);
    c.text({at - 10.0, sheet.y + 17.0}, text::tr("healthy twin"),
           {.colour = p.ink, .size = 12, .face = Face::strong, .align = Align::right});
    c.text({at + 10.0, sheet.y + 17.0}, text::tr("this site"), {.colour = p.accent, .size = 12, .face = Face::strong});
    double y = sheet.y + 38.0;
    for (const view::Pair& row : rows) {
        c.text({sheet.x + 8.0, y}, row.name, name);
        c.text({at + half + 4.0, y}, row.unit, name);
        const std::size_t count = row.values.size();
        for (std::size_t n = 0; n < count; ++n) {
            const view::Pair::Value& v = row.values[n];
            c.text({at - 8.0 - static_cast<double>(count - 1 - n) * place, y}, v.healthy, figure);
            paint::TextLook own = figure;
            if (v.differs) own.colour = p.accent, own.face = Face::mono_strong;
            c.text({at + static_cast<double>(n + 1) * place, y}, v.site, own);
        }
        y += 17.0;
    }
}

}  // namespace sunshaft::panels
