#include "panels/lesson_card.hpp"

#include <fmt/format.h>

#include <algorithm>
#include <cmath>

#include "model/desk.hpp"
#include "panels/meters_words.hpp"
#include "shell/widgets.hpp"
#include "text/language.hpp"
#include "text/letters.hpp"

namespace sunshaft::panels {

using namespace shell;
using Asks = teach::Turn::Asks;
using Kind = teach::Line::Kind;

namespace {

constexpr double kBadge = 26.0;  // room for a choice's number

std::string said(const std::string& words) { return with_symbols(words); }

}  // namespace

void LessonCard::fresh(const view::Teaching::State& s) {
    arrived_ = s.turns != turn_ || s.lesson.get() != lesson_;
    if (!arrived_) return;
    turn_ = s.turns;
    lesson_ = s.lesson.get();
    typed_.clear();
    chosen_ = -1;
    counts_ = {};
    row_ = 0;
}

void LessonCard::draw(PanelContext& x, const Box& box, const view::Teaching::State& s, double unit) {
    unit_ = unit;
    size_ = {15.0 * unit, 16.0 * unit, 7.0 * unit, 30.0 * unit};
    if (s.turns == 0) {
        Canvas c = x.canvas();
        c.paragraph(box.top_left(), box.w, s.trouble.empty() ? text::tr("The site is being set up ...") : s.trouble,
                    {.colour = s.trouble.empty() ? x.palette().ink_soft : x.palette().accent, .size = size_.words});
        return;
    }
    fresh(s);
    Box rest = box;
    const Box low = rest.cut_bottom(std::min(foot_height(x.canvas(), box.w, s), 0.75 * box.h));
    body(x, rest, s);
    foot(x, low, s);
}

// ---- what is said

double LessonCard::line(Canvas& c, Point at, double wide, const teach::Line& l, bool draws,
                        const view::Palette& p) const {
    const std::string words = l.kind == Kind::caution ? text::sentence_begins(said(l.words)) : said(l.words);
    paint::TextLook look{.colour = p.ink, .size = size_.words};
    double indent = 0.0, above = 0.0, below = size_.gap;
    switch (l.kind) {
        case Kind::caution:
            look.colour = p.accent;
            indent = 24 * unit_;
            below = 4 * unit_;
            break;
        case Kind::state:
        case Kind::kept: look.colour = p.ink_soft; break;
        case Kind::known: indent = 12 * unit_; break;
        case Kind::ask: look.face = Face::strong, look.size = size_.strong, above = 3 * unit_; break;
        case Kind::shows: look.face = Face::strong, indent = 12 * unit_; break;
        case Kind::fits: look.face = Face::strong, indent = 24 * unit_; break;
        case Kind::against: look.colour = p.ink_soft, indent = 24 * unit_; break;
        case Kind::why: indent = 12 * unit_, look.colour = p.ink; break;
        default: break;
    }
    const double high = c.paragraph_height(wide - indent, words, look);
    if (draws) {
        const double y = at.y + above, middle = y + 0.62 * look.size;
        if (l.kind == Kind::caution)
            paint::icon(c, paint::Icon::warning, {at.x + 9 * unit_, middle}, 15 * unit_, p.accent);
        if (l.kind == Kind::against)
            paint::icon(c, paint::Icon::cross, {at.x + 9 * unit_, middle}, 11 * unit_, p.ink_soft);
        if (l.kind == Kind::fits) {  // a tick
            const Point a{at.x + 3 * unit_, middle}, b{at.x + 7 * unit_, middle + 4 * unit_},
                e{at.x + 15 * unit_, middle - 6 * unit_};
            const std::array tick{a, b, e};
            c.polyline(tick, {.colour = p.ink, .width = 2.0 * unit_});
        }
        if (l.kind == Kind::known || l.kind == Kind::shows)
            c.fill(Box{at.x, y + 1, 3 * unit_, high - 2}, l.kind == Kind::shows ? p.accent : p.rule_strong);
        if (l.kind == Kind::why) c.disc({at.x + 4 * unit_, middle}, 2 * unit_, p.ink_soft);
        c.paragraph({at.x + indent, y}, wide - indent, words, look);
    }
    return above + high + below;
}

void LessonCard::body(PanelContext& x, const Box& box, const view::Teaching::State& s) {
    const view::Palette& p = x.palette();
    const std::string id = fmt::format("lesson {}", s.turns);  // each from its top
    Child child = x.child(id.c_str(), {box.x, box.y, box.w + 10, box.h}, true);
    Canvas c = child.canvas();
    const double top = box.y - child.scrolled(), wide = box.w - 6;
    double y = top + 2;
    if (!s.turn.spread.empty()) {
        const double high = spread_height(c, wide, s);
        spread(c, {box.x, y, wide, high}, s, p);
        y += high + size_.gap;
    }
    for (const teach::Line& l : s.turn.lines)
        if (l.kind != Kind::hands) y += line(c, {box.x, y}, wide, l, true, p);
    child.content_height(y - top);
}

// ---- how the class stands: a bar for each choice, before the reading and after it

double LessonCard::spread_height(const Canvas& c, double wide, const view::Teaching::State& s) const {
    const bool twice = s.turn.spread.front().after >= 0;
    double high = 0.0;
    for (const auto& row : s.turn.spread)
        high += c.paragraph_height(wide, said(row.says), {.colour = {}, .size = size_.words}) +
                (twice ? 30 : 17) * unit_ + size_.gap;
    return high;
}

void LessonCard::spread(Canvas& c, Box box, const view::Teaching::State& s, const view::Palette& p) const {
    int most = 1;
    for (const auto& row : s.turn.spread) most = std::max({most, row.before, row.after});
    const double full = box.w - 110 * unit_;
    for (const auto& row : s.turn.spread) {
        box.cut_top(c.paragraph(box.top_left(), box.w, said(row.says), {.colour = p.ink, .size = size_.words}));
        const auto bar = [&](int hands, std::string_view when, Colour colour) {
            Box line = box.cut_top(13 * unit_);
            line.y += 2;
            const double wide = full * hands / most;
            c.fill(Box{line.x, line.y + 1, std::max(1.0, wide), 10 * unit_}, colour);
            c.text({line.x + wide + 6 * unit_, line.y + 10 * unit_}, fmt::format("{} {}", hands, when),
                   {.colour = p.ink, .size = 12 * unit_});
        };
        bar(row.before, row.after >= 0 ? text::tr("before") : "", view::mix(p.sheet, p.signal[0].colour, 0.55));
        if (row.after >= 0) bar(row.after, text::tr("after"), p.signal[0].colour);
        box.cut_top(4 * unit_ + size_.gap);
    }
}

// ---- what is asked

double LessonCard::choice_height(const Canvas& c, double wide, const std::string& words, bool hands) const {
    const double room = wide - kBadge * unit_ - (hands ? 84 * unit_ : 14 * unit_);
    return std::max(28 * unit_,
                    c.paragraph_height(room, said(words), {.colour = {}, .size = size_.words}) + 10 * unit_);
}

double LessonCard::foot_height(const Canvas& c, double wide, const view::Teaching::State& s) const {
    const double row = size_.key + 16 * unit_;
    if (s.over) return row;
    switch (s.turn.asks) {
        case Asks::choice:
        case Asks::hands: {
            double high = row;
            for (const auto& words : s.turn.choices)
                high += choice_height(c, wide, words, s.turn.asks == Asks::hands) + 4 * unit_;
            return high;
        }
        default: return row;
    }
}

bool LessonCard::key(PanelContext& x, const char* id, const Box& box, std::string_view words, bool off) {
    const view::Palette& p = x.palette();
    const Touch t = off ? Touch{} : touch(x, id, box);
    Canvas c = x.canvas();
    c.fill(box, off ? p.sheet : t.held ? p.accent_tint : p.accent, 2.0);
    if (off) c.frame(box, p.rule);
    c.text(box.centre(), words,
           {.colour = off      ? p.ink_off
                      : t.held ? p.accent
                               : p.on_accent,
            .size = size_.words,
            .face = Face::strong,
            .align = Align::centre,
            .sit = Sit::middle});
    if (t.focused) focus_mark(x, box);
    // Who works by keys finds the keyboard on what comes next.
    if (arrived_ && t.id && x.ring.visible()) x.ring.show(t.id);
    const bool enter = !off && !x.input.typing && x.input.take(Key::Enter);
    return t.clicked || enter;
}

void LessonCard::foot(PanelContext& x, Box box, const view::Teaching::State& s) {
    Canvas c = x.canvas();
    c.rule({box.x, box.y}, {box.right(), box.y}, x.palette().rule);
    box = Box{box.x, box.y + 8 * unit_, box.w, box.h - 16 * unit_};
    if (s.working || !s.trouble.empty()) {
        c.paragraph(box.top_left(), box.w, s.working ? text::tr("The site is being set up ...") : s.trouble,
                    {.colour = s.working ? x.palette().ink_soft : x.palette().accent, .size = size_.words});
        if (s.working) x.wake_in(0.05);
        return;
    }
    if (s.over) {
        if (key(x, "end lesson", box.cut_left(std::min(box.w, 170 * unit_)), text::tr("Back to the list")))
            x.desk->leave_lesson();
        return;
    }
    switch (s.turn.asks) {
        case Asks::value: return value(x, box, s);
        case Asks::choice: return choices(x, box, s);
        case Asks::hands: return hands(x, box, s);
        case Asks::leads: return x.desk->lesson_waits() ? go_on(x, box, s) : leads(x, box, s);
        default: return go_on(x, box, s);
    }
}

void LessonCard::go_on(PanelContext& x, const Box& box, const view::Teaching::State&) {
    Box rest = box;
    if (key(x, "go on", rest.cut_left(130 * unit_), text::tr("Go on"))) x.desk->answer_lesson("");
    rest.cut_left(14 * unit_);
    x.canvas().text({rest.x, rest.centre().y}, text::tr("Enter"),
                    {.colour = x.palette().ink_soft, .size = 13 * unit_, .sit = Sit::middle});
}

// Each lead with its point, and whether it lies there.
void LessonCard::leads(PanelContext& x, const Box& box, const view::Teaching::State& s) const {
    Canvas c = x.canvas();
    const view::Palette& p = x.palette();
    const bench::Probes& wanted = s.turn.look->what.probes;
    const bench::Probes& lie = x.desk->probes();
    double left = box.x;
    const auto lead = [&](const view::ConductorLook& look, const std::string& to, const std::string& at) {
        const double middle = box.centre().y;
        if (look.casing.a) c.disc({left + 9 * unit_, middle}, 10 * unit_, look.casing);
        c.disc({left + 9 * unit_, middle}, 8 * unit_, look.core);
        left += 26 * unit_;
        left += c.text({left, middle},
                       text::say_of(to == at ? text::id("{}, lies there") : text::id("{}, still to come"), to),
                       {.colour = to == at ? p.ink_soft : p.ink,
                        .size = size_.words,
                        .face = to == at ? Face::words : Face::strong,
                        .sit = Sit::middle}) +
                24 * unit_;
    };
    if (!wanted.around.empty()) return lead(p.lead_clamp, wanted.around, lie.around);
    lead(p.lead_red, wanted.red, lie.red);
    lead(p.lead_black, wanted.black, lie.black);
}

void LessonCard::value(PanelContext& x, Box box, const view::Teaching::State& s) {
    Canvas c = x.canvas();
    const Box field = box.cut_left(std::min(170.0 * unit_, 0.4 * box.w));
    box.cut_left(8 * unit_);
    const std::string unit = said(s.turn.unit);
    c.text({box.x, box.centre().y}, unit, {.colour = x.palette().ink, .size = size_.words, .sit = Sit::middle});
    box.cut_left(c.width(unit, {.colour = {}, .size = size_.words}) + 16 * unit_);
    const bool entered = entry_field(x, "lesson figure", field, typed_, text::tr("Your figure, or OL"), arrived_);
    if (entered || key(x, "commit figure", box.cut_left(130 * unit_), text::tr("Commit"), typed_.empty()))
        x.desk->answer_lesson(typed_);
    hint(x, field, text::tr("As you would write it: 0,5 or .5 or 1k5 or 230 V or OL. Once committed it stays"));
}

void LessonCard::choice(Canvas& c, const Box& row, int number, const std::string& words, const Look& look,
                        const view::Palette& p) const {
    c.fill(row, look.on ? p.accent_tint : look.hovered ? p.band : p.sheet);
    c.frame(row, look.on ? p.accent : p.rule_strong, look.on ? 2.0 : 1.0);
    c.text({row.x + 10 * unit_, row.y + 5 * unit_ + 0.95 * size_.words}, fmt::format("{}", number),
           {.colour = look.on ? p.accent : p.ink_soft, .size = size_.words, .face = Face::strong});
    c.paragraph({row.x + kBadge * unit_, row.y + 5 * unit_}, row.w - (kBadge + (look.hands ? 84 : 14)) * unit_,
                said(words), {.colour = p.ink, .size = size_.words});
}

void LessonCard::choices(PanelContext& x, Box box, const view::Teaching::State& s) {
    const view::Palette& p = x.palette();
    const auto count = static_cast<int>(s.turn.choices.size());
    for (int n = 0; n < count && !x.input.typing; ++n)
        for (const Key first : {Key::Num1, Key::Numpad1})
            if (x.input.take(static_cast<Key>(static_cast<int>(first) + n))) chosen_ = n;
    if (!x.input.typing && !x.ring.visible()) {
        if (x.input.take(Key::Down)) chosen_ = std::min(count - 1, chosen_ + 1);
        if (x.input.take(Key::Up)) chosen_ = std::max(0, chosen_ - 1);
    }
    for (int n = 0; n < count; ++n) {
        const std::string& words = s.turn.choices[static_cast<std::size_t>(n)];
        const Box row = box.cut_top(choice_height(x.canvas(), box.w, words, false));
        box.cut_top(4 * unit_);
        const Touch t = touch(x, fmt::format("choice {}", n + 1), row);
        Canvas c = x.canvas();
        choice(c, row, n + 1, words, {.on = n == chosen_, .hovered = t.hovered, .hands = false}, p);
        if (t.focused) focus_mark(x, row);
        if (arrived_ && n == 0 && x.ring.visible()) x.ring.show(t.id), arrived_ = false;
        if (t.clicked) chosen_ = n;
    }
    box.cut_top(4 * unit_);
    Box foot = box.cut_top(size_.key);
    const bool none = chosen_ < 0;
    if (key(x, "commit choice", foot.cut_left(130 * unit_), text::tr("Commit"), none))
        x.desk->answer_lesson(std::to_string(chosen_ + 1));
    foot.cut_left(14 * unit_);
    x.canvas().text(
        {foot.x, foot.centre().y},
        x.canvas().fitted(none ? text::tr("Choose with 1 to 4 or a click") : text::tr("Once committed it stays"),
                          foot.w, {.colour = {}, .size = 13 * unit_}),
        {.colour = p.ink_soft, .size = 13 * unit_, .sit = Sit::middle});
}

// ---- a class: counts of hands

void LessonCard::commit_hands(PanelContext& x, std::size_t rows) {
    std::string all;
    for (std::size_t n = 0; n < rows; ++n) all.append(counts_[n].empty() ? "0" : counts_[n]).append(1, ' ');
    x.desk->answer_lesson(all);
}

void LessonCard::count_keys(PanelContext& x, std::size_t rows) {
    if (x.input.typing) return;
    for (int digit = 0; digit < 10; ++digit)
        for (const Key first : {Key::Num0, Key::Numpad0})
            while (x.input.take(static_cast<Key>(static_cast<int>(first) + digit)))
                if (counts_[row_].size() < 3) counts_[row_] += static_cast<char>('0' + digit);
    if (x.input.take(Key::Backspace)) {
        if (!counts_[row_].empty()) counts_[row_].pop_back();
        else if (row_ > 0) --row_;
    }
    if (x.ring.visible()) return;  // the arrows and Enter are the ring's
    if (x.input.take(Key::Up) && row_ > 0) --row_;
    if (x.input.take(Key::Down) && row_ + 1 < rows) ++row_;
    if (row_ + 1 < rows && x.input.take(Key::Enter)) ++row_;
}

void LessonCard::hands(PanelContext& x, Box box, const view::Teaching::State& s) {
    const view::Palette& p = x.palette();
    const std::size_t rows = std::min(s.turn.choices.size(), counts_.size());
    count_keys(x, rows);
    for (std::size_t n = 0; n < rows; ++n) {
        const std::string& words = s.turn.choices[n];
        Box row = box.cut_top(choice_height(x.canvas(), box.w, words, true));
        box.cut_top(4 * unit_);
        const Touch t = touch(x, fmt::format("hands {}", n + 1), row);
        Canvas c = x.canvas();
        const bool on = n == row_;
        choice(c, row, static_cast<int>(n) + 1, words, {.on = on, .hovered = t.hovered, .hands = true}, p);
        Box count = row;
        count = count.cut_right(70 * unit_);
        c.rule({count.x, count.y + 1}, {count.x, count.bottom() - 1}, on ? p.accent : p.rule_strong);
        c.text(count.centre(), counts_[n].empty() ? (on ? "_" : "") : counts_[n],
               {.colour = p.ink,
                .size = 18 * unit_,
                .face = Face::mono_strong,
                .align = Align::centre,
                .sit = Sit::middle});
        if (t.focused) focus_mark(x, row);
        if (t.clicked) row_ = n;
    }
    box.cut_top(4 * unit_);
    Box foot = box.cut_top(size_.key);
    const bool some = std::ranges::any_of(counts_, [](const std::string& n) { return !n.empty(); });
    if (key(x, "commit hands", foot.cut_left(130 * unit_), text::tr("All counted"), !some)) commit_hands(x, rows);
    foot.cut_left(14 * unit_);
    const paint::TextLook soft{.colour = p.ink_soft, .size = 13 * unit_, .sit = Sit::middle};
    x.canvas().text({foot.x, foot.centre().y},
                    x.canvas().fitted(text::tr("Hands for each: digits, Enter for the next one"), foot.w, soft), soft);
}

}  // namespace sunshaft::panels
