#include "classroom/account_page.hpp"

#include <fmt/format.h>

#include <algorithm>
#include <cmath>

#include "diagnose/answer_words.hpp"
#include "text/language.hpp"
#include "text/letters.hpp"

namespace sunshaft::classroom {
namespace {

using callout::Account;
using report::Paper;

constexpr std::size_t most_steps = 18;

class AccountPaper {
    static constexpr double margin = 28.0, inner = report::a4_wide - 2 * margin, foot = report::a4_high - 36.0;
    static constexpr double small = 7.2, body = 8.2, lane_from = margin + 74.0;

  public:
    explicit AccountPaper(const Account& account)
        : a_(account), p_(Paper::Kind::pdf, report::a4_wide, report::a4_high) {}

    std::string write(const std::string& head, std::vector<Paper::Placed>* placed) {
        top(head);
        three();
        ways();
        steps();
        points();
        advice();
        sign();
        if (placed) *placed = p_.placed();
        return p_.finish();
    }

  private:
    void heading(double x, double y, const std::string& words) { p_.text(x, y, words, {.size = small, .bold = true}); }

    void top(const std::string& head) {
        p_.text(margin, 28, text::tr("Account of a call-out"), {.size = 17, .bold = true});
        p_.text(margin, 50, head, {.size = body, .wide = inner - 120});
        p_.text(margin + inner - 120, 26, fmt::format("{:.0f}", a_.mark),
                {.size = 26, .bold = true, .wide = 80, .align = 1.0});
        p_.text(margin + inner - 36, 42, text::tr("of 100"), {.size = 9});
        y_ = 66 + std::max(0.0, p_.measure(head, {.size = body, .wide = inner - 120}).high - 10);
        p_.line(margin, y_, margin + inner, y_);
        y_ += 8;
    }

    void three() {
        const double wide = inner / 3;
        double low = y_;
        const auto column = [&](int n, const char* head, const std::string& bold, const std::string& words) {
            const double x = margin + n * wide;
            double y = y_;
            heading(x, y, head);
            y += 12;
            y += p_.text(x, y, bold, {.size = 9.6, .bold = true, .wide = wide - 12}) + 2;
            if (!words.empty()) y += p_.text(x, y, words, {.size = body, .wide = wide - 12});
            low = std::max(low, y);
        };
        column(0, text::tr("WHAT WAS WRONG"), a_.truth, text::say("You said: {}.", a_.named));
        if (a_.suffices < 0) {
            std::string missing;
            for (const std::string& m : a_.missing) missing += (missing.empty() ? "" : ", ") + m;
            column(1, text::tr("EVIDENCE FIRST SUFFICED"), text::tr("It never did"),
                   missing.empty() ? "" : text::say("Not done: {}.", missing));
        } else {
            const callout::Step& s = a_.steps[static_cast<std::size_t>(a_.suffices)];
            column(1, text::tr("EVIDENCE FIRST SUFFICED"),
                   text::say("Minute {:.0f}, step {}", s.from + s.minutes, a_.suffices + 1),
                   fmt::format("{}: {}.", s.what, s.shown));
        }
        const double longer = a_.minutes - a_.best.minutes;
        const auto needless = std::ranges::count_if(a_.steps, [](const auto& s) { return s.needless && !s.free; });
        column(2, text::tr("WHAT IT COST"), text::say("{:.0f} min on site, {} unsafe", a_.minutes, a_.unsafe.size()),
               text::say("{} A short way takes {:.0f} min. Needless steps: {}.",
                         longer >= 1 ? text::say("{:.0f} min longer than it need be.", longer)
                                     : text::tr("No minute too many."),
                         a_.best.minutes, needless));
        y_ = low + 10;
    }

