// The class, or one learner, on A4: pure black, lines and words alone, so that a copier keeps them.
#include <fmt/format.h>

#include <algorithm>

#include "classroom/overview.hpp"
#include "report/paper.hpp"
#include "text/language.hpp"

namespace sunshaft::classroom {
namespace {

using report::Paper;
using text::say, text::tr;

class ClassPaper {
    static constexpr double margin = 34.0, inner = report::a4_wide - 2 * margin, foot = report::a4_high - 40.0,
                            row = 15.0;

  public:
    ClassPaper() : p_(Paper::Kind::pdf, report::a4_wide, report::a4_high) {}

    void title(const std::string& head, const std::string& below) {
        y_ += p_.text(margin, y_, head, {.size = 16, .bold = true, .wide = inner});
        y_ += p_.text(margin, y_ + 2, below, {.size = 8, .wide = inner}) + 8;
        p_.line(margin, y_, margin + inner, y_);
        y_ += 8;
    }
    void heading(const std::string& words) {
        need(60);
        y_ += 6;
        y_ += p_.text(margin, y_, words, {.size = 9.5, .bold = true}) + 4;
    }
    struct Column {
        std::string head;
        double wide;
        bool right = false;
    };
    void head(const std::vector<Column>& columns) {
        columns_ = columns;
        put(heads(), true);
        p_.line(margin, y_ - 2, margin + inner, y_ - 2);
    }
    void line(const std::vector<std::string>& cells) {
        double high = row;
        for (std::size_t n = 0; n < cells.size(); ++n)
            high = std::max(high, p_.measure(cells[n], type(n, false)).high + 5);
        if (need(high)) put(heads(), true);
        put(cells, false, high);
    }
    void words(const std::string& text, bool bold = false) {
        need(30);
        y_ += p_.text(margin, y_, text, {.size = 8, .bold = bold, .wide = inner}) + 4;
    }
    void sign(std::initializer_list<const char*> who) {
        need(50);
        y_ = std::max(y_ + 30, foot - 26);
        const double wide = inner / static_cast<double>(who.size());
        double x = margin;
        for (const char* w : who) {
            p_.line(x, y_, x + wide - 16, y_);
            p_.text(x, y_ + 3, w, {.size = 7});
            x += wide;
        }
    }
    std::string finish() { return p_.finish(); }

  private:
    std::vector<std::string> heads() const {
        std::vector<std::string> list;
        for (const Column& c : columns_) list.push_back(c.head);
        return list;
    }
    Paper::Type type(std::size_t n, bool bold) const {
        return {.size = 7.5, .bold = bold, .wide = columns_[n].wide - 6, .align = columns_[n].right ? 1.0 : 0.0};
    }
    void put(const std::vector<std::string>& cells, bool bold, double high = row) {
        double x = margin;
        for (std::size_t n = 0; n < cells.size(); ++n) {
            p_.text(x, y_, cells[n], type(n, bold));
            x += columns_[n].wide;
        }
        y_ += high;
    }
    bool need(double high) {
        if (y_ + high <= foot) return false;
        p_.next_page();
        y_ = margin;
        return true;
    }

