// Notebook: the readings taken, one line each. A press puts the leads back where they lay; an entry can be struck out,
// never changed. Written as a case it is what `sunshaft suspects` reads.
#include <fmt/format.h>

#include <algorithm>
#include <cmath>
#include <utility>

#include "model/desk.hpp"
#include "model/format.hpp"
#include "model/suspect_rows.hpp"
#include "panels/meters_words.hpp"
#include "panels/panels.hpp"
#include "shell/widgets.hpp"
#include "text/language.hpp"

namespace sunshaft::panels {
namespace {

using namespace shell;
using view::Box;

constexpr double note_pitch = 22.0;

class NotebookPanel : public Panel {
  public:
    Place place() const override { return Place::strip; }
    const char* title() const override { return text::id("Notebook"); }

    void draw(PanelContext& x) override {
        if (!x.desk) return;
        const view::Palette& p = x.palette();
        Box rest = x.box.inset(16, 8);
        Box head = rest.cut_top(28);
        keys(x, head);
        const auto& notes = x.desk->notebook.notes();
        rest.cut_top(6);
        const Columns at = columns(rest);
        heads(x, rest.cut_top(20), at, p);
        Child list = x.child("notes", rest, true);
        Canvas c = list.canvas();
        const double top = rest.y - list.scrolled();
        double y = top;
        const auto known = x.desk->suspicion();
        if (notes.empty()) {
            return nothing_yet(
                c, rest,
                text::tr("Nothing is noted yet. Place the leads, wait for the figure, press N. Each entry "
                         "keeps what was shown, where, by which meter, and what had been done before."),
                p);
        }
        // The newest first: what was read last is what is talked about.
        for (std::size_t n = notes.size(); n-- > 0; y += note_pitch)
            row(x, c, {rest.x, y, rest.w, note_pitch}, n, at, *known);
        list.content_height(y - top + 4);
    }

    void draw_over(PanelContext& x) override {
        if (x.desk && !x.input.typing && x.input.take(Key::N)) note(x);
    }

    std::string csv(const view::Desk& desk) const override {
        if (desk.notebook.notes().empty()) return {};
        const auto quoted = [](std::string text) {
            for (std::size_t at = 0; (at = text.find('"', at)) != std::string::npos; at += 2) text.insert(at, 1, '"');
            return '"' + text + '"';
        };
        std::string out = "t [s],where,state,meter,mode,shown,healthy,struck out\n";
        for (const view::Note& n : desk.notebook.notes())
            out += fmt::format("{:.2f},{},{},{},{},{},{},{}\n", n.t, quoted(view::place_words(n)),
                               quoted(view::state_words(n)), quoted(n.meter), meter::mode_name(n.mode), quoted(n.shown),
                               quoted(n.healthy), n.struck ? "yes" : "no");
        return out;
    }

  private:
    std::string typed_;
    int typed_at_ = 0;  // of the places it can have been read at

    struct Columns {
        double time, where, state, meter, shown, healthy, strike;  // left edges; time, shown: right edges
    };
    static Columns columns(const Box& box) {
        const double w = box.w - 54, left = box.x;
        // No room to say with what: the hover text does.
        if (w < 740)
            return {left + 62,
                    left + 74,
                    left + 74 + 0.24 * w,
                    left + 0.76 * w - 76,
                    left + 0.76 * w,
                    left + 0.76 * w + 14,
                    box.right() - 50};
        return {left + 62,           left + 74,
                left + 74 + 0.2 * w, left + 74 + 0.42 * w,
                left + 0.76 * w,     left + 0.76 * w + 14,
                box.right() - 50};
    }

    static void note(PanelContext& x) {
        const std::size_t before = x.desk->notebook.notes().size();
        x.desk->note();
        const auto& notes = x.desk->notebook.notes();
        if (notes.size() == before) {
            x.ask.notice = x.desk->last_error();
            return;
        }
        std::string figures;
        for (std::size_t n = before; n < notes.size(); ++n)
            figures += (figures.empty() ? "" : ", ") + with_symbols(notes[n].shown);
        x.ask.notice = text::say("Noted: {}.", figures);
    }

    void keys(PanelContext& x, Box head) {
        Canvas c = x.canvas();
        const auto wide = [&](std::string_view words) { return button_width(c, words) + 8; };
        if (button(x, "note", head.cut_left(wide(text::tr("Note the readings"))), text::tr("Note the readings")))
            note(x);
        hint(x, Box{head.x - wide(text::tr("Note the readings")), head.y, wide(text::tr("Note the readings")), head.h},
             text::tr("Keeps what the displays show now. Key N"));
        head.cut_left(8);
        const bool any = !x.desk->case_text().empty();
        const Box save = head.cut_left(wide(text::tr("Save as a case")));
        if (button(x, "save case", save, text::tr("Save as a case"), {.off = !any}) && any)
            x.ask.write_case = x.desk->case_text();
        hint(x, save, text::tr("A file with the site, the sky and these readings, for: sunshaft suspects FILE"));
        head.cut_left(8);
        const Box who = head.cut_left(wide(text::tr("Suspects")));
        bool& shown = x.window.shown.suspects;
        if (button(x, "who", who, text::tr("Suspects"), {.chosen = shown})) {
            shown = !shown;
            x.window.shown.inside = x.window.shown.meters = true;
        }
        hint(x, who, text::tr("Weighs these readings: who may it be, and what to measure next (K)"));
        head.cut_left(16);
        type(x, head);
    }

