// Call-out: the owner's complaint, the visit so far, what it is said to be, and afterwards the account. What is wrong
// is nowhere in the window until then.
#include <fmt/format.h>

#include <algorithm>
#include <array>
#include <cmath>
#include <random>

#include "callout/seal.hpp"
#include "diagnose/answer_words.hpp"
#include "model/desk.hpp"
#include "model/session_store.hpp"
#include "panels/meters_words.hpp"
#include "panels/panels.hpp"
#include "shell/widgets.hpp"
#include "site/faults.hpp"
#include "text/words.hpp"

namespace sunshaft::panels {
namespace {

using namespace shell;
using view::Box;

constexpr double kRow = 22.0;

class CallOut : public Panel {
  public:
    Place place() const override { return Place::strip; }
    const char* title() const override { return "Call-out"; }

    void draw(PanelContext& x) override {
        if (!x.desk) return;
        x.desk->meet_call();
        const auto s = x.desk->call();
        if (s && s->open) x.wake_in(0.2);
        Box rest = x.box.inset(16, 8);
        if (!s || (!s->what && !s->open)) return invite(x, rest, s ? s->trouble : "");
        if (!s->what)
            return void(x.canvas().paragraph({rest.x, rest.y + 4}, rest.w, "Something is being thought of ...",
                                             {.colour = x.palette().ink_soft}));
        const double wide = std::floor((rest.w - 48) / 3);
        std::array<Box, 3> column;
        for (Box& c : column) c = rest.cut_left(wide), rest.cut_left(24);
        for (const std::size_t n : {1U, 2U}) {
            Canvas c = x.canvas();
            c.rule({column[n].x - 12, column[n].y}, {column[n].x - 12, column[n].bottom()}, x.palette().rule);
        }
        if (s->over()) {
            shown_ = std::min(shown_, s->accounts.size() - 1);
            return account(x, *s, column);
        }
        complaint(x, *s, column[0]);
        if (s->open)
            return void(x.canvas().paragraph(
                {column[1].x, column[1].y + 4}, column[1].w,
                fmt::format("Your readings are weighed one after the other, {:.0f} %.", 100 * s->progress),
                {.colour = x.palette().ink_soft}));
        name(x, *s, column[1]);
        rules(x, column[2]);
    }

  private:
    static double heading(Canvas& c, const Box& box, std::string_view words, const view::Palette& p) {
        paint::title(c, {box.x, box.y + 12}, words, p.ink_soft);
        return box.y + 22;
    }

    void invite(PanelContext& x, const Box& box, const std::string& trouble) {
        Canvas c = x.canvas();
        const view::Palette& p = x.palette();
        double y = box.y + 4;
        y += c.paragraph(
                 {box.x, y}, std::min(640.0, box.w),
                 "A call-out: something is wrong with this site, or nothing is, and nobody is told what. You hear "
                 "the owner, measure, disconnect, note what you read, and say what it is. Then the account shows "
                 "what was wrong and what your readings bore.",
                 {.colour = p.ink}) +
             10;
        // Who sits here, and how it is played.
        double left = box.x;
        if (names_.empty()) {
            names_ = x.desk->learners;  // as the command line had them
            names_.resize(2);
        }
        std::vector<std::string> who = names_;
        for (std::size_t n = 0; n < who.size(); ++n) {
            search_field(x, n == 0 ? "learner 1" : "learner 2", {left, y, 200, 28}, who[n],
                         n == 0 ? "Your name" : "A second name");
            left += 208;
        }
        names_ = who;
        std::erase(who, "");
        x.desk->learners = who;
        const std::array<std::string_view, 2> ways{"Training", "Exam"};
        int way = x.desk->terms.exam ? 1 : 0;
        chooser(x, "how", {left, y, 160, 28}, ways, way);
        x.desk->terms.exam = way == 1;
        y += 36;
        left = box.x;
        for (const auto& [level, words] : {std::pair{1, "Common faults that stop the water"}, {2, "All that shows"}}) {
            const Box key{left, y, button_width(c, words), 28};
            if (button(x, fmt::format("call {}", level), key, words))
                x.desk->draw_call({std::random_device()(), level});
            left = key.right() + 8;
        }
        if (who != asked_for_ || x.input.now > asked_at_ + 5.0) {
            asked_for_ = who;
            asked_at_ = x.input.now;
            open_ = x.desk->unfinished_call();
            if (open_ && view::session_site(open_->site) != view::session_site(x.desk->truth()->site->scenario.file))
                open_.reset();  // of another site
        }
        if (open_) {
            constexpr std::string_view words = "Take up what you left";
            if (button(x, "take up call", {left, y, button_width(c, words), 28}, words)) take_up(x);
        }
        if (!trouble.empty()) c.paragraph({box.x, y + 40}, box.w, trouble, {.colour = p.accent});
    }