    Paper p_;
    double y_ = margin;
    std::vector<Column> columns_;
};

std::string names(const std::vector<std::string>& who) {
    std::string text;
    for (std::size_t n = 0; n < std::min<std::size_t>(who.size(), 5); ++n) text += (n ? ", " : "") + who[n];
    return who.size() > 5 ? say("{} and {} more", text, who.size() - 5) : text;
}

std::string of_class(const Overview& o) {
    ClassPaper page;
    const auto over = std::ranges::count_if(o.rows, [](const Row& r) { return r.over; });
    page.title(tr("The class"), say("{} learners, {} call-outs begun, {} finished. Marks as counted, with what the "
                                    "instructor overruled.",
                                    o.learners.size(), o.rows.size(), over));
    page.head({{tr("Learner"), 167},
               {tr("Begun"), 56, true},
               {tr("Finished"), 60, true},
               {tr("Unsafe acts"), 74, true},
               {tr("Last"), 44, true},
               {tr("Best"), 44, true},
               {tr("Lessons"), 46, true},
               {tr("got it"), 36, true}});
    for (const Learner& l : o.learners)
        page.line({l.who, fmt::format("{}", l.attempts), fmt::format("{}", l.over), fmt::format("{}", l.unsafe),
                   l.over ? fmt::format("{:.0f}", l.last) : "", l.over ? fmt::format("{:.0f}", l.best) : "",
                   fmt::format("{}", l.lessons), fmt::format("{}", l.got)});
    page.heading(tr("What more than one took for something else"));
    bool any = false;
    page.head({{"", 300}, {tr("Times"), 40, true}, {std::string("  ") + tr("Who"), 187}});
    for (const Misconception& m : o.misconceptions) {
        if (m.who.size() < 2) continue;
        any = true;
        page.line({m.sentence, fmt::format("{}", m.times), "  " + names(m.who)});
    }
    if (!any) page.words(tr("Nothing yet."));
    return page.finish();
}

// What this learner played, each with what is still believed.
void lessons_of(const Overview& o, const std::string& who, ClassPaper& page) {
    if (std::ranges::none_of(o.lessons, [&](const LessonDone& d) { return d.who == who; })) return;
    page.heading(tr("Lessons"));
    page.head({{tr("When"), 64},
               {tr("Lesson"), 160},
               {tr("Exercises"), 56, true},
               {std::string("  ") + tr("Believed, and does not fit"), 247}});
    for (const LessonDone& d : o.lessons) {
        if (d.who != who) continue;
        std::string missed;
        for (const std::string& says : d.missed) missed += (missed.empty() ? "  " : " ") + says;
        page.line({d.at.substr(0, 10), d.title, say("{} of {}", d.got, d.of), missed});
    }
}

std::string of_learner(const Overview& o, const std::string& who) {
    const auto learner = std::ranges::find_if(o.learners, [&](const Learner& l) { return l.who == who; });
    if (learner == o.learners.end()) {
        std::vector<std::string> all;
        for (const Learner& l : o.learners) all.push_back(l.who);
        throw std::invalid_argument(say("{}: nobody is called so, expected one of {}", who, names(all)));
    }
    ClassPaper page;
    page.title(who, learner->over > 0 ? say("{} call-outs begun, {} finished. Last mark {:.0f}, best {:.0f} of 100.",
                                            learner->attempts, learner->over, learner->last, learner->best)
                                      : say("{} call-outs begun, none finished.", learner->attempts));
    const Row* newest = nullptr;
    if (learner->attempts > 0)
        page.head({{"", 16, true},
                   {std::string("  ") + tr("When"), 70},
                   {tr("Site"), 70},
                   {tr("What was wrong"), 120},
                   {tr("Named"), 112},
                   {tr("Minutes"), 45, true},
                   {tr("Unsafe"), 48, true},
                   {tr("Mark"), 46, true}});
    for (const Row& r : o.rows) {
        if (r.who != who) continue;
        if (!r.over) {
            page.line(
                {fmt::format("{}", r.attempt), "  " + r.at.substr(0, 10), r.site, tr("not finished"), "", "", "", ""});
            continue;
        }
        newest = &r;
        page.line({fmt::format("{}", r.attempt), "  " + r.at.substr(0, 10), r.site, r.marked.truth, r.marked.named,
                   fmt::format("{:.0f}", r.marked.minutes), fmt::format("{}", r.marked.unsafe.size()),
                   fmt::format("{:.0f}", r.mark())});
    }
    if (newest) {
        page.heading(say("Call-out {}, line by line", newest->attempt));
        page.head({{tr("Rule"), 34}, {tr("Points"), 70, true}, {std::string("  ") + tr("Why"), 423}});
        for (const callout::Marked::Line& l : newest->marked.lines)
            page.line({l.rule, say("{:.0f} of {:.0f}", l.points, l.of), "  " + l.why});
        for (const Overruled& x : newest->overruled)
            page.line(
                {x.rule, say("now {:.0f}", x.points),
                 "  " + (x.by.empty() ? say("Overruled: {}", x.reason) : say("Overruled by {}: {}", x.by, x.reason))});
        if (const std::string cap = newest->cap_words(); !cap.empty()) page.line({"S2", "", "  " + cap});
        page.heading(tr("Done well"));
        page.words(newest->marked.well);
        page.heading(tr("Change next time"));
        page.words(newest->marked.change);
    }
    lessons_of(o, who, page);
    page.sign({tr("Talked over, agreed next step"), tr("Instructor"), tr("Learner")});
    return page.finish();
}

}  // namespace

std::string paper(const Overview& o, const std::string& who) { return who.empty() ? of_class(o) : of_learner(o, who); }

}  // namespace sunshaft::classroom