    // What was read elsewhere, as people say it: "3,6", "OL", "about 230 V", "no water".
    void type(PanelContext& x, Box head) {
        const bool pump = x.desk->snapshot()->site->works.water.pump.index() != 0;
        std::vector<std::string_view> places{text::tr("where the leads lie"), text::tr("in the clamp")};
        if (pump)
            for (const char* gauge :
                 {"flow", "head", "water", "tank", "sound", "outlet", "vibration", "box", "lug", "smell", "modules"})
                places.emplace_back(gauge);
        typed_at_ = std::min(typed_at_, static_cast<int>(places.size()) - 1);
        constexpr double list_wide = 168, least = 120;
        if (head.w < list_wide + 8 + least) return;
        chooser(x, "typed where", head.cut_left(list_wide), places, typed_at_);
        head.cut_left(8);
        const Box field = head.cut_left(std::min(260.0, head.w));
        if (!entry_field(x, "typed reading", field, typed_, text::tr("or type what you read, Enter"))) return;
        const std::string gauge = typed_at_ < 2 ? "" : std::string(places[static_cast<std::size_t>(typed_at_)]);
        x.desk->note_typed(gauge, typed_at_ == 1, std::exchange(typed_, {}));
        x.ask.notice = x.desk->last_error().empty() ? text::tr("Noted.") : x.desk->last_error();
    }

    static bool tells_meter(const Columns& at) { return at.meter < at.shown - 100; }
    static std::string with_words(const view::Note& note) {
        if (!note.gauge.empty()) return text::tr("as told");
        return fmt::format("{}, {}", note.typed ? text::tr("some meter") : note.meter.c_str(), mode_words(note.mode));
    }

    static void heads(PanelContext& x, const Box& row, const Columns& at, const view::Palette& p) {
        Canvas c = x.canvas();
        const paint::TextLook look{.colour = p.ink_soft, .size = 12};
        paint::TextLook right = look;
        right.align = Align::right;
        const double y = row.y + 13;
        c.text({at.time, y}, text::tr("time"), right);
        c.text({at.where, y}, text::tr("where"), look);
        c.text({at.state, y}, text::tr("done before"), look);
        if (tells_meter(at)) c.text({at.meter, y}, text::tr("with"), look);
        c.text({at.shown, y}, text::tr("shown"), right);
        c.text({at.healthy, y}, text::tr("healthy would read"), look);
        c.rule({row.x, row.bottom() - 0.5}, {row.right(), row.bottom() - 0.5}, p.rule);
    }

    static void row(PanelContext& x, Canvas& c, const Box& box, std::size_t n, const Columns& at,
                    const view::Suspicion& known) {
        const view::Palette& p = x.palette();
        const view::Note note = x.desk->notebook.notes()[n];
        const Box again{box.x, box.y, at.strike - 8 - box.x, box.h};
        const Touch t = touch(x, fmt::format("note {}", n + 1), again);
        if (t.hovered) c.fill(again, p.rule.faded(0.35));
        if (t.focused) focus_mark(x, again);
        const Colour ink = note.struck ? p.ink_soft : p.ink;
        const double y = box.y + 15;
        const paint::TextLook words{.colour = ink}, soft{.colour = p.ink_soft, .size = 12},
            figure{.colour = ink, .face = Face::mono, .align = Align::right};
        c.text({at.time, y}, view::clock_text(note.t),
               {.colour = p.ink_soft, .size = 12, .face = Face::mono, .align = Align::right});
        const auto put = [&](double left, double right, const std::string& text, const paint::TextLook& look) {
            c.text({left, y}, c.fitted(text, right - left - 8, look), look);
        };
        const std::string state = view::state_words(note);
        put(at.where, at.state, view::place_words(note), words);
        put(at.state, at.meter, state.empty() ? text::tr("as it stands") : state, soft);
        if (tells_meter(at)) put(at.meter, at.shown - 76, with_words(note), soft);
        c.text({at.shown, y}, with_symbols(note.shown), figure);
        // A band where it was asked for when the reading was taken, else what the readings weighed say.
        const diagnose::Compared* weighed = note.struck ? nullptr : view::compared(known, note);
        const std::string healthy = !note.healthy.empty() ? note.healthy : weighed ? weighed->healthy : "";
        const bool far = weighed && std::abs(weighed->off_healthy) > view::far_off;
        if (far) paint::icon(c, paint::Icon::cross, {at.healthy + 5, box.y + 11}, 9, p.accent);
        if (!healthy.empty()) put(at.healthy + (weighed ? 16 : 0), at.strike, with_symbols(healthy), soft);
        if (note.struck) c.rule({at.where, box.y + 11}, {at.shown, box.y + 11}, p.ink_soft);
        const Box strike{at.strike, box.y + 2, 40, box.h - 4};
        if (button(x, fmt::format("strike {}", n + 1), strike, note.struck ? text::tr("undo") : text::tr("strike"),
                   {.plain = true, .size = 12}))
            x.desk->notebook.strike(n);
        if (t.clicked) x.desk->look_again(note);
        hint(x, t,
             text::say_of(note.struck
                              ? text::id("{}, {}; struck out, it does not count. Press: the leads go there again")
                              : text::id("{}, {}. Press: the leads go there again"),
                          with_words(note), state.empty() ? text::tr("as it stood") : text::say("before: {}", state)));
    }
};

}  // namespace

std::unique_ptr<shell::Panel> notebook() { return std::make_unique<NotebookPanel>(); }

}  // namespace sunshaft::panels