    void take_up(PanelContext& x) {
        try {
            callout::Callout call = callout::unsealed(open_->sealed, "journal");
            call.site = open_->site;
            x.desk->bring_call(call);
        } catch (const std::exception& e) {
            x.ask.notice = e.what();
        }
        open_.reset();
    }

    void complaint(PanelContext& x, const view::Call::State& s, const Box& box) const {
        Canvas c = x.canvas();
        const view::Palette& p = x.palette();
        double y = heading(c, box, "The owner says", p);
        y +=
            c.paragraph({box.x, y}, box.w, fmt::format("\u201c{}\u201d", s.what->said), {.colour = p.ink, .size = 15}) +
            14;
        const auto& notes = x.desk->notebook.notes();
        const auto line = [&](const std::string& words) {
            y += c.paragraph({box.x, y}, box.w, words, {.colour = p.ink_soft}) + 4;
        };
        line(fmt::format("{:.0f} min on site, {} readings noted (N), {} unsafe.", x.desk->minutes_on_site(),
                         std::ranges::count_if(notes, [](const view::Note& n) { return !n.struck; }),
                         x.desk->snapshot()->unsafe_acts));
        if (const auto& who = x.desk->learners; who.size() > 1) {
            // They change roles with every five readings.
            const std::size_t turn = notes.size() / 5 % 2;
            line(fmt::format("{} has the meter, {} the notes.", who[turn], who[1 - turn]));
        }
        // Eyes, ears and gauges; a press notes what they tell.
        y += 4;
        double left = box.x;
        const auto reads = gauges(*x.desk->snapshot());
        for (const auto& [gauge, words] : reads) {
            const double wide = button_width(c, words);
            if (left > box.x && left + wide > box.right()) left = box.x, y += 28;
            if (y + 26 > box.bottom()) break;
            if (button(x, "look " + gauge, {left, y, wide, 24}, words, {.plain = true})) x.desk->look(gauge);
            left += wide + 6;
        }
        y += 30;
        if (!s.trouble.empty()) c.paragraph({box.x, y + 6}, box.w, s.trouble, {.colour = p.accent});
    }

    // What can be read without a meter on this site.
    static std::vector<std::pair<std::string, std::string>> gauges(const view::Snapshot& s) {
        std::vector<std::pair<std::string, std::string>> list{{"lamps", "Lamps"},
                                                              {"drive_V", "Display V"},
                                                              {"drive_A", "Display A"},
                                                              {"drive_stop", "Last stop"},
                                                              {"sound", "Listen"}};
        if (s.site->works.water.pump.index() != 0)
            list.insert(list.end(), {{"outlet", "Outlet"},
                                     {"flow", "Bucket"},
                                     {"head", "Gauge"},
                                     {"water", "Dip meter"},
                                     {"tank", "Tank"}});
        return list;
    }

    // The catalogue by its titles; healthy and too little sun are answers too.
    std::vector<callout::Named> fitting() const {
        std::vector<callout::Named> list;
        const std::string wanted = text::lower(search_);
        const auto take = [&](const callout::Named& n) {
            if (text::lower(callout::title_of(n)).find(wanted) != std::string::npos ||
                n.fault.find(wanted) != std::string::npos)
                list.push_back(n);
        };
        take({"health", ""});
        take({"low-sun", ""});
        for (const site::FaultRow& row : site::fault_catalogue())
            if (row.group != std::string_view("operator and meter")) take({row.kind, ""});
        return list;
    }

