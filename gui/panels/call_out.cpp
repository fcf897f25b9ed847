// Call-out: the owner's complaint, the visit so far, what it is said to be, and afterwards the account. What is wrong
// is nowhere in the window until then.
#include <fmt/format.h>

#include <algorithm>
#include <array>
#include <cmath>
#include <random>
#include <set>

#include "callout/seal.hpp"
#include "model/desk.hpp"
#include "model/session_store.hpp"
#include "panels/account_view.hpp"
#include "panels/panels.hpp"
#include "shell/widgets.hpp"
#include "site/faults.hpp"
#include "text/language.hpp"
#include "text/words.hpp"

namespace sunshaft::panels {
namespace {

using namespace shell;
using view::Box;

class CallOut : public Panel {
  public:
    Place place() const override { return Place::strip; }
    const char* title() const override { return text::id("Call-out"); }

    void draw(PanelContext& x) override {
        if (!x.desk) return;
        x.desk->meet_call();
        const auto s = x.desk->call();
        if (s && s->open) x.wake_in(0.2);
        Box rest = x.box.inset(16, 8);
        if (!s || (!s->what && !s->open)) return invite(x, rest, s ? s->trouble : "");
        if (!s->what)
            return void(x.canvas().paragraph({rest.x, rest.y + 4}, rest.w,
                                             text::tr("Something is being thought of ..."),
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
                text::say("Your readings are weighed one after the other, {:.0f} %.", 100 * s->progress),
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
                 text::tr(
                     "A call-out: something is wrong with this site, or nothing is, and nobody is told what. You hear "
                     "the owner, measure, disconnect, note what you read, and say what it is. Then the account shows "
                     "what was wrong and what your readings bore."),
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
                         n == 0 ? text::tr("Your name") : text::tr("A second name"));
            left += 208;
        }
        names_ = who;
        std::erase(who, "");
        x.desk->learners = who;
        const std::array<std::string_view, 2> ways{text::tr("Training"), text::tr("Exam")};
        int way = x.desk->terms.exam ? 1 : 0;
        chooser(x, "how", {left, y, 160, 28}, ways, way);
        x.desk->terms.exam = way == 1;
        y += 36;
        left = box.x;
        for (const auto& [level, words] :
             {std::pair{1, text::tr("Common faults that stop the water")}, {2, text::tr("All that shows")}}) {
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
            const std::string_view words = text::tr("Take up what you left");
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

    void complaint(PanelContext& x, const view::Call::State& s, const Box& box) {
        Canvas c = x.canvas();
        const view::Palette& p = x.palette();
        if (!asked_gauge_.empty()) return before_listening(x, box);
        double y = heading(c, box, text::tr("The owner says"), p);
        y += c.paragraph({box.x, y}, box.w, fmt::format("\u201c{}\u201d", callout::words(s.what->owner)),
                         {.colour = p.ink, .size = 15}) +
             14;
        const auto& notes = x.desk->notebook.notes();
        const auto line = [&](const std::string& words) {
            y += c.paragraph({box.x, y}, box.w, words, {.colour = p.ink_soft}) + 4;
        };
        line(text::say("{:.0f} min on site. Readings noted (N): {}. Unsafe: {}.", x.desk->minutes_on_site(),
                       std::ranges::count_if(notes, [](const view::Note& n) { return !n.struck; }),
                       x.desk->snapshot()->unsafe_acts));
        if (const auto& who = x.desk->learners; who.size() > 1) {
            // They change roles with every five readings.
            const std::size_t turn = notes.size() / 5 % 2;
            line(text::say("{} has the meter, {} the notes.", who[turn], who[1 - turn]));
        }
        // Eyes, ears and gauges; a press notes what they tell.
        y += 4;
        double left = box.x;
        const auto reads = gauges(*x.desk->snapshot());
        for (const auto& [gauge, words] : reads) {
            const double wide = button_width(c, words);
            if (left > box.x && left + wide > box.right()) left = box.x, y += 28;
            if (y + 26 > box.bottom()) break;
            if (button(x, "look " + gauge, {left, y, wide, 24}, words, {.plain = true})) {
                before_ = x.desk->cautions_of(gauge);
                if (before_.empty() || warned_.contains(gauge)) x.desk->look(gauge), before_.clear();
                else asked_gauge_ = gauge;
            }
            left += wide + 6;
        }
        y += 30;
        if (!s.trouble.empty()) c.paragraph({box.x, y + 6}, box.w, s.trouble, {.colour = p.accent});
    }

    // What must be known before an ear or a hand goes to the pipe, an eye to the lugs: of each once a call-out.
    void before_listening(PanelContext& x, const Box& box) {
        Canvas c = x.canvas();
        const view::Palette& p = x.palette();
        const bool listens = asked_gauge_ == "sound";
        double y = heading(c, box, text::tr(listens ? text::id("Before you listen") : text::id("Before you look")), p);
        for (const std::string& line : before_) y += c.paragraph({box.x, y}, box.w, line, {.colour = p.accent}) + 4;
        const std::string_view words = text::tr(listens ? text::id("Listen") : text::id("Look"));
        const double wide = button_width(c, words);
        if (button(x, "listen now", {box.x, y, wide, 24}, words)) {
            x.desk->look(asked_gauge_);
            warned_.insert(asked_gauge_);
            asked_gauge_.clear();
        }
        if (button(x, "do not listen", {box.x + wide + 8, y, 90, 24}, text::tr("Leave it"), {.plain = true}))
            asked_gauge_.clear();
    }

    // What can be read without a meter on this site.
    static std::vector<std::pair<std::string, std::string>> gauges(const view::Snapshot& s) {
        std::vector<std::pair<std::string, std::string>> list{
            {"lamps", text::tr("Lamps")},       {"drive_V", text::tr("Display V")},
            {"drive_A", text::tr("Display A")}, {"drive_stop", text::tr("Last stop")},
            {"sound", text::tr("Listen")},      {"box", text::tr("Box")},
            {"smell", text::tr("Smell")},       {"lug", text::tr("Lugs")}};
        if (!s.site->works.array.strings.empty()) list.emplace_back("modules", text::tr("Modules"));
        if (s.site->works.water.pump.index() != 0)
            list.insert(list.end(), {{"vibration", text::tr("Hand on pipe")},
                                     {"outlet", text::tr("Outlet")},
                                     {"flow", text::tr("Bucket")},
                                     {"head", text::tr("Gauge")},
                                     {"water", text::tr("Dip meter")},
                                     {"tank", text::tr("Tank")}});
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
        heading(c, box,
                first_           ? text::say("{}. And what else", callout::title_of(*first_))
                : who.size() < 2 ? text::tr("Say what it is")
                                 : text::say("{} says what it is", who[s.named.size()]),
                p);
        box.cut_top(22);
        search_field(x, "search call", box.cut_top(30), search_, text::tr("Search, for example: splice, open, dry"));
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
        say(x, s, foot);
    }

    // The place, and that it is.
    void say(PanelContext& x, const view::Call::State& s, Box foot) {
        Canvas c = x.canvas();
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
        const std::string_view words = text::tr("That is it");
        const Box key = line.cut_left(button_width(c, words));
        const bool none = chosen_.empty() || s.open;
        const callout::Named it{chosen_, places.empty() ? "" : places[static_cast<std::size_t>(std::max(0, place_))]};
        if (button(x, "that is it", key, words, {.off = none}) && !none) {
            if (first_) x.desk->say(*first_, it);
            else x.desk->say(it);
            forget();  // kept from the other
        }
        hint(x, key, text::tr("Ends the call-out: the account follows"));
        line.cut_left(8);
        // One site in ten has two faults: the first is kept, and the second named like it.
        const std::string_view more = first_ ? text::tr("Only one") : text::tr("And another");
        const Box two = line.cut_left(button_width(c, more));
        if (button(x, "and another", two, more, {.off = none && !first_, .plain = true})) {
            if (first_) chosen_ = first_->fault, first_.reset();
            else first_ = it, chosen_.clear(), search_.clear();
        }
        if (first_) hint(x, two, text::say("First: {}", callout::title_of(*first_)));
        line.cut_left(8);
        if (button(x, "leave call", line.cut_left(button_width(c, text::tr("Leave"))), text::tr("Leave"),
                   {.plain = true}))
            leave(x);
    }

    void forget() {
        chosen_.clear();
        search_.clear();
        first_.reset();
        asked_gauge_.clear();
    }

    void leave(PanelContext& x) {
        forget();
        warned_.clear();
        x.desk->leave_call();
    }

    static void rules(PanelContext& x, const Box& box) {
        Canvas c = x.canvas();
        const view::Palette& p = x.palette();
        double y = heading(c, box, text::tr("What counts"), p);
        for (const auto& [rule, of, words] :
             {std::tuple{"C1", 45,
                         text::tr("Right fault and place, and your readings bear it. A lucky guess earns nothing.")},
              {"E1", 20, text::tr("How much your readings leave for what is wrong.")},
              {"A1", 15, text::tr("Tests that promise much a minute when you choose them.")},
              {"S1", 20, text::tr("No unsafe act. One caps the mark at 40.")}}) {
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
        c.text({column[0].x + 44, y + 20}, text::tr("of 100"), {.colour = p.ink_soft, .size = 15});
        const double back = button_width(c, text::tr("Back to the bench"));
        if (button(x, "back to the bench", {column[0].right() - back, y, back, 26}, text::tr("Back to the bench")))
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
        account_view(x, a, {Box{column[0].x, y, column[0].w, column[0].bottom() - y}, column[1], column[2]});
    }

    std::vector<std::string> names_, asked_for_{text::tr("not asked")};
    std::optional<callout::Attempt> open_;
    double asked_at_ = 0.0;
    std::size_t shown_ = 0;  // whose account
    std::string search_, chosen_;
    int place_ = 0;
    std::optional<callout::Named> first_;  // of two faults, named already
    std::string asked_gauge_;              // its cautions stand there first
    std::vector<std::string> before_;
    std::set<std::string> warned_;  // gauges
};

}  // namespace

std::unique_ptr<shell::Panel> call_out() { return std::make_unique<CallOut>(); }

}  // namespace sunshaft::panels
