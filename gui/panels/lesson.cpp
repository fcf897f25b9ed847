// Lesson: under the meters the list of lessons, then the turn of the one that is taken.
#include <fmt/format.h>

#include <algorithm>
#include <array>
#include <random>
#include <utility>

#include "model/desk.hpp"
#include "panels/guided_card.hpp"
#include "panels/instructor_card.hpp"
#include "panels/lesson_card.hpp"
#include "panels/lesson_writer.hpp"
#include "panels/my_meter_card.hpp"
#include "panels/panels.hpp"
#include "shell/widgets.hpp"
#include "text/language.hpp"

namespace sunshaft::panels {
namespace {

using namespace shell;

class LessonPanel : public Panel {
  public:
    explicit LessonPanel(std::shared_ptr<LessonCard> card) : card_(std::move(card)) {}
    Place place() const override { return Place::inside; }
    const char* title() const override { return text::id("Lesson"); }

    void draw(PanelContext& x) override {
        if (!x.desk) return;
        x.desk->meet_lesson();
        const auto s = x.desk->lesson();
        head(x, s.get());
        Box rest = x.box;
        rest.cut_top(36);
        rest = rest.inset(16, 0);
        rest.h -= 4;
        if (!s && x.desk->writing.on()) return writer_.draw(x, rest);
        if (!s && guided_.on()) return guided_.draw(x, rest);
        if (!s && mine_.on()) return mine_.draw(x, rest);
        if (!s) return list(x, rest);
        if (!s->turn.show.empty() && shown_ != s->turns) {
            shown_ = s->turns;
            x.window.strip_left = 0;  // the scope
            x.window.shown.strip = true;
            x.window.shown.strip_wish = view::StripWish::open;
        }
        if (s->working) x.wake_in(0.05);
        if (s->of_class && notes_) instructor_.draw(x, rest, *s);
        else card_->draw(x, rest, *s);
    }

  private:
    void head(PanelContext& x, const view::Teaching::State* s) {
        PanelContext left = x;
        Canvas c = x.canvas();
        const bool writes = !s && x.desk->writing.on();
        const bool guided = !s && !writes && guided_.on();
        const bool mine = !s && !writes && !guided && mine_.on();
        const std::string_view words = s || guided || mine ? text::tr("Leave")
                                       : writes            ? text::tr("Stop writing")
                                                           : text::tr("Close");
        const double wide = button_width(c, words);
        const Box key{x.box.right() - 16 - wide, x.box.y + 6, wide, 22};
        if (button(x, "leave lesson", key, words)) {
            if (s) x.desk->leave_lesson();
            else if (guided) guided_.leave();
            else if (mine) mine_.leave();
            else if (writes) x.desk->writing.stop(), stale_ = true;
            else x.window.shown.lesson = false;
        }
        if (s) hint(x, key, text::tr("Back to the list, and to the bench as it stood before"));
        left.box.w -= wide + 12;
        if (!s && !writes && !guided && !mine) {
            const std::string_view own = text::tr("My meter");
            const double own_wide = button_width(c, own);
            const Box meter{key.x - 8 - own_wide, key.y, own_wide, 22};
            if (button(x, "my own meter", meter, own)) mine_.begin();
            hint(x, meter, text::tr("Which kind of meter you own, from waves out of the headphone socket"));
            left.box.w -= own_wide + 8;
        }
        if (s && s->of_class) {
            instructor_.follow(*s, x.input.now);
            const std::string_view other = notes_ ? text::tr("Lesson") : text::tr("Notes");
            const double other_wide = button_width(c, other);
            const Box turn{key.x - 8 - other_wide, key.y, other_wide, 22};
            if (button(x, "instructor's notes", turn, other)) notes_ = !notes_;
            hint(x, turn, text::tr("Clock, notes, next scene and what is planted; the wall shows none of it"));
            left.box.w -= other_wide + 8;
            x.wake_in(1.0);
        }
        std::string right, name = s        ? s->lesson->title
                                  : writes ? text::tr("A lesson of your own")
                                           : text::tr("Lessons");
        if (mine) name = text::tr("Know your own meter");
        if (guided && guided_.on()) name = guided_.title(), right = guided_.right();
        if (s && s->over) right = text::tr("at its end");
        else if (s && s->turns > 0) right = text::say("part {} of {}", std::min(s->at + 1, s->of), s->of);
        // Where there is no room for both, the clock: the part is told below.
        if (s && s->of_class && !s->over) {
            const std::string clock = instructor_.clock(x.input.now);
            right = right.empty() ? clock : fmt::format("{}, {}", clock, right);
        }
        panel_title(left, name, right);
    }