    void name(PanelContext& x, const view::Call::State& s, Box box) {
        Canvas c = x.canvas();
        const view::Palette& p = x.palette();
        const auto& who = x.desk->learners;
        heading(c, box, who.size() < 2 ? "Say what it is" : fmt::format("{} says what it is", who[s.named.size()]), p);
        box.cut_top(22);
        search_field(x, "search call", box.cut_top(30), search_, "Search, for example: splice, open, dry");
        box.cut_top(6);
        Box foot = box.cut_bottom(60);
        {
            Child child = x.child("named", box, true);
            Canvas list = child.canvas();
            const double top = box.y - child.scrolled();
            double y = top;
            for (const callout::Named& n : fitting()) {
                const std::string words = callout::title_of(n);
                const paint::TextLook plain{.colour = p.ink};
                const Box row{box.x, y, box.w - 12, list.paragraph_height(box.w - 24, words, plain) + 6};
                const Touch t = touch(x, "named " + n.fault, row);
                const bool on = chosen_ == n.fault;
                if (on || t.hovered) list.fill(row, on ? p.accent_tint : p.band);
                if (t.focused) focus_mark(x, row);
                list.paragraph({row.x + 6, y + 3}, box.w - 24, words, {.colour = on ? p.accent : p.ink});
                if (t.clicked) chosen_ = n.fault, place_ = 0;
                y += row.h;
            }
            child.content_height(y - top);
        }
        const site::FaultRow* row = site::find_fault(chosen_);
        const std::vector<std::string> places =
            row ? row->places(x.desk->snapshot()->site->works) : std::vector<std::string>{};
        foot.cut_top(6);
        Box line = foot.cut_top(26);
        if (places.size() > 1) {
            const std::vector<std::string_view> names(places.begin(), places.end());
            place_ = std::min(place_, static_cast<int>(names.size()) - 1);
            chooser(x, "named place", line.cut_left(std::min(150.0, line.w / 2)), names, place_);
            line.cut_left(8);
        }
        constexpr std::string_view words = "That is it";
        const Box key = line.cut_left(button_width(c, words));
        const bool none = chosen_.empty() || s.open;
        if (button(x, "that is it", key, words, {.off = none}) && !none) {
            x.desk->say({chosen_, places.empty() ? "" : places[static_cast<std::size_t>(std::max(0, place_))]});
            chosen_.clear();  // kept from the other
            search_.clear();
        }
        hint(x, key, "Ends the call-out: the account follows");
        line.cut_left(8);
        if (button(x, "leave call", line.cut_left(button_width(c, "Leave")), "Leave", {.plain = true})) leave(x);
    }

    void leave(PanelContext& x) {
        chosen_.clear();
        search_.clear();
        x.desk->leave_call();
    }

    static void rules(PanelContext& x, const Box& box) {
        Canvas c = x.canvas();
        const view::Palette& p = x.palette();
        double y = heading(c, box, "What counts", p);
        for (const auto& [rule, of, words] :
             {std::tuple{"C1", 45, "Right fault and place, and your readings bear it. A lucky guess earns nothing."},
              {"E1", 20, "How much your readings leave for what is wrong."},
              {"A1", 15, "Tests that promise much a minute when you choose them."},
              {"S1", 20, "No unsafe act. One caps the mark at 40."}}) {
            c.text({box.x, y + 13}, rule, {.colour = p.ink_soft, .face = Face::mono});
            c.text({box.x + 58, y + 13}, fmt::format("{}", of),
                   {.colour = p.ink, .face = Face::mono, .align = Align::right});
            y += c.paragraph({box.x + 72, y}, box.w - 72, words, {.colour = p.ink}) + 6;
        }
    }

    void account(PanelContext& x, const view::Call::State& s, const std::array<Box, 3>& column) {
        const callout::Account& a = *s.accounts[shown_];
        Canvas c = x.canvas();
        const view::Palette& p = x.palette();
        // What was wrong, and the mark. The way back stands at the top: what the program says stands at the foot.
        double y = column[0].y;
        c.text({column[0].x, y + 20}, fmt::format("{:.0f}", a.mark),
               {.colour = p.ink, .size = 20, .face = Face::strong});
        c.text({column[0].x + 44, y + 20}, "of 100", {.colour = p.ink_soft, .size = 15});
        const double back = button_width(c, "Back to the bench");
        if (button(x, "back to the bench", {column[0].right() - back, y, back, 26}, "Back to the bench"))
            return leave(x);
        y += 32;
        if (s.accounts.size() > 1) {
            const std::vector<std::string_view> who(x.desk->learners.begin(), x.desk->learners.end());
            int which = static_cast<int>(shown_);
            if (who.size() == s.accounts.size())
                chooser(x, "whose account", {column[0].x, y, column[0].w, 26}, who, which);
            shown_ = static_cast<std::size_t>(which);
            y += 32;
        }
        what_was_wrong(x, a, {column[0].x, y, column[0].w, column[0].bottom() - y}, p);
        steps(x, a, column[1], p);
        points(x, a, column[2], p);
    }

