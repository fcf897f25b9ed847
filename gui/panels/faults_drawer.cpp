// Fault drawer: what stands planted, with its severity; the catalogue to plant from, searched and grouped by place.
#include <fmt/format.h>

#include <algorithm>
#include <array>
#include <cmath>
#include <map>

#include "model/desk.hpp"
#include "model/format.hpp"
#include "panels/panels.hpp"
#include "shell/widgets.hpp"
#include "site/faults.hpp"
#include "text/language.hpp"
#include "text/letters.hpp"

namespace sunshaft::panels {
namespace {

using namespace shell;

std::string sentence(std::string_view words) {
    return words.starts_with("dc ") ? fmt::format("DC{}", words.substr(2)) : text::sentence_begins(words);
}

// Short enough for a row: the part before the colon of a title.
std::string short_title(const site::FaultRow& row) {
    const std::string all = text::tr(row.title);
    return sentence(all.substr(0, all.find(':')));
}

class FaultsDrawer : public Panel {
  public:
    explicit FaultsDrawer(std::shared_ptr<view::SharedView> shared) : shared_(std::move(shared)) {}
    Place place() const override { return Place::drawer; }
    const char* title() const override { return text::id("Faults"); }

    void draw(PanelContext& x) override {
        if (!x.desk) return;
        const view::Palette& p = x.palette();
        const auto s = x.desk->snapshot();
        view::Box rest = x.box;
        const bool hidden = x.desk->marks_hidden;
        drawer_title(x, text::tr(title()),
                     hidden ? text::tr("hidden") : text::say("{} planted", x.desk->edits().faults.size()));
        rest.cut_top(36);
        search_field(x, "search", rest.cut_top(32).inset(16, 0), search_,
                     text::tr("Search, for example: hot, open, dry"));
        rest.cut_top(10);
        view::Box foot = rest.cut_bottom(x.desk->sealed() ? 38 : 70);
        footer(x, foot);
        {
            Child child = x.child("faults", rest, true);
            Canvas c = child.canvas();
            const double top = rest.y - child.scrolled();
            double y = top;
            int number = 0;
            if (hidden) {
                const double wide = rest.w - 32;
                y +=
                    c.paragraph({rest.x + 16, y}, wide,
                                x.desk->sealed()
                                    ? text::tr("This is a call-out: what is wrong shows once you have said what it is.")
                                    : text::tr("Planted faults are hidden in every panel. You can still plant one "
                                               "from this list. Show faults to see or repair them."),
                                {.colour = p.ink_soft}) +
                    8;
            } else {
                const auto planted = x.desk->edits().faults;
                for (const site::Fault& f : planted) y = card(x, c, rest, y, f, ++number, *s);
            }
            y = catalogue(x, c, rest, y + 4, *s, p);
            child.content_height(y - top + 16);
        }
    }

  private:
    std::string told_;  // the planted fault whose advice is open
    void footer(PanelContext& x, view::Box box) {
        Canvas c = x.canvas();
        const view::Palette& p = x.palette();
        c.rule({box.x, box.y}, {box.right(), box.y}, p.rule);
        // When the next one sets in: at once, or once nobody looks for it any more.
        if (!x.desk->sealed()) {
            view::Box when = box.inset(16, 5);
            when = when.cut_top(26);
            c.text({when.x, when.y + 17}, text::tr("Sets in"), {.colour = p.ink_soft});
            when.cut_left(58);
            constexpr std::array<double, 4> after{0.0, 10.0, 60.0, 300.0};
            const std::array<std::string_view, 4> names{text::tr("now"), text::tr("in 10 s"), text::tr("in 1 min"),
                                                        text::tr("in 5 min")};
            int which = static_cast<int>(std::ranges::find(after, x.desk->comes_in_s) - after.begin());
            chooser(x, "sets in", when, names, which);
            x.desk->comes_in_s = after[static_cast<std::size_t>(std::clamp(which, 0, 3))];
            box.cut_top(32);
        }
        view::Box row = box.inset(10, 5);
        const bool hidden = x.desk->marks_hidden, any = hidden || !x.desk->edits().faults.empty();
        const auto wide_enough = [&](double usual, std::string_view words) {
            return std::max(usual, button_width(x.canvas(), words) - 8.0);
        };
        if (button(x, "heal all", row.cut_left(wide_enough(72, text::tr("Heal all"))), text::tr("Heal all"),
                   {.off = !any, .plain = true, .face = Face::strong, .colour = p.accent}))
            x.desk->heal_all();
        const std::string_view marks = hidden ? text::tr("Show faults") : text::tr("Hide faults");
        if (button(x, "marks", row.cut_left(wide_enough(116, marks)), marks, {.off = x.desk->sealed(), .plain = true}))
            x.desk->marks_hidden = !hidden;
        const std::string_view undo = text::tr("Undo  Ctrl+Z");
        if (button(x, "undo", row.cut_right(wide_enough(92, undo)), undo, {.off = !x.desk->can_undo(), .plain = true}))
            x.desk->undo();
    }

