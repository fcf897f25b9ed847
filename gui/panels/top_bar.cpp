// Top bar: the site, time (run, hold, step, rate as kept), the weather in figures, projector view and theme.
#include <fmt/format.h>

#include <array>
#include <cmath>
#include <vector>

#include "bench/hazards.hpp"
#include "model/desk.hpp"
#include "model/format.hpp"
#include "model/tongue.hpp"
#include "panels/panels.hpp"
#include "shell/widgets.hpp"
#include "text/language.hpp"

namespace sunshaft::panels {
namespace {

using namespace shell;

class TopBar : public Panel {
  public:
    Place place() const override { return Place::top_bar; }
    const char* title() const override { return text::id("Time and weather"); }
    void draw(PanelContext& x) override {
        Canvas c = x.canvas();
        if (!x.desk) return;
        const auto s = x.desk->snapshot();
        const view::Palette& p = x.palette();
        const double middle = x.box.y + x.box.h / 2;
        view::Box rest = x.box.inset(16, 0);
        const bool narrow = x.box.w < 1400, tight = x.box.w < 1100;

        keys(x);

        // From the right: theme, projector. Narrow windows name the theme they would change to.
        if (narrow) {
            const bool dark = x.window.dark;
            const view::Box key = rest.cut_right(tight ? 64 : 88).inset(0, 12);
            if (button(x, "theme", key, dark ? text::tr("Light") : text::tr("Dark"))) x.window.dark = !dark;
            hint(x, key, text::tr("Change to the other theme (F9)"));
        } else {
            const std::array<std::string_view, 2> themes = {text::tr("Light"), text::tr("Dark")};
            int theme = x.window.dark ? 1 : 0;
            if (key_row(x, "theme", rest.cut_right(146).inset(0, 12), themes, theme)) x.window.dark = theme == 1;
        }
        rest.cut_right(8);
        if (view::next_language() != text::language()) {
            language(x, rest.cut_right(36).inset(0, 12));
            rest.cut_right(8);
        }
        view::Box projector = rest.cut_right(narrow ? 36 : 102).inset(0, 12);
        if (button(x, "projector", projector, narrow ? "" : text::tr("Projector"),
                   {.chosen = x.window.projector, .icon = paint::Icon::projector}))
            x.window.projector = !x.window.projector;
        hint(x, projector,
             text::tr("Two displays and the way of the wave, large enough for the back row. F11 or Esc brings the "
                      "bench back"));
        rest.cut_right(8);
        if (x.desk->wall) wall(x, rest, *x.desk->wall);
        rest.cut_right(8);

        if (!tight) {
            rest.cut_left(
                c.text({rest.x, middle + 7}, "Sunshaft", {.colour = p.ink, .size = 20, .face = Face::strong}) + 16);
            separator(c, rest, p);
        }
        const paint::TextLook strong{.colour = p.ink, .face = Face::strong}, small{.colour = p.ink_soft, .size = 12};
        const double name_room = tight ? 130 : narrow ? 160 : 220;
        const double w1 =
            c.text({rest.x, middle - 4}, c.fitted(s->site->scenario.site.name, name_room, strong), strong);
        std::string what = summary(*s);
        // the depth stands in the drawing too
        if (c.width(what, small) > name_room) what = what.substr(0, what.find(','));
        const double w2 = c.text({rest.x, middle + 14}, c.fitted(what, name_room, small), small);
        const view::Box site{rest.x - 6, rest.y + 8, std::max(w1, w2) + 12, rest.h - 16};
        const Touch touched = touch(x, "choose site", site);
        if (touched.hovered || x.window.choosing_site) c.frame(site, p.rule_strong);
        if (touched.focused) focus_mark(x, site);
        if (touched.clicked) x.window.choosing_site = !x.window.choosing_site;
        if (!x.window.choosing_site) hint(x, touched, text::tr("Choose another site"));
        rest.cut_left(std::max(w1, w2) + 16);
        separator(c, rest, p);

        const bool running = x.desk->running();
        const double key = tight ? 64 : 72;
        if (button(x, "run", rest.cut_left(key).inset(0, 12), text::tr("Run"),
                   {.chosen = running, .icon = paint::Icon::play}))
            x.desk->run();
        rest.cut_left(6);
        if (button(x, "hold", rest.cut_left(key).inset(0, 12), text::tr("Hold"),
                   {.chosen = !running, .icon = paint::Icon::hold}))
            x.desk->hold();
        rest.cut_left(6);
        view::Box step_box = rest.cut_left(key).inset(0, 12);
        if (button(x, "step", step_box, text::tr("Step"), {.icon = paint::Icon::step})) x.desk->step();
        hint(x, step_box, text::tr("To the next switching instant or event (space: run and hold, full stop: step)"));
        rest.cut_left(16);

        // Rate: one thousandth to a hundred times real time.
        view::Box slow = rest.cut_left(tight ? 120 : 150);
        double rate = x.desk->rate();
        c.text({slow.x, middle - 6},
               rate < 0.999 ? text::tr("Slow motion") : (rate > 1.001 ? text::tr("Faster") : text::tr("Rate")),
               {.colour = p.ink_soft, .size = 12});
        c.text({slow.right(), middle - 6}, view::rate_text(rate),
               {.colour = p.ink, .size = 12, .face = Face::strong, .align = paint::Align::right});
        double wanted = rate;
        if (slider(x, "rate", {slow.x, middle, slow.w, 16}, wanted,
                   {.low = 1e-3, .high = 100, .logarithmic = true, .filled = false}))
            x.desk->rate(snapped(wanted));
        rest.cut_left(16);
        view::Box kept = rest.cut_left(96);
        if (s->running == view::Running::hold) past(x, kept, *s);
        else achieved(c, kept, *s, p);
        rest.cut_left(8);
        if (rest.w > 60) separator(c, rest, p);

        clock(c, rest, *s, p, x.window.is_calm() && running ? 0 : 3);
    }