    static void what_was_wrong(PanelContext& x, const callout::Account& a, const Box& box, const view::Palette& p) {
        Child child = x.child("what was wrong", box, true);
        Canvas list = child.canvas();
        const double top = box.y - child.scrolled(), wide = box.w - 12;
        double y = top;
        const auto said = [&](std::string_view head, const std::string& words) {
            list.text({box.x, y + 12}, head, {.colour = p.ink_soft, .size = 12});
            y += 16;
            y += list.paragraph({box.x, y}, wide, words, {.colour = p.ink, .face = Face::strong}) + 6;
        };
        said("what was wrong", a.truth);
        said("you said", a.named);
        if (a.suffices < 0) {
            std::string missing;
            for (const std::string& m : a.missing) missing += (missing.empty() ? " Not done: " : ", ") + m;
            said("your evidence", missing.empty() ? "never sufficed" : "never sufficed." + missing);
        } else {
            const callout::Step& step = a.steps[static_cast<std::size_t>(a.suffices)];
            said("your evidence",
                 fmt::format("sufficed after minute {:.0f}, step {}", step.from + step.minutes, a.suffices + 1));
        }
        for (const std::string& act : a.unsafe) said("unsafe", act);
        child.content_height(y - top);
    }

    // Points, one thing done well, one to change.
    static void points(PanelContext& x, const callout::Account& a, const Box& box, const view::Palette& p) {
        Child child = x.child("points", box, true);
        Canvas c = child.canvas();
        const double top = box.y - child.scrolled(), wide = box.w - 12;
        double y = heading(c, {box.x, top, box.w, box.h}, "Points", p);
        for (const callout::Point& point : a.points) {
            c.text({box.x, y + 13}, point.rule, {.colour = p.ink_soft, .face = Face::mono});
            c.text({box.x + 92, y + 13}, fmt::format("{:.0f} of {:.0f}", point.points, point.of),
                   {.colour = p.ink, .face = Face::mono, .align = Align::right});
            const std::string why = point.step < 0 ? point.why : fmt::format("{} Step {}.", point.why, point.step + 1);
            y += c.paragraph({box.x + 104, y}, wide - 104, why, {.colour = p.ink}) + 5;
        }
        y += 4;
        for (const auto& [head, words] : {std::pair{"done well", &a.well}, {"change next time", &a.change}}) {
            c.text({box.x, y + 12}, head, {.colour = p.ink_soft, .size = 12});
            y += 16;
            y += c.paragraph({box.x, y}, wide, *words, {.colour = p.ink}) + 6;
        }
        child.content_height(y - top);
    }

    // Both ways on one scale of time.
    static double ways(Canvas& c, const callout::Account& a, const Box& box, const view::Palette& p) {
        const double whole = std::max({a.minutes, a.best.minutes, 1.0});
        const double from = box.x + 132, scale = (box.right() - 12 - from) / whole;
        double y = box.y;
        const auto lane = [&](std::string_view who, double minutes) {
            c.text({box.x, y + 13}, who, {.colour = p.ink_soft, .size = 12});
            c.text({from - 8, y + 13}, fmt::format("{:.0f} min", minutes),
                   {.colour = p.ink, .size = 12, .face = Face::mono, .align = Align::right});
        };
        const auto part = [&](double begin, double minutes, bool needless) {
            if (minutes <= 0.0) return;
            const Box b{from + begin * scale, y + 3, std::max(1.0, minutes * scale - 2), 12};
            c.fill(b, needless ? p.accent_tint : p.signal[0].colour);
            // Needless is crossed out: colour alone is no sign.
            if (needless) c.rule({b.x, b.y + 6}, {b.right(), b.y + 6}, p.accent);
        };
        lane("you", a.minutes);
        for (const callout::Step& s : a.steps) part(s.from, s.minutes, s.needless && !s.free);
        y += 18;
        lane("a short way", a.best.minutes);
        for (const callout::Leg& l : a.best.legs) part(l.from, l.minutes, false);
        return y + 22;
    }