    double card(PanelContext& x, Canvas& c, const view::Box& column, double y, const site::Fault& f, int number,
                const view::Snapshot& s) {
        const view::Palette& p = x.palette();
        const site::FaultRow* row = site::find_fault(f.kind);
        if (!row) return y;
        const bool graded = row->most > row->least;
        const std::string id = f.kind + "@" + f.place;
        const bool told = told_ == id;
        const std::string first = text::say("First: {}", row->caution.said()), advice = sentence(text::tr(row->to_do)),
                          seen = text::say("The owner notices: {}", text::tr(row->owner_sees));
        const paint::TextLook small{.colour = p.ink, .size = 12};
        const double wide = column.w - 56;
        const double more_high = told ? c.paragraph_height(wide, first, small) +
                                            c.paragraph_height(wide, advice, small) +
                                            c.paragraph_height(wide, seen, small) + 20
                                      : 0.0;
        const paint::TextLook strong{.colour = p.ink, .face = Face::strong};
        const double place_w = c.width(f.place, {.colour = p.accent});
        const double title_wide = column.w - 32 - 56 - place_w,
                     wrapped = c.paragraph_height(title_wide, short_title(*row), strong) - c.line_height(strong);
        const view::Box box{column.x + 16, y, column.w - 32, (graded ? 122.0 : 86.0) + wrapped + more_high};
        const bool chosen =
            shared_->chosen_fault && shared_->chosen_fault->kind == f.kind && shared_->chosen_fault->place == f.place;
        paint::sheet(c, box, p.accent_tint, chosen ? p.accent : p.rule_strong);
        paint::fault_mark(c, {box.x + 18, box.y + 20}, number, 18, p);
        c.paragraph({box.x + 34, box.y + 12}, title_wide, short_title(*row), strong);
        c.text({box.right() - 12, box.y + 25}, f.place, {.colour = p.accent, .align = paint::Align::right});
        hint(x, view::Box{box.x, box.y, box.w, 34}, sentence(text::tr(row->what)));
        const std::string since =
            f.start > s.t
                ? text::say("Sets in at {} s", text::fixed(f.start, 2))
                : (f.start > 0 ? text::say("{}, since {} s", sentence(text::tr(row->group)), text::fixed(f.start, 2))
                               : sentence(text::tr(row->group)));
        const double top = box.y + wrapped;
        c.text({box.x + 12, top + 44}, since, {.colour = p.ink_soft, .size = 12});
        double below = top + 54;
        if (graded) {
            double value = f.severity;
            const auto key = std::pair(f.kind, f.place);
            if (const auto held = moving_.find(key); held != moving_.end()) value = held->second;
            const bool log = row->least >= 0 && row->most / std::max(row->least, 1e-3) > 300;
            const double most = std::isfinite(row->most) ? row->most : 1e4;
            const double low = log ? std::max(row->least, most * 1e-6) : row->least;
            const std::string unit = site::severity_unit(*row);
            const view::Figure shown = view::figure(value, unit == "ohm" ? "Ω" : unit.empty() ? row->unit : unit, 3);
            c.text({box.x + 12, top + 64}, text::tr("Severity"), {.colour = p.ink_soft});
            paint::value(c, {box.right() - 12, top + 64}, shown.number, shown.unit,
                         {.number = p.ink, .unit = p.ink_soft, .size = 13, .face = Face::mono});
            double position = std::clamp(value, low, most);
            if (slider(x, "severity " + id, {box.x + 12, top + 70, box.w - 24, 16}, position,
                       {.low = low, .high = most, .logarithmic = log}))
                moving_[key] = position;
            // The site is compiled anew when the hand lets go, not at every pixel.
            else if (moving_.contains(key) && !x.input.down[left_button]) {
                x.desk->plant(f.kind, f.place, moving_[key]);
                moving_.erase(key);
            }
            below += 36;
        }
        view::Box keys{box.x + 12, below, box.w - 24, 24};
        if (button(x, "heal " + id, keys.cut_left(64), text::tr("Heal"))) x.desk->heal(f.kind, f.place);
        keys.cut_left(8);
        view::Box more = keys.cut_left(96);
        if (button(x, "what " + id, more, text::tr("What to do"), {.chosen = told})) told_ = told ? std::string() : id;
        double at = below + 32;
        if (told)
            for (const std::string* words : {&first, &advice, &seen})
                at += c.paragraph({box.x + 12, at}, wide, *words,
                                  words == &first ? paint::TextLook{.colour = p.accent, .size = 12} : small) +
                      6;
        return y + box.h + 10;
    }

