// Next test: what to do now that the readings noted leave several suspects: before you touch, how it is done, and what
// each outcome would mean. A hand on an outcome shows beside it what would be left of the suspects.
#include <fmt/format.h>

#include <algorithm>

#include "diagnose/answer_words.hpp"
#include "model/desk.hpp"
#include "model/suspect_rows.hpp"
#include "panels/meters_words.hpp"
#include "panels/panels.hpp"
#include "shell/widgets.hpp"
#include "site/faults.hpp"
#include "text/figure.hpp"
#include "text/language.hpp"
#include "text/letters.hpp"

namespace sunshaft::panels {
namespace {

using namespace shell;
using view::Box;

constexpr double kColumn = 250.0;  // the least a column of words takes

class NextTest : public Panel {
  public:
    explicit NextTest(std::shared_ptr<view::SharedView> shared) : shared_(std::move(shared)) {}
    Place place() const override { return Place::strip; }
    const char* title() const override { return text::id("Next test"); }

    void draw(PanelContext& x) override {
        if (!x.desk) return;
        x.desk->suspect();
        if (x.desk->sealed()) return closed(x);
        const auto s = x.desk->suspicion();
        const view::Palette& p = x.palette();
        Box rest = x.box.inset(16, 8);
        if (s->open) x.wake_in(0.2);
        const diagnose::Answer* a = s->answer && s->with_tests ? s->answer.get() : nullptr;
        if (!a || s->of.seen.empty()) return beginning(x, *s, rest);
        verdict(x, *a, rest, p);
        if (a->next.empty()) return;
        const std::size_t n = std::min(shared_->chosen_test, a->next.size() - 1);
        chooser(x, *a, n, rest.cut_top(30));
        rest.cut_top(8);
        const diagnose::Proposal& test = a->next[n];
        Child child = x.child("test", {rest.x, rest.y, rest.w + 8, rest.h}, true);
        Canvas c = child.canvas();
        const double top = rest.y - child.scrolled();
        const int abreast = std::clamp(static_cast<int>(rest.w / kColumn), 1, 3);
        const double wide = (rest.w - 10.0 - 24.0 * (abreast - 1)) / abreast;
        double low = top;
        std::array<double, 3> y{top, top, top};
        for (int part = 0; part < 3; ++part) {
            // Fewer columns than parts: one below the other in the first.
            const int col = std::min(part, abreast - 1);
            double& at = y[static_cast<std::size_t>(col)];
            const Box box{rest.x + col * (wide + 24.0), at, wide, 1e6};
            at = part == 0   ? hours(c, *s, hazards(c, n == 0 ? diagnose::hazards(*a) : test.hazards, box, p), box, p)
                 : part == 1 ? how(x, c, test, box, p)
                             : outcomes(x, c, *a, test, box);
            at += 10;
            low = std::max(low, at);
        }
        for (int col = 1; col < abreast; ++col) {
            const double at = rest.x + col * (wide + 24.0) - 12.0;
            c.rule({at, top}, {at, low - 10}, p.rule);
        }
        child.content_height(low - top);
    }

  private:
    static void closed(PanelContext& x) {
        x.canvas().paragraph({x.box.x + 16, x.box.y + 12}, std::min(560.0, x.box.w - 32),
                             text::tr("Closed until you have said what it is (Call-out)."),
                             {.colour = x.palette().ink_soft});
    }

    // Nothing to weigh yet. When it can be tested is known all the same.
    static void beginning(PanelContext& x, const view::Suspicion& s, const Box& rest) {
        const view::Palette& p = x.palette();
        Child child = x.child("beginning", {rest.x, rest.y, rest.w + 8, rest.h}, true);
        Canvas c = child.canvas();
        const double top = rest.y - child.scrolled();
        const bool beside = s.today && rest.w > 2 * kColumn;
        const double wide = beside ? (rest.w - 34.0) / 2 : std::min(560.0, rest.w - 10.0);
        const double high = c.paragraph(
            {rest.x, top + 4}, wide,
            s.of.seen.empty() ? text::tr("No reading is noted yet. Place the leads, wait for the figure, press "
                                         "N: what tells most next is worked out from what you noted.")
            : s.open          ? text::say("What tells most next is being worked out, {:.0f} %. Who is suspected comes "
                                                   "first (K).",
                                          100 * s.progress)
                              : s.trouble,
            {.colour = p.ink_soft});
        const double low = beside ? top : top + high + 16;
        const double end = hours(c, s, low, {beside ? rest.x + wide + 24.0 : rest.x, low, wide, 1e6}, p);
        child.content_height(std::max(top + high + 4, end) - top);
    }

