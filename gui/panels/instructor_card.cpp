#include "panels/instructor_card.hpp"

#include <fmt/format.h>

#include <algorithm>

#include "model/desk.hpp"
#include "panels/meters_words.hpp"
#include "shell/widgets.hpp"
#include "site/faults.hpp"
#include "text/figure.hpp"
#include "text/language.hpp"
#include "text/words.hpp"

namespace sunshaft::panels {

using namespace shell;

namespace {

// What the class has before it next: of a step its first sentence.
std::string scene_of(const teach::Lesson& lesson, std::size_t at) {
    if (at < lesson.steps.size()) {
        const std::string& say = lesson.steps[at].say;
        return say.substr(0, say.find(". ") == std::string::npos ? say.size() : say.find(". ") + 1);
    }
    return at < lesson.steps.size() + lesson.exercises.size() ? text::tr("The exercise, three rounds.")
                                                              : text::tr("The end.");
}

}  // namespace

void InstructorCard::follow(const view::Teaching::State& s, double now) {
    if (s.lesson == lesson_) return;
    lesson_ = s.lesson;
    begun_ = now;
    const teach::PlanOptions options{.seed = s.seed};
    background_.ask([](State& state) { state.plan = nullptr; },
                    [lesson = lesson_, options](const auto& job) {
                        const auto plan = std::make_shared<const teach::Plan>(
                            teach::make_plan(*lesson, teach::load_beliefs(), options));
                        job.publish([&](State& state) { state.plan = plan; });
                    });
}

std::string InstructorCard::clock(double now) const {
    const double minute = (now - begun_) / 60.0;
    const auto s = background_.now();
    std::string words = text::say("{:.0f} min", std::max(0.0, minute));
    if (!s->plan) return words;
    for (const teach::Plan::Phase& p : s->plan->phases)
        if (minute >= p.from && minute < p.to) return text::say("{}, {} until {}", words, text::tr(p.name), p.to);
    return text::say("{}, past the end", words);
}

double InstructorCard::phases(Canvas& c, Box row, const PanelContext& x, double minute) const {
    const view::Palette& p = x.palette();
    double y = row.y;
    for (const teach::Plan::Phase& phase : background_.now()->plan->phases) {
        const bool is = minute >= phase.from && minute < phase.to;
        const paint::TextLook look{.colour = is ? p.ink : p.ink_soft, .face = is ? Face::strong : Face::words};
        const double high = std::max(18.0, c.paragraph_height(row.w - 170, phase.what, look));
        if (is) c.fill(Box{row.x - 8, y, 3, high}, p.accent);
        c.text({row.x, y + 13}, text::say("{} to {}", phase.from, phase.to), look);
        c.text({row.x + 76, y + 13}, phase.name, look);
        c.paragraph({row.x + 166, y}, row.w - 170, phase.what, look);
        y += high + 4;
    }
    return y - row.y;
}

void InstructorCard::draw(PanelContext& x, Box box, const view::Teaching::State& s) {
    const view::Palette& p = x.palette();
    const auto state = background_.now();
    x.wake_in(state->plan ? 1.0 : 0.2);
    Child child = x.child("instructor", {box.x, box.y, box.w + 10, box.h}, true);
    Canvas c = child.canvas();
    const double top = box.y - child.scrolled(), wide = box.w - 14;
    double y = top;
    const auto part = [&](std::string_view head, const std::vector<std::string>& lines, const view::Colour& ink) {
        if (lines.empty()) return;
        paint::title(c, {box.x, y + 14}, head, p.ink_soft);
        y += 20;
        for (const std::string& line : lines)
            y += c.paragraph({box.x, y}, wide, with_symbols(line), {.colour = ink}) + 4;
        y += 6;
    };
    part(text::tr("Next scene"), {scene_of(*s.lesson, s.at + 1)}, p.ink);
    std::vector<std::string> planted;
    const auto truth = x.desk->truth();
    for (const site::Fault& f : truth->edits.faults) {
        const site::FaultRow* row = site::find_fault(f.kind);
        const std::string at = text::say("{}, at {}", row ? text::tr(row->title) : f.kind.c_str(), f.place);
        planted.push_back(f.start > truth->t ? text::say("{}; sets in in {} s", at, text::fixed(f.start - truth->t, 0))
                                             : at);
    }
    part(text::tr("Planted now"),
         planted.empty() ? std::vector<std::string>{text::tr("Nothing: the site is healthy.")} : planted, p.ink);
    if (!state->trouble.empty()) part(text::tr("Notes"), {state->trouble}, p.accent);
    if (!state->plan) {
        if (state->trouble.empty())
            part(text::tr("Notes"), {text::tr("The notes are worked out from the lesson's own bench ...")}, p.ink_soft);
        return child.content_height(y - top);
    }
    const teach::Plan& plan = *state->plan;
    paint::title(c, {box.x, y + 14}, text::tr("Clock"), p.ink_soft);
    y += 20;
    y += phases(c, {box.x + 8, y, wide - 8, 0}, x, (x.input.now - begun_) / 60.0) + 6;
    part(text::tr("Before you touch"), plan.cautions, p.accent);
    part(text::tr("What to ask"), plan.ask, p.ink);
    part(text::tr("The usual wrong belief"), plan.wrong, p.ink);
    part(text::tr("What goes wrong"), plan.trouble, p.ink);
    part(text::tr("Where to stop"), {plan.stop}, p.ink);
    child.content_height(y - top);
}

}  // namespace sunshaft::panels
