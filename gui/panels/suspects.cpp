// Suspects: where the fault is, who it may be, and what each of them would have shown beside what was read. It weighs
// the notebook while the site runs on; it knows nothing that was not read.
#include <fmt/format.h>

#include <algorithm>
#include <cmath>

#include "diagnose/answer_words.hpp"
#include "model/desk.hpp"
#include "model/suspect_rows.hpp"
#include "panels/meters_words.hpp"
#include "panels/panels.hpp"
#include "shell/widgets.hpp"
#include "text/figure.hpp"
#include "text/language.hpp"
#include "text/letters.hpp"

namespace sunshaft::panels {
namespace {

using namespace shell;

constexpr double kSuspectRow = 18.0, kSuspectGap = 8.0;
constexpr std::size_t kOpened = 3;  // suspects with their readings

class Suspects : public Panel {
  public:
    explicit Suspects(std::shared_ptr<view::SharedView> shared) : shared_(std::move(shared)) {}
    Place place() const override { return Place::inside; }
    const char* title() const override { return text::id("Suspects"); }

    void draw(PanelContext& x) override {
        if (!x.desk) return;
        x.desk->suspect();
        if (x.desk->sealed()) return closed(x);
        const auto s = x.desk->suspicion();
        const std::vector<double> would = std::exchange(shared_->would_leave, {});
        const view::Palette& p = x.palette();
        head(x, *s);
        Box rest = x.box;
        rest.cut_top(34);
        rest = rest.inset(16, 0);
        if (s->of.seen.empty() || !s->trouble.empty() || !s->answer) {
            x.canvas().paragraph(rest.top_left(), rest.w, beginning(*s), {.colour = p.ink_soft});
            if (s->open) x.wake_in(0.2);
            return;
        }
        if (s->open) x.wake_in(0.2);
        Child child = x.child("suspects", {rest.x, rest.y, rest.w + 10, x.box.bottom() - rest.y - 4}, true);
        Canvas c = child.canvas();
        const double top = rest.y - child.scrolled();
        Box column{rest.x, top, rest.w, 1e6};
        where(x, c, *s->answer, would, column);
        doubts(c, *s, column, p);
        list(x, c, *s->answer, would, column);
        speaks_against(c, *s->answer, column, p);
        child.content_height(column.y - top + 8);
    }

  private:
    void closed(PanelContext& x) const {
        head(x, {});
        x.canvas().paragraph({x.box.x + 16, x.box.y + 40}, x.box.w - 32,
                             text::tr("Closed until you have said what it is (Call-out, in the strip)."),
                             {.colour = x.palette().ink_soft});
    }

    void head(PanelContext& x, const view::Suspicion& s) const {
        PanelContext left = x;
        Canvas c = x.canvas();
        const std::string_view back = text::tr("Inside the reading");
        const double wide = button_width(c, back);
        const Box key{x.box.right() - 16 - wide, x.box.y + 5, wide, 22};
        if (button(x, "back to the reading", key, back)) x.window.shown.suspects = false;
        hint(x, key, text::tr("Back to the way of the wave through the meters (K)"));
        left.box.w -= wide + 12;
        const std::size_t n = s.of.seen.size();
        std::string right;
        if (s.open) right = text::say("weighing, {:.0f} %", 100 * s.progress);
        else if (n > 0 && s.answer) right = text::say("readings weighed: {}", n);
        panel_title(left, text::tr(title()), right);
    }

    static std::string beginning(const view::Suspicion& s) {
        if (!s.trouble.empty()) return text::say("The readings cannot be weighed: {}", s.trouble);
        if (s.of.seen.empty())
            return text::tr(
                "No reading is noted yet. Place the leads, wait for the figure, press N. What you note is weighed "
                "here, while the site runs on. You see where the fault lies, what it may be, and which test tells "
                "most next.");
        return text::tr(
            "Every fault of the catalogue is tried on this site, at every place, and compared with what was read. "
            "The first time takes longest; what was worked out is kept.");
    }