    // Both ways on one scale of time.
    void ways() {
        heading(margin, y_, text::tr("BOTH WAYS"));
        y_ += 12;
        const double whole = 10 * std::ceil(std::max({a_.minutes, a_.best.minutes, 10.0}) / 10);
        const double scale = (margin + inner - lane_from - 8) / whole, begin = y_;
        const double every = whole > 120 ? 30.0 : 10.0;
        for (double m = 0; m <= whole; m += every)
            p_.text(lane_from + m * scale, y_, fmt::format("{:.0f}", m), {.size = small, .align = 0.5});
        p_.text(margin, y_, text::tr("minute"), {.size = small});
        y_ += 14;
        const auto name = [&](const char* who, double minutes) {
            p_.text(margin, y_ + 1, who, {.size = body, .bold = true});
            p_.text(margin, y_ + 11, text::say("{:.0f} min", minutes), {.size = small});
        };
        const auto box = [&](double from, double minutes, int number, bool needless) {
            const double x = lane_from + from * scale, wide = std::max(1.0, minutes * scale);
            p_.box(x, y_, wide, 20, 0.9);
            if (needless) p_.hatch(x, y_, wide, 20, 4.0);
            if (wide >= 11)
                p_.label(x + wide / 2, y_ + 5.5, fmt::format("{}", number), {.size = body, .bold = true, .align = 0.5});
        };
        const auto mark = [&](double minute) {
            const double x = lane_from + minute * scale;
            p_.line(x, y_ - 6, x, y_ + 26, 2.2);
            p_.label(x, y_ + 27, text::tr("evidence suffices"),
                     {.size = small, .bold = true, .align = x > 300 ? 1.0 : 0.0});
        };
        name(text::tr("You"), a_.minutes);
        int n = 0;
        for (const callout::Step& s : a_.steps)
            if (++n; s.minutes > 0) box(s.from, s.minutes, n, s.needless && !s.free);
        if (a_.suffices >= 0) {
            const callout::Step& s = a_.steps[static_cast<std::size_t>(a_.suffices)];
            mark(s.from + s.minutes);
        }
        y_ += 42;
        name(text::tr("A short way"), a_.best.minutes);
        n = 0;
        for (const callout::Leg& l : a_.best.legs)
            if (++n; l.minutes > 0) box(l.from, l.minutes, n, false);
        if (a_.best.suffices) mark(a_.best.minutes);
        y_ += 38;
        for (double m = 0; m <= whole; m += every) {
            const double x = lane_from + m * scale;
            p_.line(x, begin + 10, x, begin + 13, 0.5);
        }
        std::string list;
        n = 0;
        for (const callout::Leg& l : a_.best.legs)
            list += fmt::format("{}{} {}: {}", list.empty() ? "" : ";  ", ++n, l.name, l.shown.empty() ? "-" : l.shown);
        y_ += p_.text(margin, y_, list.empty() ? "" : text::say("The short way:  {}.", list),
                      {.size = small, .wide = inner}) +
              8;
    }