    double catalogue(PanelContext& x, Canvas& c, const view::Box& column, double y, const view::Snapshot& s,
                     const view::Palette& p) {
        const std::string wanted = text::lower(search_);
        std::string group;
        bool open = false;
        const auto found = [&](const site::FaultRow& row) {
            return wanted.empty() ||
                   text::lower(fmt::format("{} {} {} {} {} {} {} {} {}", row.kind, row.group, row.title, row.what,
                                           row.owner_sees, text::tr(row.group), text::tr(row.title), text::tr(row.what),
                                           text::tr(row.owner_sees)))
                           .find(wanted) != std::string::npos;
        };
        for (const site::FaultRow& row : site::fault_catalogue()) {
            if (!found(row)) continue;
            if (group != row.group) {
                group = row.group;
                open = !wanted.empty() || open_[group];
                const auto count = std::ranges::count_if(site::fault_catalogue(),
                                                         [&](const auto& r) { return group == r.group && found(r); });
                const view::Box head{column.x, y, column.w, 30};
                c.rule({column.x + 16, y}, {column.right() - 16, y}, p.rule);
                paint::icon(c, open ? paint::Icon::chevron_down : paint::Icon::chevron_right, {column.x + 21, y + 15},
                            9, p.ink);
                c.text({column.x + 34, y + 20}, sentence(text::tr(group)), {.colour = p.ink, .face = Face::strong});
                c.text({column.right() - 16, y + 20}, fmt::format("{}", count),
                       {.colour = p.ink_soft, .align = paint::Align::right});
                const Touch t = touch(x, "group " + group, head);
                if (t.focused) focus_mark(x, head);
                if (t.clicked) open_[group] = !open_[group];
                y += 30;
            }
            if (!open) continue;
            y = entry(x, c, column, y, row, s, p);
        }
        if (group.empty())
            c.text({column.x + 16, y + 20}, text::tr("Nothing in the catalogue says that."), {.colour = p.ink_soft});
        return y;
    }

    double entry(PanelContext& x, Canvas& c, const view::Box& column, double y, const site::FaultRow& row,
                 const view::Snapshot& s, const view::Palette& p) {
        const auto places = row.places(s.site->works);
        const std::vector<site::Fault> faults = x.desk->edits().faults;
        const auto placed = std::ranges::find_if(faults.rbegin(), faults.rend(),
                                                 [&](const site::Fault& f) { return f.kind == row.kind; });
        const bool planted = !x.desk->marks_hidden && placed != faults.rend();
        const std::string state = places.empty() ? text::tr("not here")
                                  : planted      ? text::tr("planted")
                                                 : text::tr("plant");
        const paint::TextLook quiet{.colour = planted ? p.accent : p.ink_soft, .align = paint::Align::right};
        const auto colour = places.empty() ? p.ink_off : (planted ? p.accent : p.ink);
        const double title_wide = column.w - 42 - 28 - c.width(state, quiet);
        const double high = c.paragraph_height(title_wide, short_title(row), {.colour = colour}),
                     line_high = std::max(24.0, high + 8);
        const view::Box line{column.x + 26, y, column.w - 42, line_high};
        if (planted) c.fill(line, p.accent_tint);
        const Touch t = touch(x, std::string("row ") + row.kind, line);
        if (t.hovered && !places.empty()) c.fill(line, p.accent_tint);
        if (t.focused) focus_mark(x, line);
        c.paragraph({line.x + 8, line.y + 4}, title_wide, short_title(row), {.colour = colour});
        c.text({line.right() - 8, y + 16.5}, state, quiet);
        hint(x, t, sentence(text::tr(row.what)) + "\n" + text::say("The owner notices: {}", text::tr(row.owner_sees)));
        if (t.clicked && !places.empty()) {
            // The first press plants, where there are several places at the first; the places then stand below to
            // choose from.
            const bool open = choosing_ == row.kind;
            if (!planted && !open) x.desk->plant(row.kind, places.front(), row.usual);
            choosing_ = open || places.size() == 1 ? "" : row.kind;
        }
        y += line_high;
        if (choosing_ != row.kind) return y;
        // One small key a place, wrapped.
        double at = line.x + 8;
        y += 4;
        const double keys_top = y;
        for (const std::string& place : places) {
            const double w = button_width(c, place);
            if (at + w > line.right()) at = line.x + 8, y += 28;
            const bool here = !x.desk->marks_hidden && std::ranges::any_of(faults, [&](const site::Fault& f) {
                return f.kind == row.kind && f.place == place;
            });
            const view::Box key{at, y, w, 24};
            if (button(x, std::string(row.kind) + " at " + place, key, place, {.chosen = here}) && !here) {
                // `faults` is what stood before.
                if (placed == faults.rend() || x.input.shift) x.desk->plant(row.kind, place, row.usual);
                else x.desk->move_fault(row.kind, std::string(placed->place), place);
                return y + 32;
            }
            hint(x, key,
                 here ? text::tr("The fault is here") : text::tr("Moves the fault here. With Shift: here as well"));
            at += w + 4;
        }
        x.keep_clear({line.x, keys_top, line.w, y + 24 - keys_top});  // to be pressed next
        return y + 32;
    }

    std::shared_ptr<view::SharedView> shared_;
    std::string search_, choosing_;
    std::map<std::string, bool> open_{{"cable and splice", true}};
    std::map<std::pair<std::string, std::string>, double> moving_;
};

}  // namespace

std::unique_ptr<shell::Panel> faults_drawer(std::shared_ptr<view::SharedView> shared) {
    return std::make_unique<FaultsDrawer>(std::move(shared));
}

}  // namespace sunshaft::panels