    // From which hour on what can be tested.
    static double hours(Canvas& c, const view::Suspicion& s, double y, const Box& box, const view::Palette& p) {
        const auto lines = s.today ? diagnose::words(*s.today) : std::vector<std::string>{};
        if (lines.empty()) return y;
        y = heading(c, {box.x, y + (y > box.y ? 10 : 0), box.w, box.h}, text::tr("When it can be tested"), p.ink_soft);
        for (const std::string& line : lines)
            y += c.paragraph({box.x, y}, box.w, with_symbols(line), {.colour = p.ink}) + 4;
        return y;
    }

    // In one line what is the cheapest now, with its minutes; before an act its caution.
    static void verdict(PanelContext& x, const diagnose::Answer& a, Box& rest, const view::Palette& p) {
        std::string words = a.stop.text;
        const bool acts = a.stop.advice == "lift" || a.stop.advice == "repair";
        const site::FaultRow* row = acts && !a.suspects.empty() ? site::find_fault(a.suspects.front().fault) : nullptr;
        if (row) words = text::say("Before you act: {} {}", row->caution.said(), words);
        const paint::TextLook look{.colour = p.ink, .size = 15.0, .face = Face::strong};
        Canvas c = x.canvas();
        rest.cut_top(c.paragraph({rest.x, rest.y}, rest.w, words, look) + 8);
        for (const std::string& waits : diagnose::stop_waits(a))
            rest.cut_top(c.paragraph({rest.x, rest.y}, rest.w, waits, {.colour = p.ink}) + 4);
    }

    // The tests that pay, the best first; others can be looked at.
    void chooser(PanelContext& x, const diagnose::Answer& a, std::size_t now, Box row) {
        Canvas c = x.canvas();
        for (std::size_t n = 0; n < a.next.size(); ++n) {
            const diagnose::Proposal& t = a.next[n];
            const std::string words = fmt::format("{}, {:.0f} min", t.name, t.minutes);
            const double wide = button_width(c, words);
            if (wide > row.w) break;
            const Box key = row.cut_left(wide);
            if (button(x, fmt::format("test {}", n + 1), key, words, {.chosen = n == now})) shared_->chosen_test = n;
            const bool shared = n > 0 && t.visit == a.next.front().visit;
            hint(x, key,
                 shared ? text::say("{} bits of what is not known yet; on the same visit {:.0f} min",
                                    text::fixed(t.gain_bits, 1), t.minutes_there)
                        : text::say("{} bits of what is not known yet", text::fixed(t.gain_bits, 1)));
            row.cut_left(8);
        }
    }

    static double heading(Canvas& c, const Box& box, std::string_view words, view::Colour colour) {
        paint::title(c, {box.x, box.y + 12}, words, colour);
        return box.y + 22;
    }

    static double hazards(Canvas& c, const std::vector<bench::Hazard>& of, const Box& box, const view::Palette& p) {
        double y = heading(c, box, text::tr("Before you touch"), p.accent);
        const auto words = bench::words(of);
        if (words.empty())
            y += c.paragraph({box.x, y}, box.w, text::tr("Nothing is touched for it."), {.colour = p.ink_soft}) + 6;
        for (const std::string& line : words) {
            paint::icon(c, paint::Icon::warning, {box.x + 8, y + 9}, 14, p.accent);
            y += c.paragraph({box.x + 24, y}, box.w - 24, line, {.colour = p.ink}) + 6;
        }
        return y;
    }

