// The account of a call-out in the window: what was wrong, both ways beside each other, the points.
#include "panels/account_view.hpp"

#include <fmt/format.h>

#include <algorithm>

#include "diagnose/answer_words.hpp"
#include "panels/meters_words.hpp"
#include "shell/widgets.hpp"
#include "text/language.hpp"

namespace sunshaft::panels {
namespace {

using namespace shell;
using view::Box;

constexpr double kRow = 22.0;

void what_was_wrong(PanelContext& x, const callout::Account& a, const Box& box, const view::Palette& p) {
    Child child = x.child("what was wrong", box, true);
    Canvas list = child.canvas();
    const double top = box.y - child.scrolled(), wide = box.w - 12;
    double y = top;
    const auto said = [&](std::string_view head, const std::string& words) {
        list.text({box.x, y + 12}, head, {.colour = p.ink_soft, .size = 12});
        y += 16;
        y += list.paragraph({box.x, y}, wide, words, {.colour = p.ink, .face = Face::strong}) + 6;
    };
    said(text::tr("what was wrong"), a.truth);
    said(text::tr("you said"), a.named);
    if (a.suffices < 0) {
        std::string missing;
        for (const std::string& m : a.missing) missing += (missing.empty() ? "" : ", ") + m;
        said(text::tr("your evidence"),
             missing.empty() ? text::tr("never sufficed") : text::say("never sufficed. Not done: {}", missing));
    } else {
        const callout::Step& step = a.steps[static_cast<std::size_t>(a.suffices)];
        said(text::tr("your evidence"),
             text::say("sufficed after minute {:.0f}, step {}", step.from + step.minutes, a.suffices + 1));
    }
    for (const std::string& act : a.unsafe) said(text::tr("unsafe"), act);
    child.content_height(y - top);
}

// Points, one thing done well, one to change.
void points(PanelContext& x, const callout::Account& a, const Box& box, const view::Palette& p) {
    Child child = x.child("points", box, true);
    Canvas c = child.canvas();
    const double top = box.y - child.scrolled(), wide = box.w - 12;
    double y = top + 22;
    paint::title(c, {box.x, top + 12}, text::tr("Points"), p.ink_soft);
    for (const callout::Point& point : a.points) {
        c.text({box.x, y + 13}, point.rule, {.colour = p.ink_soft, .face = Face::mono});
        c.text({box.x + 92, y + 13}, text::say("{:.0f} of {:.0f}", point.points, point.of),
               {.colour = p.ink, .face = Face::mono, .align = Align::right});
        const std::string why = point.step < 0 ? point.why : text::say("{} Step {}.", point.why, point.step + 1);
        y += c.paragraph({box.x + 104, y}, wide - 104, why, {.colour = p.ink}) + 5;
    }
    y += 4;
    for (const auto& [head, words] :
         {std::pair{text::tr("done well"), &a.well}, {text::tr("change next time"), &a.change}}) {
        c.text({box.x, y + 12}, head, {.colour = p.ink_soft, .size = 12});
        y += 16;
        y += c.paragraph({box.x, y}, wide, *words, {.colour = p.ink}) + 6;
    }
    child.content_height(y - top);
}

// Both ways on one scale of time.
double ways(Canvas& c, const callout::Account& a, const Box& box, const view::Palette& p) {
    const double whole = std::max({a.minutes, a.best.minutes, 1.0});
    const double from = box.x + 132, scale = (box.right() - 12 - from) / whole;
    double y = box.y;
    const auto lane = [&](std::string_view who, double minutes) {
        c.text({box.x, y + 13}, who, {.colour = p.ink_soft, .size = 12});
        c.text({from - 8, y + 13}, text::say("{:.0f} min", minutes),
               {.colour = p.ink, .size = 12, .face = Face::mono, .align = Align::right});
    };
    const auto part = [&](double begin, double minutes, bool needless) {
        if (minutes <= 0.0) return;
        const Box b{from + begin * scale, y + 3, std::max(1.0, minutes * scale - 2), 12};
        c.fill(b, needless ? p.accent_tint : p.signal[0].colour);
        // Needless is crossed out: colour alone is no sign.
        if (needless) c.rule({b.x, b.y + 6}, {b.right(), b.y + 6}, p.accent);
    };
    lane(text::tr("you"), a.minutes);
    for (const callout::Step& s : a.steps) part(s.from, s.minutes, s.needless && !s.free);
    y += 18;
    lane(text::tr("a short way"), a.best.minutes);
    for (const callout::Leg& l : a.best.legs) part(l.from, l.minutes, false);
    return y + 22;
}

// Of a list as many as there is room for, and how many more there are.
std::string whole_parts(const Canvas& c, const std::string& list, double wide, const paint::TextLook& look) {
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
std::string whole_words(const Canvas& c, std::string name, double wide, const paint::TextLook& look) {
    while (c.width(name, look) > wide && name.find(' ') != std::string::npos) name.resize(name.rfind(' '));
    return name;
}

void steps(PanelContext& x, const callout::Account& a, Box box, const view::Palette& p) {
    Canvas head = x.canvas();
    box.cut_top(ways(head, a, box, p) - box.y);
    const double chance_at = box.right() - 12, left_at = box.right() - 128, shown_at = box.right() - 160;
    const paint::TextLook soft{.colour = p.ink_soft, .size = 12, .align = Align::right};
    paint::title(head, {box.x, box.y + 12}, text::tr("Your way"), p.ink_soft);
    head.text({chance_at, box.y + 12}, text::tr("the truth then"), soft);
    head.text({left_at, box.y + 12}, text::tr("left"), soft);
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
        const paint::TextLook figure{.colour = ink, .face = Face::mono, .align = Align::right}, words{.colour = ink};
        const std::string seen = whole_parts(head, shown, 150.0, figure);
        const double wide = shown_at - head.width(seen, figure) - box.x - 48;
        c.text({box.x + 36, y + 15}, whole_words(head, what, wide, words), words);
        c.text({shown_at, y + 15}, seen, figure);
        c.text({left_at, y + 15}, fmt::format("{}", left), {.colour = ink, .face = Face::mono, .align = Align::right});
        c.text({chance_at, y + 15}, then, {.colour = ink, .size = 12, .align = Align::right});
        y += kRow;
    };
    for (const callout::Step& s : a.steps) {
        const bool sufficed = a.suffices >= 0 && &s == &a.steps[static_cast<std::size_t>(a.suffices)];
        if (sufficed) c.fill(Box{box.x, y, box.w - 10, kRow}, p.band);
        const bool needless = s.needless && !s.free;
        row(s.from, s.what, s.shown, s.left,
            needless   ? text::tr("needless")
            : s.misled ? text::tr("misled you")
                       : diagnose::chance(s.truth),
            needless ? p.ink_soft : p.ink);
    }
    y += 8;
    paint::title(c, {box.x, y + 12}, text::tr("A short way"), p.ink_soft);
    y += 20;
    for (const callout::Leg& l : a.best.legs) row(l.from, l.name, l.shown, l.left, "", p.ink_soft);
    child.content_height(y - top);
}

}  // namespace

void account_view(PanelContext& x, const callout::Account& a, const std::array<Box, 3>& column) {
    const view::Palette& p = x.palette();
    what_was_wrong(x, a, column[0], p);
    steps(x, a, column[1], p);
    points(x, a, column[2], p);
}

}  // namespace sunshaft::panels
