#include "panels/lesson_writer.hpp"

#include <fmt/format.h>

#include <algorithm>
#include <array>

#include "model/desk.hpp"
#include "panels/meters_words.hpp"
#include "shell/widgets.hpp"
#include "teach/words.hpp"
#include "text/language.hpp"
#include "text/words.hpp"

namespace sunshaft::panels {

using namespace shell;

namespace {

constexpr double kField = 26.0, kReason = 26.0, kWriterHead = 40.0;
// The first reason is the one that fits, the others are what the lesson is about.
constexpr std::size_t most_reasons = 3;

}  // namespace

void LessonWriter::know_beliefs() {
    if (!ids_.empty()) return;
    for (const auto& [id, belief] : teach::load_beliefs()) ids_.push_back(id), says_.push_back(belief.says);
    shown_.assign(says_.begin(), says_.end());
}

void LessonWriter::draw(PanelContext& x, Box box) {
    know_beliefs();
    view::Writing& writing = x.desk->writing;
    const view::Palette& p = x.palette();
    const auto field = [&](const char* id, std::string& text, const char* words) {
        Box row = box.cut_top(kField + 4);
        row.h = kField;
        entry_field(x, id, row, text, words);
    };
    field("lesson title", writing.lesson().title, text::tr("Title"));
    field("lesson aim", writing.lesson().aim, text::tr("Aim: what somebody can do afterwards, in one sentence"));
    Box low = box.cut_bottom(74);
    const double bottom = box.h;
    if (writing.lesson().steps.empty()) {
        x.canvas().paragraph(
            {box.x, box.y + 8}, box.w,
            text::tr("Do it once: set the meter, lay the leads, wait for the figure, press N. Each reading "
                     "you note becomes a step here, with the site's faults, keys and acts as they stand then."),
            {.colour = p.ink_soft});
    } else {
        Child child = x.child("writing", {box.x, box.y, box.w + 10, bottom}, true);
        const double top = box.y - child.scrolled();
        double y = top;
        for (std::size_t n = 0; n < writing.lesson().steps.size(); ++n) y += step(x, {box.x, y, box.w - 6, 0}, n) + 8;
        child.content_height(y - top);
    }
    if (turned_ > 0) {
        writing.at = turned_ - 1;
        writing.predict(writing.at, !writing.lesson().steps[writing.at].predict);
        turned_ = 0;
    }
    if (removed_ > 0) writing.remove(removed_ - 1), removed_ = 0;
    foot(x, low);
}

double LessonWriter::step(PanelContext& x, Box row, std::size_t n) {
    const view::Palette& p = x.palette();
    view::Writing& writing = x.desk->writing;
    teach::Step& step = writing.lesson().steps[n];
    const teach::Look* look = step.predict ? &*step.predict : step.measure ? &*step.measure : nullptr;
    Canvas c = x.canvas();
    const paint::TextLook ink{.colour = p.ink}, small{.colour = p.ink_soft, .size = 12};
    std::string where, state;
    double words = 0.0, said = 0.0;
    if (look) {
        where = fmt::format("{}  {}", n + 1, with_symbols(look->where()));
        state = text::tr(bench::row_of(look->station).words);
        for (const std::string& fault : look->fault) state.append(", ").append(fault);
        words = row.w - 224;
        said = c.paragraph_height(words, where, ink) + c.paragraph_height(words, state, small);
    }
    const double head_high = std::max(kWriterHead - 8, said + 4);
    row.h = head_high + 8 + kField + 8 + (step.predict ? most_reasons * (kReason + 4) : 0.0);
    c.fill(row, p.sheet);
    c.frame(row, n == writing.at ? p.accent : p.rule);
    Box inside = row.inset(8, 6);
    Box head = inside.cut_top(head_high);
    Box cross = head.cut_right(26);
    cross = {cross.x, cross.y + 3, cross.w, 22};
    if (button(x, fmt::format("remove step {}", n + 1), cross, "", {.plain = true, .icon = paint::Icon::cross}))
        removed_ = n + 1;
    if (look) {
        const std::array<std::string_view, 2> kinds = {text::tr("Measured"), text::tr("Predicted")};
        int kind = step.predict ? 1 : 0;
        Box keys = head.cut_right(172);
        keys.h = 24;
        if (key_row(x, fmt::format("kind {}", n + 1), keys, kinds, kind)) turned_ = n + 1;
        const double high = c.paragraph(head.top_left(), words, where, ink);
        c.paragraph({head.x, head.y + high}, words, state, small);
    }
    Box say = inside.cut_top(kField + 4);
    say.h = kField;
    const std::string before = step.say;
    entry_field(x, fmt::format("say {}", n + 1).c_str(), say, step.say,
                text::tr("What is said here, in one or two sentences"));
    if (step.say != before) writing.at = n;
    if (step.predict) reasons(x, inside, n);
    return row.h;
}

void LessonWriter::reasons(PanelContext& x, Box rest, std::size_t n) {
    view::Writing& writing = x.desk->writing;
    std::vector<std::string>& why = writing.lesson().steps[n].why;
    why.resize(std::max(why.size(), most_reasons));
    for (std::size_t k = 0; k < most_reasons; ++k) {
        Box row = rest.cut_top(kReason + 4);
        row.h = kReason;
        x.canvas().text({row.x, row.centre().y}, k == 0 ? text::tr("fits") : text::tr("wrong"),
                        {.colour = x.palette().ink_soft, .sit = Sit::middle});
        row.cut_left(48);
        auto chosen = static_cast<int>(std::ranges::find(ids_, why[k]) - ids_.begin());
        if (chosen == static_cast<int>(ids_.size())) chosen = -1;
        if (chooser(x, fmt::format("reason {} {}", n + 1, k + 1).c_str(), row, shown_, chosen) && chosen >= 0)
            why[k] = ids_[static_cast<std::size_t>(chosen)], writing.at = n;
    }
}

void LessonWriter::foot(PanelContext& x, Box box) {
    const view::Palette& p = x.palette();
    view::Writing& writing = x.desk->writing;
    Canvas c = x.canvas();
    c.rule({box.x, box.y}, {box.right(), box.y}, p.rule);
    box.cut_top(7);
    Box keys = box.cut_top(28);
    const auto key = [&](const char* id, std::string_view words, std::string_view why) {
        const Box at = keys.cut_left(button_width(c, words));
        keys.cut_left(6);
        const bool pressed = button(x, id, at, words);
        hint(x, at, why);
        return pressed;
    };
    if (key("save lesson", text::tr("Save"), text::tr("Writes the file and reads it back")))
        (void)x.desk->save_lesson();
    const std::string from = text::say("Try from step {}", writing.at + 1);
    if (key("try from", from, text::tr("Saves it and plays it from the step you worked on"))) x.desk->try_lesson(true);
    if (key("try all", text::tr("Try it all"), text::tr("Saves it and plays it from its beginning")))
        x.desk->try_lesson(false);
    if (!writing.file().empty() &&
        key("read again", text::tr("Read again"), text::tr("After you changed the file with an editor")))
        (void)writing.read_again();
    const bool wrong = !writing.trouble().empty();
    const std::string words = wrong                    ? writing.trouble()
                              : writing.file().empty() ? text::tr("Not saved yet.")
                                                       : text::say("Saved: {}", writing.file());
    const paint::TextLook look{.colour = wrong ? p.accent : p.ink_soft, .size = 12};
    // Where something is wrong stands at the end of a long path: what is left out is its beginning.
    std::string shown = words;
    if (wrong && c.paragraph_height(box.w, shown, look) > box.h)
        if (const auto slash = shown.find_last_of('/', shown.find(": ")); slash != std::string::npos)
            shown = shown.substr(slash + 1);
    c.paragraph({box.x, box.y + 5}, box.w, shown, look);
    if (wrong && shown != words) hint(x, box, words);
}

}  // namespace sunshaft::panels