    // ---- first: where is it?
    void where(PanelContext& x, Canvas& c, const diagnose::Answer& a, const std::vector<double>& would, Box& column) {
        const view::Palette& p = x.palette();
        paint::title(c, {column.x, column.y + 14}, text::tr("First: where is it?"), p.ink_soft);
        c.text({column.right(), column.y + 14},
               would.empty() ? text::tr("six shares, together 1") : text::tr("if it showed that"),
               {.colour = p.ink_soft, .size = 12, .align = Align::right});
        column.cut_top(22);
        const auto now = view::hundredths(would.empty() ? a.where : view::where_with(a, would));
        const auto most = static_cast<std::size_t>(std::ranges::max_element(now) - now.begin());
        Box row = column.cut_top(78);
        const double wide = std::floor((row.w - 5 * kSuspectGap) / 6);
        for (std::size_t n = 0; n < 6; ++n) {
            Box all = row.cut_left(wide);
            row.cut_left(kSuspectGap);
            Box frame = all;
            frame.h = 40;
            const bool asked = shared_->asked_where == n;
            const Touch t = touch(x, fmt::format("where {}", diagnose::wheres[n]), all);
            const double share = now[n] / 100.0;
            c.fill(frame, p.sheet);
            const double high = std::round((frame.h - 2) * share);
            const bool filled = n == most && share >= 0.45;
            c.fill(Box{frame.x + 1, frame.bottom() - 1 - high, frame.w - 2, high},
                   filled ? p.signal[0].colour : view::mix(p.sheet, p.signal[0].colour, 0.3));
            c.frame(frame, asked ? p.accent : t.hovered ? p.ink : p.rule_strong, asked ? 2.0 : 1.0);
            // The figure stands in the frame where the bar leaves it legible: on the full bar in the sheet's colour.
            c.text({frame.centre().x, frame.bottom() - 8}, text::fixed(share, 2),
                   {.colour = filled ? p.sheet : p.ink,
                    .face = n == most ? Face::mono_strong : Face::mono,
                    .align = Align::centre});
            std::string_view words = text::tr(view::where_words[n]);
            double y = frame.bottom() + 14;
            for (;;) {
                const auto end = words.find('\n');
                c.text({frame.centre().x, y}, words.substr(0, end),
                       {.colour = n == most ? p.ink : p.ink_soft,
                        .size = 12,
                        .face = n == most ? Face::strong : Face::words,
                        .align = Align::centre});
                if (end == std::string_view::npos) break;
                words.remove_prefix(end + 1);
                y += 14;
            }
            if (t.focused) focus_mark(x, all);
            if (t.clicked) shared_->asked_where = asked ? std::nullopt : std::optional(n);
            hint(x, t,
                 asked ? text::tr("All suspects again")
                       : text::tr("Only what lies there; its part of the drawing gets a frame"));
        }
        column.cut_top(6);
    }

    // ---- what to read again before the order below is believed
    static void doubts(Canvas& c, const view::Suspicion& s, Box& column, const view::Palette& p) {
        std::vector<std::string> said;
        const diagnose::Answer& a = *s.answer;
        if (a.fits < diagnose::nothing_fits && !a.suspects.empty() && !a.suspects.front().columns.empty())
            said.emplace_back(text::tr("Nothing here fits all readings: do not trust the order below yet."));
        for (const auto& d : a.doubtful)
            if (d.probability > 0.3 && s.answered && d.seen < s.answered->seen.size())
                said.push_back(text::say("Read {} again: {}.", s.answered->seen[d.seen].what(), d.why));
        for (const std::string& line : said) {
            const paint::TextLook look{.colour = p.ink};
            const double high = c.paragraph_height(column.w - 40, line, look) + 12;
            const Box box = column.cut_top(high);
            c.fill(box, p.accent_tint);
            c.fill(Box{box.x, box.y, 3, box.h}, p.accent);
            paint::icon(c, paint::Icon::warning, {box.x + 18, box.y + 15}, 14, p.accent);
            c.paragraph({box.x + 34, box.y + 6}, column.w - 40, line, look);
            column.cut_top(6);
        }
    }

    // ---- who is it?
    void list(PanelContext& x, Canvas& c, const diagnose::Answer& a, const std::vector<double>& would, Box& column) {
        const view::Palette& p = x.palette();
        const paint::TextLook soft{.colour = p.ink_soft, .size = 12, .align = Align::right};
        paint::title(c, {column.x, column.y + 14}, text::tr("Suspects"), p.ink_soft);
        const Columns at = columns(column);
        c.text({at.read, column.y + 14}, text::tr("you read"), soft);
        c.text({at.healthy, column.y + 14}, text::tr("healthy"), soft);
        c.text({at.suspect, column.y + 14}, text::tr("this suspect"), soft);
        column.cut_top(22);
        std::size_t shown = 0, left = 0;
        double rest = 0.0;
        for (std::size_t n = 0; n < a.suspects.size(); ++n) {
            const diagnose::Suspect& s = a.suspects[n];
            if (shared_->asked_where && s.lies[*shared_->asked_where] < 0.5) continue;
            if (shown >= (all_ ? 12 : kOpened) || (!all_ && shown > 0 && s.probability < 0.01)) {
                ++left, rest += s.probability;
                continue;
            }
            card(x, c, a, n, would, shown++, column);
        }
        if (shown == 0)
            column.cut_top(c.paragraph({column.x, column.y}, column.w, text::tr("None of the suspects lies there."),
                                       {.colour = p.ink_soft}) +
                           6);
        if (left == 0 && !all_) return;
        const std::string words =
            all_ ? std::string(text::tr("Fewer")) : text::say("{} more, together {}", left, diagnose::chance(rest));
        Box row = column.cut_top(24);
        const double wide = std::min(row.w, button_width(c, words, {.plain = true, .size = 12}));
        if (button(x, "more suspects", row.cut_left(wide), words, {.plain = true, .size = 12})) all_ = !all_;
        column.cut_top(6);
    }

