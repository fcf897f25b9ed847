#include "teach/case_page.hpp"

#include <fmt/format.h>

#include <algorithm>
#include <array>

#include "bench/hazards.hpp"
#include "diagnose/answer_words.hpp"
#include "text/figure.hpp"
#include "text/language.hpp"
#include "text/words.hpp"

namespace sunshaft::teach {
namespace {

using report::Paper;
using text::say, text::tr;

constexpr std::size_t most_readings = 16, most_suspects = 5, most_outcomes = 4;

class CasePaper {
    static constexpr double margin = 28.0, inner = report::a4_wide - 2 * margin, foot = report::a4_high - 40.0;
    static constexpr double small = 7.2, body = 8.2, gap = 10.0;

  public:
    CasePaper(const diagnose::Case& c, const diagnose::Answer& a)
        : c_(c), a_(a), p_(Paper::Kind::pdf, report::a4_wide, report::a4_high) {}

    std::string write(std::vector<Paper::Placed>* placed) {
        top();
        cautions();
        readings();
        where();
        suspects();
        what_to_do();
        afterwards();
        p_.line(margin, foot + 8, margin + inner, foot + 8, 1.0);
        p_.text(margin, foot + 12,
                tr("Shares are computed from these readings alone. A repair ends with a proving test."),
                {.size = small});
        if (placed) *placed = p_.placed();
        return p_.finish();
    }

  private:
    bool room(double high) const { return y_ + high <= foot; }
    void heading(const std::string& words) {
        p_.text(margin, y_, words, {.size = 11, .bold = true});
        y_ += 17;
        p_.line(margin, y_, margin + inner, y_, 1.0);
        y_ += 4;
    }

    void top() {
        p_.text(margin, 28, say("Case: {}", c_.site.substr(c_.site.rfind('/') + 1)), {.size = 17, .bold = true});
        y_ = 52;
        std::string said;
        for (const std::string& one : c_.intake) said += (said.empty() ? "" : "; ") + one;
        if (!said.empty()) y_ += p_.text(margin, y_, say("Said: {}.", said), {.size = body, .wide = inner}) + 4;
    }

    // What stands before the next step, whatever that is.
    void cautions() {
        std::vector<std::string> lines = bench::words(diagnose::hazards(a_));
        const std::string first =
            tr("For trained and authorised people only. Your local code and licensed practice come first.");
        std::erase(lines, first);
        const Paper::Type bold{.size = body, .bold = true, .wide = inner - 56}, plain{.size = body, .wide = inner - 56};
        double high = 10 + p_.measure(first, bold).high + 2;
        for (const std::string& line : lines) high += p_.measure(line, plain).high + 2;
        p_.box(margin, y_, inner, high);
        p_.bar(margin, y_, 5, high);
        p_.warning(margin + 14, y_ + 0.5 * (high - 18), 18);
        double y = y_ + 5;
        y += p_.text(margin + 44, y, first, bold) + 2;
        for (const std::string& line : lines) y += p_.text(margin + 44, y, line, plain) + 2;
        y_ += high + gap;
    }