    // ---- the list: five blocks; alone or with a class, which values
    void list(PanelContext& x, Box box) {
        if (told_in_ != text::language()) told_in_ = text::language(), stale_ = true;
        if ((lessons_.empty() && trouble_.empty()) || std::exchange(stale_, false)) {
            try {
                lessons_ = teach::shipped_lessons();
                damaged_.clear();
                own_ = teach::own_lessons(damaged_);
                cases_ = teach::load_cases();
            } catch (const std::exception& e) {
                trouble_ = e.what();
            }
            if (seed_ == 0) seed_ = 1 + std::random_device()() % 9999;
        }
        Canvas c = x.canvas();
        const view::Palette& p = x.palette();
        if (!trouble_.empty()) {
            c.paragraph(box.top_left(), box.w, trouble_, {.colour = p.accent});
            return;
        }
        Box row = box.cut_top(28);
        const std::array<std::string_view, 3> who = {text::tr("Alone"), text::tr("In a pair"),
                                                     text::tr("With a class")};
        key_row(x, "who", row.cut_left(252), who, who_);
        row.cut_left(12);
        c.text({row.x, row.centre().y}, text::tr("values"), {.colour = p.ink_soft, .sit = Sit::middle});
        row.cut_left(50);
        double seed = static_cast<double>(seed_);
        const Box field = row.cut_left(70);
        if (number_field(x, "lesson seed", field, seed, 1, 99999, 0, "")) seed_ = static_cast<std::uint64_t>(seed);
        hint(x, field, text::tr("The same number gives the same values, here and on paper"));
        row.cut_left(12);
        const std::string_view write = text::tr("Write one");
        const Box pen = row.cut_left(button_width(c, write));
        if (button(x, "write lesson", pen, write)) x.desk->record_lesson();
        hint(x, pen, text::tr("Do it once on this site: each reading you note becomes a step"));
        if (!x.desk->last_error().empty()) {
            row.cut_left(12);
            c.text({row.x, row.centre().y}, c.fitted(x.desk->last_error(), row.w, {.colour = {}}),
                   {.colour = p.accent, .sit = Sit::middle});
        }
        box.cut_top(8);
        Child child = x.child("lessons", {box.x, box.y, box.w + 10, box.h}, true);
        Canvas l = child.canvas();
        const double top = box.y - child.scrolled();
        double y = top;
        int block = 0;
        for (const teach::Lesson& lesson : lessons_) {
            if (lesson.block != block) {
                if (block) y += case_row(x, l, {box.x, y, box.w - 6, 34}, block);
                block = lesson.block;
                paint::title(l, {box.x, y + 18}, teach::block_name(block), p.ink_soft);
                y += 26;
            }
            y += entry(x, l, {box.x, y, box.w - 6, 0}, lesson);
        }
        if (block) y += case_row(x, l, {box.x, y, box.w - 6, 34}, block);
        if (!own_.empty() || !damaged_.empty()) {
            paint::title(l, {box.x, y + 18}, text::tr("Your own"), p.ink_soft);
            y += 26;
        }
        for (const teach::Lesson& lesson : own_) {
            Box row_of{box.x, y, box.w - 6, 0};
            const Box edit{row_of.right() - 56, y + 24, 50, 22};
            const double high = entry(x, l, row_of, lesson);
            if (button(x, "edit " + lesson.id, edit, text::tr("Edit"), {.plain = true}))
                x.desk->writing.open(lesson.file);
            y += high;
        }
        for (const std::string& line : damaged_)
            y += l.paragraph({box.x, y}, box.w - 6, line, {.colour = p.accent, .size = 12}) + 4;
        child.content_height(y - top + 6);
    }

    // After a block's lessons: one fault to be found, with help that fades.
    double case_row(PanelContext& x, Canvas& c, Box row, int block) {
        const auto at = std::ranges::find(cases_, block, &teach::CaseRow::block);
        if (at == cases_.end()) return 0.0;
        const double high = row.h;
        c.text({row.x + 8, row.y + 17}, text::tr("Find a fault"), {.colour = x.palette().ink, .face = Face::strong});
        row.cut_left(110);
        for (const teach::Level level : {teach::Level::worked, teach::Level::half, teach::Level::own}) {
            const std::string_view words = level_words(level);
            Box key = row.cut_left(button_width(c, words));
            key = {key.x, key.y + 1, key.w, 24};
            row.cut_left(6);
            if (button(x, fmt::format("case {} {}", block, static_cast<int>(level)), key, words))
                guided_.begin(*at, level, seed_);
        }
        return high;
    }

    double entry(PanelContext& x, Canvas& c, Box row, const teach::Lesson& lesson) const {
        const view::Palette& p = x.palette();
        const paint::TextLook small{.colour = p.ink_soft, .size = 12};
        row.h = 26 + c.paragraph_height(row.w - 80, lesson.aim, small);
        const Touch t = touch(x, "lesson " + lesson.id, row);
        if (t.hovered) c.fill(row, p.band);
        if (t.focused) focus_mark(x, row.inset(3));
        c.text({row.x + 8, row.y + 17}, c.fitted(lesson.title, row.w - 80, {.colour = {}, .face = Face::strong}),
               {.colour = p.ink, .face = Face::strong});
        c.text({row.right() - 8, row.y + 17}, text::say("{:.0f} min", lesson.minutes),
               {.colour = p.ink_soft, .size = 12, .align = Align::right});
        c.paragraph({row.x + 8, row.y + 22}, row.w - 80, lesson.aim, small);
        if (t.clicked) {
            teach::PlayOptions options;
            options.seed = seed_;
            options.in_pair = who_ == 1;
            options.of_class = who_ == 2;
            x.desk->begin_lesson(lesson.file, options);
        }
        return row.h + 4;
    }

    std::shared_ptr<LessonCard> card_;
    LessonWriter writer_;
    GuidedCard guided_;
    MyMeterCard mine_;
    InstructorCard instructor_;
    bool notes_ = false;
    std::string told_in_;  // the language of the list
    std::vector<teach::CaseRow> cases_;
    std::vector<teach::Lesson> lessons_, own_;
    std::vector<std::string> damaged_;  // of one's own, a line each
    bool stale_ = false;
    std::string trouble_;
    std::uint64_t seed_ = 0;
    int who_ = 0;
    std::size_t shown_ = 0;
};

}  // namespace

std::unique_ptr<Panel> lesson(std::shared_ptr<LessonCard> card) {
    return std::make_unique<LessonPanel>(std::move(card));
}

}  // namespace sunshaft::panels