    struct Columns {
        double what, read, healthy, suspect;  // left edge; right edges
    };
    static Columns columns(const Box& box) {
        const double right = box.right() - 12, each = std::min(104.0, 0.19 * box.w);
        return {box.x + 28, right - 2 * each, right - each, right};
    }

    static void card(PanelContext& x, Canvas& c, const diagnose::Answer& a, std::size_t n,
                     const std::vector<double>& would, std::size_t shown, Box& column) {
        const view::Palette& p = x.palette();
        const diagnose::Suspect& s = a.suspects[n];
        const auto rows = view::telling(s, shown >= kOpened ? 0 : shown == 0 ? 4 : 2);
        std::string more = diagnose::how_bad(s);
        if (n > 0 && s.group == a.suspects.front().group)
            more += (more.empty() ? "" : "; ") + std::string(text::tr("no test at hand tells it from the first"));
        if (n == 0 && s.split)
            more += (more.empty() ? "" : "; ") + text::say("only {} would tell it from others, about {:.0f} min",
                                                           diagnose::test_name(s.split->test), s.split->minutes);
        const double text = column.w - 40;
        const paint::TextLook name{.colour = p.ink, .size = shown == 0 ? 15.0 : 13.0, .face = Face::strong},
            soft{.colour = p.ink_soft, .size = 12};
        const std::string chance = diagnose::chance(n < would.size() ? would[n] : s.probability);
        const paint::TextLook odds{.colour = p.ink, .face = Face::strong, .align = Align::right};
        const double name_wide = text - c.width(chance, odds) - 16;
        const std::string title = fmt::format("{}  {}", n + 1, text::sentence_begins(diagnose::name(s)));
        const double name_high = c.paragraph_height(name_wide, title, name),
                     more_high = more.empty() ? 0.0 : c.paragraph_height(text, more, soft) + 2;
        const Box box = column.cut_top(8 + name_high + more_high + kSuspectRow * static_cast<double>(rows.size()) + 8);
        paint::sheet(c, box, p.sheet, p.rule);
        c.fill(Box{box.x, box.y, 3, box.h}, n == 0 ? p.signal[0].colour : p.rule_strong);
        double y = box.y + 8;
        c.paragraph({box.x + 14, y}, name_wide, title, name);
        c.text({box.right() - 12, y + (shown == 0 ? 15 : 13)}, chance, odds);
        y += name_high;
        if (!more.empty()) c.paragraph({box.x + 28, y + 1}, text - 14, more, soft);
        y += more_high;
        const Columns at = columns(box);
        for (const diagnose::Compared* row : rows) {
            y += kSuspectRow;
            const paint::TextLook figure{.colour = std::abs(row->off_healthy) > view::far_off ? p.accent : p.ink,
                                         .face = Face::mono,
                                         .align = Align::right},
                plain{.colour = p.ink_soft, .face = Face::mono, .align = Align::right},
                strong{.colour = p.ink, .face = Face::mono_strong, .align = Align::right};
            const double each = at.suspect - at.healthy - 8;
            c.text({at.what, y - 4}, c.fitted(row->what, at.read - each - at.what - 4, soft), soft);
            c.text({at.read, y - 4}, c.fitted(with_symbols(row->read), each, figure), figure);
            c.text({at.healthy, y - 4}, c.fitted(with_symbols(row->healthy), each, plain), plain);
            c.text({at.suspect, y - 4}, c.fitted(with_symbols(row->suspect), each, strong), strong);
        }
        column.cut_top(6);
    }

    // ---- what would change our mind
    static void speaks_against(Canvas& c, const diagnose::Answer& a, Box& column, const view::Palette& p) {
        if (!a.against || a.suspects.empty()) return;
        const diagnose::Compared& row = a.suspects.front().columns[*a.against];
        paint::title(c, {column.x, column.y + 14}, text::tr("Speaks most against the first suspect"), p.ink_soft);
        column.cut_top(22);
        const std::string words =
            with_symbols(text::say("{}: you read {}, this suspect would show {}.", row.what, row.read, row.suspect));
        const paint::TextLook look{.colour = p.ink};
        const Box box = column.cut_top(c.paragraph_height(column.w - 26, words, look) + 14);
        paint::sheet(c, box, p.sheet, p.rule);
        c.fill(Box{box.x, box.y, 3, box.h}, p.accent);
        c.paragraph({box.x + 14, box.y + 7}, column.w - 26, words, look);
    }

    std::shared_ptr<view::SharedView> shared_;
    bool all_ = false;  // also those that are hardly suspected
};

}  // namespace

std::unique_ptr<shell::Panel> suspects(std::shared_ptr<view::SharedView> shared) {
    return std::make_unique<Suspects>(std::move(shared));
}

}  // namespace sunshaft::panels