    // Beside each reading what a healthy site and the first suspect would show.
    void readings() {
        heading(tr("What was read"));
        const std::array<double, 5> x{margin, margin + 84, margin + 250, margin + 344, margin + 436};
        const std::array<const char*, 5> heads{tr("when"), tr("where"), tr("you read"), tr("healthy would"),
                                               tr("first suspect would")};
        for (std::size_t n = 0; n < x.size(); ++n) p_.text(x[n], y_, heads[n], {.size = small, .bold = true});
        y_ += 13;
        static const std::vector<diagnose::Compared> none;
        const auto& rows = a_.suspects.empty() ? none : a_.suspects.front().columns;
        const diagnose::Compared* against = a_.against && *a_.against < rows.size() ? &rows[*a_.against] : nullptr;
        for (std::size_t n = 0; n < c_.seen.size(); ++n) {
            if (n == most_readings) {
                y_ += p_.text(margin, y_, say("{} more", c_.seen.size() - n), {.size = body}) + 3;
                break;
            }
            const diagnose::Seen& s = c_.seen[n];
            std::string what = s.what(), state;
            for (const std::string& act : s.act) state += (state.empty() ? "" : ", ") + act;
            if (!state.empty()) what += fmt::format(" ({})", state);
            double high = p_.text(x[0], y_, s.at, {.size = body, .wide = x[1] - x[0] - 6});
            high = std::max(high, p_.text(x[1], y_, what, {.size = body, .wide = x[2] - x[1] - 8}));
            const std::string& read = n < a_.read_back.size() && !a_.read_back[n].empty() ? a_.read_back[n] : s.shown;
            const auto figure = [&](std::size_t at, const std::string& words, bool bold) {
                const double wide = (at + 1 < x.size() ? x[at + 1] : margin + inner) - x[at] - 8;
                high =
                    std::max(high, p_.text(x[at], y_, words, {.size = body, .bold = bold, .mono = true, .wide = wide}));
            };
            figure(2, read, true);
            if (const auto row = std::ranges::find(rows, n, &diagnose::Compared::seen); row != rows.end())
                figure(3, row->healthy, false), figure(4, row->suspect, against == &*row);
            y_ += high + 2;
            p_.line(margin, y_, margin + inner, y_, 0.4);
            y_ += 2;
        }
        if (against)
            y_ += p_.text(margin, y_ + 2, say("Speaks most against the first suspect: {}.", against->what),
                          {.size = body, .wide = inner}) +
                  2;
        for (const diagnose::PutDown& down : a_.put_down)
            y_ += p_.text(margin, y_ + 2, diagnose::put_down_words(down), {.size = body, .wide = inner}) + 2;
        for (const diagnose::Doubt& d : a_.doubtful)
            if (d.seen < c_.seen.size())
                y_ += p_.text(margin, y_ + 2, say("Doubtful: {}, {}.", c_.seen[d.seen].what(), d.why),
                              {.size = body, .wide = inner}) +
                      2;
        y_ += gap;
    }

    // Six frames, filled as their share.
    void where() {
        heading(tr("Where it lies"));
        const std::array<const char*, 6> names{tr("rightly waiting"), tr("array"),         tr("box"),
                                               tr("above ground"),    tr("down the bore"), tr("data or meter")};
        const double wide = (inner - 5 * 8) / 6, high = 26;
        for (std::size_t n = 0; n < a_.where.size(); ++n) {
            const double x = margin + static_cast<double>(n) * (wide + 8), full = (high - 2) * a_.where[n];
            p_.box(x, y_, wide, high);
            if (full > 0.5) p_.hatch(x + 1, y_ + high - 1 - full, wide - 2, full, 3.5);
            p_.label(x + 0.5 * wide, y_ + 7, text::fixed(a_.where[n], 2),
                     {.size = body, .bold = true, .mono = true, .align = 0.5});
            p_.text(x, y_ + high + 2, names[n], {.size = small, .wide = wide, .align = 0.5});
        }
        y_ += high + 18 + 4;
    }

    void suspects() {
        heading(tr("What it may be"));
        for (std::size_t n = 0; n < a_.suspects.size() && n < most_suspects; ++n) {
            const diagnose::Suspect& s = a_.suspects[n];
            if (n > 0 && s.probability < 0.01) break;
            const std::string bad = diagnose::how_bad(s);
            p_.badge(margin + 8, y_ + 6, static_cast<int>(n) + 1, 5.5);
            p_.text(margin + inner - 90, y_, diagnose::chance(s.probability),
                    {.size = body, .bold = true, .wide = 90, .align = 1.0});
            const std::string words = text::capital(diagnose::name(s)) + (bad.empty() ? "" : fmt::format(" ({})", bad));
            y_ += std::max(13.0,
                           p_.text(margin + 22, y_, words, {.size = body, .bold = n == 0, .wide = inner - 120}) + 3);
        }
        if (!a_.suspects.empty() && a_.suspects.front().split) {
            const auto& split = *a_.suspects.front().split;
            y_ += p_.text(margin + 22, y_,
                          say("What would part the first from those like it: {}, about {:.0f} min.",
                              diagnose::test_name(split.test), split.minutes),
                          {.size = body, .wide = inner - 22}) +
                  3;
        }
        y_ += gap;
    }