    void steps() {
        const double x[] = {margin + 18, margin + 44, margin + 176, margin + 330, margin + 362, margin + 452};
        p_.line(margin, y_, margin + inner, y_);
        y_ += 3;
        // "left": so many suspects; not the room a rule leaves
        const std::string heads[] = {text::tr("Min"), text::tr("Your step"), text::tr("You read"),
                                     text::sentence_begins(text::tr("left")), text::tr("The truth then")};
        for (int n = 0; n < 5; ++n) p_.text(x[n], y_, heads[n], {.size = small, .bold = true});
        y_ += 11;
        p_.line(margin, y_, margin + inner, y_, 0.4);
        y_ += 3;
        for (std::size_t n = 0; n < std::min(a_.steps.size(), most_steps); ++n) {
            const callout::Step& s = a_.steps[n];
            const Paper::Type read{.size = small, .mono = true, .wide = 150}, what{.size = body, .wide = 128};
            std::string shown = s.shown;
            constexpr std::size_t most_shown = 90;
            if (shown.size() > most_shown) shown = shown.substr(0, most_shown - 3) + "...";
            p_.badge(margin + 7, y_ + 5, static_cast<int>(n + 1), 5.5);
            p_.text(x[0], y_, fmt::format("{:.0f}", s.from), {.size = body, .mono = true});
            p_.text(x[1], y_, s.what, what);
            p_.text(x[2], y_, shown, read);
            p_.text(x[3], y_, fmt::format("{}", s.left), {.size = body, .mono = true});
            p_.text(x[4], y_, diagnose::chance(s.truth), {.size = body});
            const std::string sign = s.needless && !s.free ? text::tr("needless")
                                     : s.misled            ? text::tr("misled you")
                                                           : "";
            if (!sign.empty()) p_.text(x[5], y_, sign, {.size = body, .bold = true});
            y_ += std::max({12.0, p_.measure(shown, read).high, p_.measure(s.what, what).high}) + 2;
        }
        if (a_.steps.size() > most_steps)
            y_ += p_.text(x[1], y_, text::say("and {} more", a_.steps.size() - most_steps), {.size = body}) + 2;
        for (const std::string& act : a_.unsafe) {
            p_.warning(margin + 2, y_, 9);
            y_ += p_.text(x[1], y_, text::say("Unsafe: {}", act), {.size = body, .bold = true, .wide = inner - 60}) + 2;
        }
        p_.line(margin, y_, margin + inner, y_);
        y_ += 6;
    }

    void points() {
        for (const callout::Point& point : a_.points) {
            p_.text(margin, y_, point.rule, {.size = body, .bold = true});
            p_.text(margin + 24, y_, text::say("{:.0f} of {:.0f}", point.points, point.of),
                    {.size = body, .bold = true, .mono = true, .wide = 56, .align = 1.0});
            y_ += p_.text(margin + 92, y_,
                          point.step < 0 ? point.why : text::say("{} Step {}.", point.why, point.step + 1),
                          {.size = body, .wide = inner - 92}) +
                  2;
        }
        if (!a_.unsafe.empty())
            y_ +=
                p_.text(margin, y_, text::tr("S2  An unsafe act caps the mark at 40."), {.size = body, .bold = true}) +
                2;
        p_.line(margin, y_ + 1, margin + inner, y_ + 1);
        y_ += 9;
    }

    void advice() {
        const double wide = (inner - 14) / 2;
        double high = 0.0;
        const std::string change =
            a_.lesson.empty() ? a_.change : text::say("{} It is trained by the lesson {}.", a_.change, a_.lesson);
        for (const std::string* words : {&a_.well, &change})
            high = std::max(high, p_.measure(*words, {.size = 9, .wide = wide - 20}).high);
        high += 26;
        p_.box(margin, y_, wide, high, 1.0);
        p_.box(margin + wide + 14, y_, wide, high, 1.0);
        p_.bar(margin + wide + 14, y_, 4, high);
        heading(margin + 10, y_ + 6, text::tr("DONE WELL"));
        heading(margin + wide + 26, y_ + 6, text::tr("CHANGE NEXT TIME"));
        p_.text(margin + 10, y_ + 18, a_.well, {.size = 9, .wide = wide - 20});
        p_.text(margin + wide + 26, y_ + 18, change, {.size = 9, .wide = wide - 32});
        y_ += high;
    }

    void sign() {
        const double y = foot;
        const struct {
            double from, to;
            const char* words;
        } lines[] = {{0, 250, text::tr("Talked over, agreed next step")},
                     {266, 396, text::tr("Instructor")},
                     {412, inner, text::tr("Learner")}};
        for (const auto& l : lines) {
            p_.line(margin + l.from, y, margin + l.to, y);
            p_.text(margin + l.from, y + 3, l.words, {.size = small});
        }
    }

    const Account& a_;
    Paper p_;
    double y_ = margin;
};

}  // namespace

std::string account_page(const Account& account, const std::string& head, std::vector<Paper::Placed>* placed) {
    return AccountPaper(account).write(head, placed);
}

}  // namespace sunshaft::classroom