  private:
    // The code of the one spoken; a press speaks the next. What is open in one language goes on in it.
    static void language(PanelContext& x, const view::Box& key) {
        std::string code = text::language();
        for (char& ch : code) ch = static_cast<char>(ch - 32);
        const bool busy = x.desk->call() || x.desk->lesson();
        if (button(x, "language", key, code, {.off = busy}) && !busy) x.window.language = view::next_language();
        hint(x, key,
             busy ? text::tr("A lesson or a call-out goes on in the language it was begun in")
                  : text::tr("The language of all words. A press speaks the next one"));
    }
    // What a class does not see is said to whoever keeps it from them. A press gives it back.
    static void wall(PanelContext& x, view::Box& rest, view::WallState& state) {
        if (state == view::WallState{}) return;
        Canvas c = x.canvas();
        const std::string_view words = state.blank ? text::tr("Wall blank") : text::tr("Wall frozen");
        const view::Box key = rest.cut_right(button_width(c, words)).inset(0, 12);
        if (button(x, "wall", key, words, {.chosen = true})) state = {};
        hint(x, key, text::tr("The second screen. A press shows the bench there again (Shift+F11, Shift+F10)"));
        rest.cut_right(8);
    }
    static void achieved(Canvas& c, const view::Box& box, const view::Snapshot& s, const view::Palette& p) {
        const double middle = box.y + box.h / 2;
        c.text({box.x, middle - 6}, text::tr("Achieved"), {.colour = p.ink_soft, .size = 12});
        c.text({box.x, middle + 13},
               s.keeps_up ? view::rate_text(s.wanted_rate) : text::say("{}, behind", view::rate_text(s.achieved_rate)),
               {.colour = s.keeps_up ? p.ink : p.accent, .size = 12, .face = Face::strong});
    }
    // While time is held: the last minute, to be walked through.
    static void past(PanelContext& x, const view::Box& box, const view::Snapshot& s) {
        Canvas c = x.canvas();
        const view::Palette& p = x.palette();
        const double middle = box.y + box.h / 2, back = s.now_t - s.t;
        c.text({box.x, middle - 6}, text::tr("Held"), {.colour = p.ink_soft, .size = 12});
        c.text({box.right(), middle - 6},
               back < 0.005 ? text::tr("now") : text::say("{} s ago", text::fixed(back, back < 10 ? 2 : 1)),
               {.colour = back < 0.005 ? p.ink : p.accent,
                .size = 12,
                .face = Face::strong,
                .align = paint::Align::right});
        const double reach = s.now_t - s.past_from;
        if (reach < 0.5) return;
        double at = -back;
        const view::Box track{box.x, middle, box.w, 16};
        if (slider(x, "back", track, at, {.low = -reach, .high = 0.0, .filled = false})) x.desk->walk_to(s.now_t + at);
        hint(x, track,
             text::tr("The last minute, to be looked at again. Comma: a tenth of a second back. Run: on from now"));
    }
    static double snapped(double rate) {
        // Round figures are easier to say: 1, 2, 5 in each decade.
        const double decade = std::pow(10.0, std::floor(std::log10(rate) + 1e-9)), lead = rate / decade;
        return decade * (lead < 1.5 ? 1 : lead < 3.5 ? 2 : lead < 7.5 ? 5 : 10);
    }
    static void keys(PanelContext& x) {
        if (x.input.typing) return;
        if (x.input.take(Key::Space)) x.desk->running() ? x.desk->hold() : x.desk->run();
        if (x.input.take(Key::Period)) x.desk->step();
        if (x.input.take(Key::Comma)) x.desk->walk_by(-0.1);
        if (x.input.take(Key::Comma, false, true)) x.desk->walk_by(-1.0);
        if (x.input.take(Key::Z, true)) x.desk->undo();
        if (x.input.take(Key::Y, true) || x.input.take(Key::Z, true, true)) x.desk->redo();
    }
    static std::string summary(const view::Snapshot& s) {
        const auto& w = s.site->works;
        if (w.supply.kind == site::Supply::Kind::bench)
            return text::say("{} source on the bench", text::quantity(w.supply.voltage, "V"));
        if (w.supply.kind == site::Supply::Kind::mains)
            return text::say("{}, {} mains", text::quantity(w.supply.voltage, "V"),
                             text::quantity(w.supply.frequency, "Hz"));
        const std::size_t strings = w.array.strings.size(), modules = strings ? w.array.strings[0].modules.size() : 0;
        const std::string array =
            strings == 1 ? text::say("1 string of {}", modules) : text::say("{} strings of {}", strings, modules);
        return w.water.pump.index() == 0
                   ? array
                   : text::say("{}, pump at {}", array, text::quantity(w.water.pump_depth, "m", 3));
    }
    static void separator(Canvas& c, view::Box& rest, const view::Palette& p) {
        c.rule({rest.x, rest.y + 12}, {rest.x, rest.bottom() - 12}, p.rule);
        rest.cut_left(16);
    }
    // Figure over its name, in the room both need; left out where there is none.
    static void pair(Canvas& c, view::Box& rest, const std::string& number, const std::string& unit, const char* below,
                     const view::Palette& p) {
        const paint::ValueLook look{
            .number = p.ink, .unit = p.ink_soft, .size = 15, .face = Face::strong, .align = paint::Align::left};
        const paint::TextLook small{.colour = p.ink_soft, .size = 12};
        const double width = std::max(paint::value_width(c, number, unit, look), c.width(below, small)) + 18;
        if (rest.w < width - 18) return;
        const double middle = rest.y + rest.h / 2;
        paint::value(c, {rest.x, middle - 4}, number, unit, look);
        c.text({rest.x, middle + 14}, below, small);
        rest.cut_left(width);
    }
    static void clock(Canvas& c, view::Box rest, const view::Snapshot& s, const view::Palette& p, int decimals) {
        const auto& w = s.site->works;
        const double t = s.t;
        if (t < 60) pair(c, rest, text::fixed(t, decimals), "s", text::tr("simulated"), p);
        else pair(c, rest, view::clock_text(t), t < 3600 ? "min" : "h", text::tr("simulated"), p);
        if (w.supply.kind != site::Supply::Kind::array) return;
        if (rest.w > 130) {
            paint::icon(c, paint::Icon::sun, {rest.x + 10, rest.y + rest.h / 2}, 20, p.sun);
            rest.cut_left(30);
        }
        pair(c, rest, text::fixed(w.array.sunlight(), 0), "W/m²",
             w.array.covered ? text::tr("covered") : text::tr("on the array"), p);
        const double air = s.site->scenario.sun.air_temperature_degC;
        pair(c, rest, text::fixed(air, 0), "°C", text::tr("air"), p);
        // Under a cover the modules cool to the air.
        pair(c, rest, text::fixed(w.array.covered ? air : w.array.module_degC, 0), "°C", text::tr("modules"), p);
    }
};

class Cautions : public Panel {
  public:
    Place place() const override { return Place::cautions; }
    const char* title() const override { return text::id("Before you touch"); }
    void draw(PanelContext& x) override {
        if (!x.desk) return;
        Canvas c = x.canvas();
        const view::Palette& p = x.palette();
        const auto s = x.desk->snapshot();
        c.is_popup();  // as little to be covered as a card
        c.fill(x.box, p.band);
        c.fill(view::Box{x.box.x, x.box.y, 4, x.box.h}, p.accent);
        const double base = x.box.y + x.box.h / 2 + 4.5;
        double at = x.box.x + 20;
        if (!s->failure.empty()) {
            paint::icon(c, paint::Icon::warning, {at + 8, x.box.y + x.box.h / 2}, 16, p.accent);
            c.text({at + 26, base}, c.fitted(s->failure, x.box.w - 60, {.colour = p.accent}),
                   {.colour = p.accent, .face = Face::strong});
            return;
        }
        paint::icon(c, paint::Icon::warning, {at + 8, x.box.y + x.box.h / 2}, 16, p.accent);
        at += 26;
        at += c.text({at, base}, text::tr("Before you touch:"), {.colour = p.accent, .face = Face::strong}) + 6;
        // The longest words that fit; whole sentences, never cut.
        const paint::TextLook ink{.colour = p.ink};
        const auto said = bench::one_line(bench::standing(bench::scene(*s->site, s->now), !s->hidden));
        std::size_t n = 0;
        while (n + 1 < said.size() && c.width(said[n], ink) > x.box.right() - 16 - at) ++n;
        c.text({at, base}, said[n], ink);
        std::string all;
        for (const auto& line : s->cautions) all += (all.empty() ? "" : "\n") + line;
        if (!all.empty()) hint(x, x.box, all);
    }
};

}  // namespace

std::unique_ptr<shell::Panel> top_bar() { return std::make_unique<TopBar>(); }
std::unique_ptr<shell::Panel> cautions() { return std::make_unique<Cautions>(); }

}  // namespace sunshaft::panels
