// Edits: what was done on the bench, the newest first, by the site's own time; by the wall's in the hover text. A press
// walks there by undo and redo.
#include <fmt/format.h>

#include <algorithm>

#include "model/desk.hpp"
#include "model/format.hpp"
#include "panels/panels.hpp"
#include "shell/widgets.hpp"
#include "text/language.hpp"

namespace sunshaft::panels {
namespace {

using namespace shell;
using view::Box;

constexpr double pitch = 22.0, time_wide = 84.0, state_wide = 60.0;

class Edits : public Panel {
  public:
    Place place() const override { return Place::strip; }
    const char* title() const override { return text::id("Edits"); }

    void draw(PanelContext& x) override {
        if (!x.desk) return;
        const view::Palette& p = x.palette();
        const std::vector<view::Done> done = x.desk->done();
        Box rest = x.box.inset(16, 8);
        Child list = x.child("edits", rest, true);
        Canvas c = list.canvas();
        const double top = rest.y - list.scrolled();
        double y = top;
        if (done.empty()) {
            return nothing_yet(
                c, rest,
                text::tr("Nothing was done yet. Each act, fault, change of weather and move of a lead is "
                         "kept here with its time. A press on a line goes back to it."),
                p);
        }
        std::size_t stands = 0;
        for (const view::Done& d : done)
            if (!d.undone) stands = d.depth;
        for (std::size_t n = done.size(); n-- > 0; y += pitch) row(x, c, {rest.x, y, rest.w, pitch}, done[n], stands);
        row(x, c, {rest.x, y, rest.w, pitch}, {0.0, {}, text::tr("As it stood at first"), 0, false}, stands);
        list.content_height(y + pitch - top + 4);
    }

    std::string csv(const view::Desk& desk) const override {
        std::string out = "clock,t [s],what,undone\n";
        for (const view::Done& d : desk.done()) {
            std::string words = d.words;
            for (std::size_t at = 0; (at = words.find('"', at)) != std::string::npos; at += 2) words.insert(at, 1, '"');
            out += fmt::format("{},{:.2f},\"{}\",{}\n", d.clock, d.t, words, d.undone ? "yes" : "no");
        }
        return out;
    }

  private:
    static void row(PanelContext& x, Canvas& c, const Box& box, const view::Done& d, std::size_t stands) {
        const view::Palette& p = x.palette();
        const Touch t = touch(x, fmt::format("edit {}", d.depth), box);
        if (t.hovered) c.fill(box, p.rule.faded(0.35));
        if (t.focused) focus_mark(x, box);
        const bool here = d.depth == stands;
        const paint::TextLook soft{.colour = p.ink_soft, .size = 12},
            figure{.colour = p.ink_soft, .size = 12, .face = Face::mono, .align = Align::right},
            words{.colour = d.undone ? p.ink_soft
                            : here   ? p.accent
                                     : p.ink,
                  .face = here ? Face::strong : Face::words};
        const double y = box.y + 15, left = box.x + time_wide, state = box.right() - state_wide;
        if (!d.clock.empty()) c.text({left - 14, y}, view::clock_text(d.t), figure);
        c.text({left, y}, c.fitted(d.words, state - left - 8, words), words);
        if (d.undone || here) c.text({state, y}, d.undone ? text::tr("undone") : text::tr("stands"), soft);
        if (t.clicked) x.desk->walk_edits(d.depth);
        const char* press = d.undone ? text::tr("Press: do all up to here again") : text::tr("Press: go back to this");
        hint(x, t, d.clock.empty() ? press : text::say("Done at {}. {}", d.clock, press));
    }
};

}  // namespace

std::unique_ptr<Panel> edits() { return std::make_unique<Edits>(); }

}  // namespace sunshaft::panels
