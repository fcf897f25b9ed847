// The instructor's page: the clock as a bar, the questions, and what to draw on the board.
#include <fmt/format.h>

#include <algorithm>
#include <cmath>

#include "teach/plan.hpp"
#include "teach/sheet.hpp"
#include "teach/words.hpp"
#include "text/language.hpp"

namespace sunshaft::teach {
namespace {

using report::Paper;

class PlanPaper {
    static constexpr double margin = 40.0, inner = report::a4_wide - 2 * margin, foot = report::a4_high - 36.0;
    static constexpr double body = 9.2, small = 8.0;

  public:
    explicit PlanPaper(const Plan& plan) : plan_(plan), p_(Paper::Kind::pdf, report::a4_wide, report::a4_high) {}

    PlanPage write() {
        y_ = 34;
        y_ += p_.text(margin, y_, plan_.title, {.size = 16, .bold = true, .wide = inner}) + 1;
        y_ += p_.text(margin, y_, text::say("Aim: {}", plan_.aim), {.size = 10, .wide = inner}) + 1;
        y_ += p_.text(margin, y_, text::say("For the instructor. Site: {}, seed {}.", plan_.site, plan_.seed),
                      {.size = small, .wide = inner}) +
              6;
        clock();
        list(text::tr("Cut, because of the late start"), plan_.cut);
        list(text::tr("Before you touch"), plan_.cautions);
        list(text::tr("Where to stop"), {plan_.stop});
        list(text::tr("The usual wrong belief"), plan_.wrong);
        list(text::tr("What to ask"), plan_.ask);
        list(text::tr("What goes wrong"), plan_.trouble);
        board();
        PlanPage page;
        page.pages = p_.pages();
        page.placed = p_.placed();
        page.pdf = p_.finish();
        return page;
    }

  private:
    void head(const char* words) { y_ += p_.text(margin, y_, words, {.size = 10.5, .bold = true}) + 2; }
    void list(const char* words, const std::vector<std::string>& rows) {
        if (rows.empty()) return;
        head(words);
        for (const std::string& row : rows) {
            p_.bar(margin + 2, y_ + 4.2, 3, 3);
            y_ += p_.text(margin + 12, y_, printed(row), {.size = body, .wide = inner - 12}) + 1.5;
        }
        y_ += 4;
    }

    std::string time(int minutes) const {
        return plan_.by_clock ? fmt::format("{:02}:{:02}", minutes / 60 % 24, minutes % 60)
                              : text::say("{} min", minutes);
    }

    // A bar of 45 minutes, then each part with its times.
    void clock() {
        head(text::tr("Clock"));
        const int first = plan_.phases.front().from, last = plan_.phases.back().to;
        double x = margin;
        int n = 0;
        for (const auto& phase : plan_.phases) {
            const double wide = inner * (phase.to - phase.from) / std::max(1, last - first);
            p_.box(x, y_, wide, 16, 0.8);
            if (n % 2 == 1) p_.hatch(x, y_, wide, 16, 5.0);
            p_.label(x + 0.5 * wide, y_ + 3, std::to_string(++n), {.size = 8.5, .bold = true, .align = 0.5});
            x += wide;
        }
        y_ += 20;
        n = 0;
        for (const auto& phase : plan_.phases) {
            p_.text(margin, y_, fmt::format("{}", ++n), {.size = body, .bold = true});
            p_.text(margin + 14, y_, text::say("{} to {}", time(phase.from), time(phase.to)), {.size = body});
            p_.text(margin + 104, y_, phase.name, {.size = body, .bold = true});
            y_ += p_.text(margin + 160, y_, printed(phase.what), {.size = body, .wide = inner - 160}) + 1.5;
        }
        y_ += 5;
    }

    // A line for each question: what is shown as a bar, what is believed as letters.
    void board() {
        if (plan_.board.empty()) return;
        head(text::tr("On the board"));
        for (std::size_t n = 0; n < plan_.board.size() && y_ < foot - 90; ++n) {
            y_ += p_.text(margin, y_, printed(plan_.board_of[n]), {.size = body, .wide = inner}) + 5;
            y_ += 9.0 * static_cast<double>(plan_.board[n].size() - 1);  // room for letters above each other
            line(plan_.board[n], plan_.units[n]);
        }
    }

    void line(const std::vector<Plan::Mark>& marks, const std::string& unit) {
        double low = 0.0, high = 0.0;
        for (const auto& m : marks)
            if (std::isfinite(m.value)) low = std::min(low, m.value), high = std::max(high, m.value);
        if (high - low <= 0.0) high = low + 1.0;
        const double left = margin + 24, wide = inner - 120;
        // Over range hangs beyond the line's end.
        const auto at = [&](double v) {
            return std::isinf(v) ? left + wide + 48 : left + wide * (v - low) / (high - low);
        };
        p_.line(left, y_, left + wide, y_, 1.2);
        p_.line(left + wide + 30, y_, left + wide + 66, y_, 1.2, true);
        p_.text(left + wide + 48, y_ + 4, text::tr("over range"), {.size = 7, .align = 0.5});
        p_.text(at(0.0), y_ + 4, "0", {.size = 7, .align = 0.5});
        char letter = 'A';
        std::vector<double> taken;
        std::vector<std::string> legend;
        for (const auto& m : marks) {
            const double x = at(m.value);
            if (m.shown) {
                p_.bar(x - 1.5, y_ - 9, 3, 18);
                legend.push_back(text::say("bar: {} is shown", m.words));
                continue;
            }
            // Letters of one place stand above each other.
            const auto up = static_cast<double>(
                std::count_if(taken.begin(), taken.end(), [&](double t) { return std::abs(t - x) < 9; }));
            taken.push_back(x);
            p_.line(x, y_ - 3, x, y_ + 3, 0.8);
            p_.label(x, y_ - 14 - 9 * up, std::string(1, letter), {.size = 8, .bold = true, .align = 0.5});
            legend.push_back(fmt::format("{}: {} {}", letter++, figure_of(m.value, unit), m.words));
        }
        y_ += 14;
        for (const std::string& row : legend)
            y_ += p_.text(margin + 24, y_, printed(row), {.size = small, .wide = inner - 24}) + 0.5;
        y_ += 4;
    }

    const Plan& plan_;
    Paper p_;
    double y_ = 0.0;
};

}  // namespace

PlanPage plan_page(const Plan& plan) { return PlanPaper(plan).write(); }

}  // namespace sunshaft::teach