    static double how(PanelContext& x, Canvas& c, const diagnose::Proposal& test, const Box& box,
                      const view::Palette& p) {
        double y = heading(c, box, text::tr("How"), p.ink_soft);
        if (const std::string waits = diagnose::in_this_light(test); !waits.empty())
            y += c.paragraph({box.x, y}, box.w, waits, {.colour = p.ink, .face = Face::strong}) + 6;
        const std::string what = sentence(with_symbols(test.how));
        y += c.paragraph({box.x, y}, box.w, what, {.colour = p.ink}) + 6;
        const auto steps = view::steps_of(test);
        for (std::size_t n = 0; n < steps.size(); ++n) {
            c.text({box.x, y + 13}, fmt::format("{}", n + 1), {.colour = p.ink_soft, .face = Face::mono});
            y += c.paragraph({box.x + 20, y}, box.w - 20, sentence(steps[n]), {.colour = p.ink}) + 4;
        }
        if (!test.what.gauge.empty()) return y;
        y += 4;
        y += c.paragraph({box.x, y}, box.w,
                         text::say("Meter: {}, {}.", test.meter.empty() ? text::tr("any") : test.meter.c_str(),
                                   mode_words(test.what.mode)),
                         {.colour = p.ink_soft}) +
             6;
        const std::string_view words = text::tr("Put the leads there");
        const Box key{box.x, y, button_width(c, words), 26};
        if (button(x, "lay the leads", key, words)) lay(*x.desk, test.what);
        hint(x, key, text::tr("Leads and mode only. What has to be done before is yours to do"));
        return y + 30;
    }

    static std::string sentence(std::string_view words) {
        std::string out = text::sentence_begins(words);
        if (!out.empty() && out.back() != '.') out += '.';
        return out;
    }

    static void lay(view::Desk& desk, const bench::Observation& what) {
        bench::Probes probes = desk.probes();
        if (what.probes.around.empty()) probes.red = what.probes.red, probes.black = what.probes.black;
        else probes.around = what.probes.around;
        desk.measure(probes, meter::takes_clamp(what.mode) ? desk.mode() : what.mode);
    }

    double outcomes(PanelContext& x, Canvas& c, const diagnose::Answer& a, const diagnose::Proposal& test,
                    const Box& box) {
        const view::Palette& p = x.palette();
        double y = heading(c, box, text::tr("What each outcome would mean"), p.ink_soft);
        for (const diagnose::Outcome& o : test.outcomes) {
            const std::string chance = diagnose::chance(o.probability), shown = with_symbols(o.shown);
            const paint::TextLook odds{.colour = p.ink_soft, .size = 12, .align = Align::right},
                figure{.colour = p.ink, .face = Face::mono}, means{.colour = p.ink};
            const double beside = c.width(chance, odds) + 12;
            const std::string who = meaning(a, o);
            const double figures_high = c.paragraph_height(box.w - beside - 8, shown, figure),
                         high = figures_high + c.paragraph_height(box.w - 8, who, means) + 10;
            const Box row{box.x - 4, y - 4, box.w + 8, high};
            const Touch t = touch(x, fmt::format("outcome {}", &o - test.outcomes.data() + 1), row);
            if (t.hovered || t.focused) {
                c.fill(row, p.band);
                shared_->would_leave = o.after;
                x.wake_in(0.0);
            }
            if (t.focused) focus_mark(x, row);
            c.paragraph({box.x, y}, box.w - beside - 8, shown, figure);
            c.text({box.right(), y + 13}, chance, odds);
            c.paragraph({box.x, y + figures_high}, box.w - 8, who, means);
            hint(x, t, text::tr("What this would leave of each suspect is shown beside (K)"));
            y += high;
            c.rule({box.x, y - 6}, {box.right(), y - 6}, p.rule);
        }
        return y;
    }

    // The suspects an outcome would leave standing, by their names.
    static std::string meaning(const diagnose::Answer& a, const diagnose::Outcome& o) {
        std::vector<std::size_t> order;
        for (std::size_t n = 0; n < std::min(o.after.size(), a.suspects.size()); ++n)
            if (o.after[n] >= 0.1) order.push_back(n);
        std::ranges::stable_sort(order, [&](std::size_t l, std::size_t r) { return o.after[l] > o.after[r]; });
        std::string words;
        for (const std::size_t n : order)
            words += fmt::format("{}{}, {}", words.empty() ? "" : "; ", diagnose::name(a.suspects[n]),
                                 diagnose::chance(o.after[n]));
        return words.empty() ? text::tr("No suspect would stand out.") : sentence(words);
    }

    std::shared_ptr<view::SharedView> shared_;
};

}  // namespace

std::unique_ptr<shell::Panel> next_test(std::shared_ptr<view::SharedView> shared) {
    return std::make_unique<NextTest>(std::move(shared));
}

}  // namespace sunshaft::panels