    // The suspects an outcome would leave standing.
    std::string left_by(const diagnose::Outcome& o) const {
        std::vector<std::size_t> order;
        for (std::size_t n = 0; n < std::min(o.after.size(), a_.suspects.size()); ++n)
            if (o.after[n] >= 0.1) order.push_back(n);
        std::ranges::stable_sort(order, [&](std::size_t l, std::size_t r) { return o.after[l] > o.after[r]; });
        std::string words;
        for (const std::size_t n : order)
            words += fmt::format("{}{}, {}", words.empty() ? "" : "; ", diagnose::name(a_.suspects[n]),
                                 diagnose::chance(o.after[n]));
        return words.empty() ? std::string(tr("no suspect would stand out")) : words;
    }

    // To be written in on the way home.
    void afterwards() {
        constexpr double high = 44.0;
        if (!room(17 + 8 + high)) return;
        y_ += gap;
        heading(tr("Afterwards"));
        const std::array<const char*, 3> heads{tr("Repair made, by whom"), tr("What the proving test showed"),
                                               tr("Why it failed")};
        const double wide = (inner - 16) / 3;
        for (std::size_t n = 0; n < heads.size(); ++n) {
            const double x = margin + static_cast<double>(n) * (wide + 8);
            p_.box(x, y_ + 2, wide, high);
            p_.text(x + 4, y_ + 5, heads[n], {.size = small});
        }
        y_ += high + 4;
    }

    void what_to_do() {
        heading(tr("What to do"));
        y_ += p_.text(margin, y_, a_.stop.text, {.size = 9.6, .bold = true, .wide = inner}) + 4;
        for (const std::string& line : diagnose::stop_waits(a_))
            y_ += p_.text(margin, y_, line, {.size = body, .wide = inner}) + 4;
        if (!a_.next.empty()) {
            const diagnose::Proposal& next = a_.next.front();
            y_ += p_.text(
                      margin, y_,
                      say("Next: {}, about {:.0f} min. {}.", tr(next.name), next.minutes, text::capital(tr(next.how))),
                      {.size = body, .wide = inner}) +
                  4;
            if (const std::string light = diagnose::in_this_light(next); !light.empty())
                y_ += p_.text(margin, y_, light, {.size = body, .bold = true, .wide = inner}) + 4;
            for (std::size_t n = 0; n < next.outcomes.size() && n < most_outcomes; ++n) {
                const diagnose::Outcome& o = next.outcomes[n];
                const std::string words = say("If it shows {}: {}.", o.shown, left_by(o));
                const double high = p_.measure(words, {.size = body, .wide = inner - 22}).high;
                if (!room(high)) break;
                p_.box(margin + 4, y_ + 1, 8, 8);
                y_ += p_.text(margin + 22, y_, words, {.size = body, .wide = inner - 22}) + 3;
            }
        }
        for (const diagnose::Proposal& x : a_.bring) {
            const std::string words = say("Bring {} for: {}.", x.lacks, tr(x.name));
            if (!room(p_.measure(words, {.size = body, .wide = inner}).high)) break;
            y_ += p_.text(margin, y_, words, {.size = body, .wide = inner}) + 3;
        }
        if (!a_.today) return;
        y_ += 6;
        for (const std::string& line : diagnose::words(*a_.today)) {
            if (!room(p_.measure(line, {.size = body, .wide = inner}).high)) break;
            y_ += p_.text(margin, y_, line, {.size = body, .wide = inner}) + 3;
        }
    }

    const diagnose::Case& c_;
    const diagnose::Answer& a_;
    Paper p_;
    double y_ = 0.0;
};

}  // namespace

std::string case_page(const diagnose::Case& c, const diagnose::Answer& answer,
                      std::vector<report::Paper::Placed>* placed) {
    return CasePaper(c, answer).write(placed);
}

}  // namespace sunshaft::teach
