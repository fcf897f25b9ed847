#include "panels/guided_card.hpp"

#include <fmt/format.h>

#include <algorithm>

#include "panels/meters_words.hpp"
#include "shell/widgets.hpp"
#include "teach/lesson.hpp"
#include "text/language.hpp"
#include "text/letters.hpp"

namespace sunshaft::panels {

using namespace shell;

const char* level_words(teach::Level level) {
    return level == teach::Level::worked ? text::tr("An expert's way")
           : level == teach::Level::half ? text::tr("Half of it")
                                         : text::tr("On your own");
}

void GuidedCard::begin(const teach::CaseRow& row, teach::Level level, std::uint64_t seed) {
    case_ = std::make_unique<view::Guiding>(row, level, seed);
}

std::string GuidedCard::title() const {
    return fmt::format("{}: {}", text::sentence_begins(teach::block_name(case_->row().block)),
                       level_words(case_->level()));
}

std::string GuidedCard::right() {
    const teach::Guided* game = case_->game();
    return game && case_->level() != teach::Level::worked ? text::say("{} points of 100", game->points()) : "";
}

void GuidedCard::answer(const std::string& said) {
    case_->game()->answer(said);
    ++case_->turns;
}

double GuidedCard::line(Canvas& c, const Box& row, const std::string& words, const view::Palette& p) const {
    paint::TextLook look{.colour = p.ink, .size = 14};
    std::string said = words;
    double indent = 0.0;
    const std::string caution = text::say("before you touch: {}", "");
    if (words.rfind(caution, 0) == 0) {
        said = words.substr(caution.size());
        look.colour = p.accent, indent = 22.0;
        paint::icon(c, paint::Icon::warning, {row.x + 8, row.y + 9}, 14, p.accent);
    } else if (words.rfind("  ", 0) == 0) {
        said = words.substr(words.find_first_not_of(" -"));
        indent = 14.0;
        if (words.rfind("  -", 0) == 0) c.disc({row.x + 5, row.y + 9}, 2, p.ink_soft);
        else c.fill(Box{row.x, row.y + 1, 3, 16}, p.accent), look.face = Face::strong;
    } else if (text::begins_as(words, "The expert takes: {}. It rules out {} of {} on average, in {:.0f} min.") ||
               text::begins_as(words, "Hint, {} points: look at {}.") ||
               text::begins_as(words, "Found. {} points of 100.") ||
               text::begins_as(words, "Not found: a reading speaks against it. 0 points.") ||
               text::begins_as(words, "Not found: your readings leave {} of them. 0 points.")) {
        look.face = Face::strong;
    }
    return c.paragraph({row.x + indent, row.y}, row.w - indent, text::sentence_begins(with_symbols(said)), look) + 4;
}

double GuidedCard::choices(PanelContext& x, Canvas& c, Box row) {
    const view::Palette& p = x.palette();
    const double top = row.y;
    std::string said;
    const auto offered = case_->game()->choices();
    for (std::size_t n = 0; n < offered.size(); ++n) {
        const paint::TextLook look{.colour = p.ink, .size = 14};
        row.h = c.paragraph_height(row.w - 40, offered[n], look) + 10;
        const Touch t = touch(x, fmt::format("case choice {}", n + 1), row);
        c.fill(row, t.held ? p.accent_tint : t.hovered ? p.band : p.sheet);
        c.frame(row, p.rule_strong);
        c.text({row.x + 10, row.y + 18}, fmt::format("{}", n + 1),
               {.colour = p.ink_soft, .size = 14, .face = Face::strong});
        c.paragraph({row.x + 28, row.y + 5}, row.w - 40, text::sentence_begins(offered[n]), look);
        if (t.focused) focus_mark(x, row);
        bool pressed = t.clicked;
        for (const Key first : {Key::Num1, Key::Numpad1})
            if (n < 9 && !x.input.typing)
                pressed |= x.input.take(static_cast<Key>(static_cast<int>(first) + static_cast<int>(n)));
        if (pressed) said = std::to_string(n + 1);
        row.y += row.h + 4;
    }
    if (!said.empty()) answer(said);
    return row.y - top;
}

void GuidedCard::draw(PanelContext& x, Box box) {
    const view::Palette& p = x.palette();
    teach::Guided* game = case_->game();
    if (!game) {
        const std::string trouble = case_->trouble();
        x.canvas().paragraph(box.top_left(), box.w,
                             trouble.empty() ? text::tr("The case is being worked out ...") : trouble,
                             {.colour = trouble.empty() ? p.ink_soft : p.accent, .size = 14});
        x.wake_in(0.1);
        return;
    }
    const bool hints = !game->over() && teach::aids(case_->level()).hints;
    if (hints) {
        Box foot = box.cut_bottom(36);
        Canvas c = x.canvas();
        c.rule({foot.x, foot.y}, {foot.right(), foot.y}, p.rule);
        foot.cut_top(7);
        const std::string words = text::say("A hint: {} points, then {}", teach::half_costs, teach::test_costs);
        if (button(x, "case hint", foot.cut_left(button_width(c, words)), words)) answer("hint");
    }
    const std::string id = fmt::format("case {}", case_->turns);
    Child child = x.child(id.c_str(), {box.x, box.y, box.w + 10, box.h}, true);
    Canvas c = child.canvas();
    const double top = box.y - child.scrolled();
    double y = top + 2;
    const auto lines = game->lines();
    for (const std::string& words : lines) y += line(c, {box.x, y, box.w - 6, 0}, words, p);
    if (!game->over()) y += 4 + choices(x, c, {box.x, y + 4, box.w - 6, 0});
    child.content_height(y - top + 6);
}

}  // namespace sunshaft::panels
