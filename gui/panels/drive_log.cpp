// Drive: what its own mind is at, its lamps, warmth, and the log of what it did and what was done to it.
#include <fmt/format.h>

#include <algorithm>

#include "model/desk.hpp"
#include "model/drive_card.hpp"
#include "panels/cutaway_paint.hpp"
#include "panels/panels.hpp"
#include "shell/widgets.hpp"
#include "text/figure.hpp"
#include "text/language.hpp"

namespace sunshaft::panels {
namespace {

using namespace shell;
using view::Box;

class DriveLog : public Panel {
  public:
    Place place() const override { return Place::strip; }
    const char* title() const override { return text::id("Drive"); }
    void draw(PanelContext& x) override {
        if (!x.desk) return;
        const auto s = x.desk->snapshot();
        const view::Palette& p = x.palette();
        Box rest = x.box.inset(16, 8);
        const bool wide = rest.w > 860;
        const auto mind = view::drive_card(*s);
        if (!mind.empty()) {
            card(x, rest.cut_left(std::min(380.0, 0.42 * rest.w)), text::tr("State of the drive"), mind, p);
            rest.cut_left(20);
        }
        if (wide) {
            Box side = rest.cut_left(276);
            const std::size_t rows = (s->lamps.size() + 1) / 2;
            lamps(x, side.cut_top(rows == 0 ? 0.0 : 38 + 18 * static_cast<double>(rows)), *s, p);
            card(x, side, text::tr("Warmth and water"), view::warmth_card(*s), p);
            rest.cut_left(20);
        }
        log(x, rest, *s, p);
    }

  private:
    static void card(PanelContext& x, const Box& box, const char* words, const std::vector<view::CardLine>& lines,
                     const view::Palette& p) {
        Canvas c = x.canvas();
        const auto clip = c.clip(box);
        paint::title(c, {box.x, box.y + 12}, words, p.ink_soft);
        double y = box.y + 24;
        const double left = box.x + std::min(146.0, 0.5 * box.w);
        for (const view::CardLine& line : lines) {
            const paint::TextLook name{.colour = p.ink_soft, .size = 12},
                value{.colour = line.stands_out ? p.accent : p.ink,
                      .face = line.stands_out ? Face::strong : Face::words};
            c.text({box.x, y + 13}, c.fitted(line.name, left - box.x - 8, name), name);
            y += std::max(20.0, c.paragraph({left, y}, box.right() - left, line.value, value) + 2);
        }
    }

    static void lamps(PanelContext& x, const Box& box, const view::Snapshot& s, const view::Palette& p) {
        if (s.lamps.empty()) return;
        Canvas c = x.canvas();
        paint::title(c, {box.x, box.y + 12}, text::tr("Lamps"), p.ink_soft);
        for (std::size_t n = 0; n < s.lamps.size(); ++n) {
            const std::size_t row = n / 2;
            const view::Point at{box.x + (n % 2 ? 0.5 * box.w : 0.0), box.y + 24 + 18 * static_cast<double>(row)};
            const Box glass{at.x, at.y + 2, 10, 10};
            if (s.lamps[n].on) c.fill(glass, lamp_colour(s.lamps[n], p));
            c.frame(glass, s.lamps[n].on ? lamp_colour(s.lamps[n], p) : p.ink_soft);
            c.text({at.x + 16, at.y + 11}, text::tr(s.lamps[n].name),
                   {.colour = s.lamps[n].on ? p.ink : p.ink_soft,
                    .size = 12,
                    .face = s.lamps[n].on ? Face::strong : Face::words});
        }
    }

    static void log(PanelContext& x, const Box& box, const view::Snapshot& s, const view::Palette& p) {
        {
            Canvas c = x.canvas();
            c.rule({box.x - 10, box.y - 4}, {box.x - 10, box.bottom() + 4}, p.rule);
            paint::title(c, {box.x, box.y + 12}, text::tr("Log, newest first"), p.ink_soft);
        }
        Child child = x.child("log", {box.x, box.y + 22, box.w, box.h - 22}, true);
        Canvas c = child.canvas();
        const double top = box.y + 22 - child.scrolled(), wide = box.w - 96;
        double y = top;
        if (s.events.empty()) c.text({box.x, y + 14}, text::tr("Nothing has happened yet."), {.colour = p.ink_soft});
        std::size_t n = 0;
        for (auto e = s.events.rbegin(); e != s.events.rend(); ++e) {
            const double before = y;
            const bool of_drive = e->kind == view::Event::Kind::drive;
            const paint::TextLook words{.colour = p.ink, .face = of_drive ? Face::words : Face::strong};
            c.text({box.x + 66, y + 13}, text::fixed(e->t, 2) + " s",
                   {.colour = p.ink_soft, .size = 12, .face = Face::mono, .align = Align::right});
            y += std::max(20.0, c.paragraph({box.x + 80, y}, wide, e->text, words) + 2);
            // What lies in the last minute can be looked at again.
            if (e->t <= s.past_from || e->t >= s.now_t) continue;
            const Touch t = touch(x, fmt::format("event {}", ++n), {box.x, before, wide + 80, y - before});
            if (t.hovered || t.focused) c.frame(t.box.inset(-2, 0), t.focused ? p.accent : p.rule_strong);
            if (t.clicked) x.desk->walk_to(e->t);
            hint(x, t, text::tr("Press: time is held, and this instant looked at again"));
        }
        child.content_height(y - top + 6);
    }
};

}  // namespace

std::unique_ptr<shell::Panel> drive_log() { return std::make_unique<DriveLog>(); }

}  // namespace sunshaft::panels