    // Of a list as many as there is room for, and how many more there are.
    static std::string whole_parts(const Canvas& c, const std::string& list, double wide, const paint::TextLook& look) {
        std::vector<std::string> parts;
        for (std::size_t from = 0; from <= list.size();) {
            const std::size_t to = std::min(list.find(", ", from), list.size());
            parts.push_back(list.substr(from, to - from));
            from = to + 2;
        }
        std::string text;
        for (std::size_t n = parts.size(); n > 0; --n) {
            text.clear();
            for (std::size_t k = 0; k < n; ++k) text += (k ? ", " : "") + parts[k];
            if (n < parts.size()) text += fmt::format(" +{}", parts.size() - n);
            if (c.width(text, look) <= wide) break;
        }
        return text;
    }
    // Of a name the words there is room for.
    static std::string whole_words(const Canvas& c, std::string name, double wide, const paint::TextLook& look) {
        while (c.width(name, look) > wide && name.find(' ') != std::string::npos) name.resize(name.rfind(' '));
        return name;
    }

    static void steps(PanelContext& x, const callout::Account& a, Box box, const view::Palette& p) {
        Canvas head = x.canvas();
        box.cut_top(ways(head, a, box, p) - box.y);
        const double chance_at = box.right() - 12, left_at = box.right() - 128, shown_at = box.right() - 160;
        const paint::TextLook soft{.colour = p.ink_soft, .size = 12, .align = Align::right};
        paint::title(head, {box.x, box.y + 12}, "Your way", p.ink_soft);
        head.text({chance_at, box.y + 12}, "the truth then", soft);
        head.text({left_at, box.y + 12}, "left", soft);
        box.cut_top(22);
        Child child = x.child("steps", box, true);
        Canvas c = child.canvas();
        const double top = box.y - child.scrolled();
        double y = top;
        const auto row = [&](double from, const std::string& what, const std::string& read, int left,
                             const std::string& then, const view::Colour& ink) {
            c.text({box.x + 26, y + 15}, fmt::format("{:.0f}", from),
                   {.colour = p.ink_soft, .size = 12, .face = Face::mono, .align = Align::right});
            const std::string shown = with_symbols(read);
            const paint::TextLook figure{.colour = ink, .face = Face::mono, .align = Align::right},
                words{.colour = ink};
            const std::string seen = whole_parts(head, shown, 150.0, figure);
            const double wide = shown_at - head.width(seen, figure) - box.x - 48;
            c.text({box.x + 36, y + 15}, whole_words(head, what, wide, words), words);
            c.text({shown_at, y + 15}, seen, figure);
            c.text({left_at, y + 15}, fmt::format("{}", left),
                   {.colour = ink, .face = Face::mono, .align = Align::right});
            c.text({chance_at, y + 15}, then, {.colour = ink, .size = 12, .align = Align::right});
            y += kRow;
        };
        for (const callout::Step& s : a.steps) {
            const bool sufficed = a.suffices >= 0 && &s == &a.steps[static_cast<std::size_t>(a.suffices)];
            if (sufficed) c.fill(Box{box.x, y, box.w - 10, kRow}, p.band);
            const bool needless = s.needless && !s.free;
            row(s.from, s.what, s.shown, s.left,
                needless   ? "needless"
                : s.misled ? "misled you"
                           : diagnose::chance(s.truth),
                needless ? p.ink_soft : p.ink);
        }
        y += 8;
        paint::title(c, {box.x, y + 12}, "A short way", p.ink_soft);
        y += 20;
        for (const callout::Leg& l : a.best.legs) row(l.from, l.name, l.shown, l.left, "", p.ink_soft);
        child.content_height(y - top);
    }

    std::vector<std::string> names_, asked_for_{"not asked"};
    std::optional<callout::Attempt> open_;
    double asked_at_ = 0.0;
    std::size_t shown_ = 0;  // whose account
    std::string search_, chosen_;
    int place_ = 0;
};

}  // namespace

std::unique_ptr<shell::Panel> call_out() { return std::make_unique<CallOut>(); }

}  // namespace sunshaft::panels
