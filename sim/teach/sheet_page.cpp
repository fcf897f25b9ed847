// The sheet on A4: head, cautions, drawing, dead tests, then the live ones below a caution of their own.
#include <fmt/format.h>

#include <algorithm>
#include <cmath>

#include "teach/sheet.hpp"
#include "text/language.hpp"
#include "text/words.hpp"

namespace sunshaft::teach {
namespace {

using text::say, text::tr;

using report::Paper;

// Columns from the left margin: number, what and how, healthy, ratio, what else means, boxes. Where nothing is said of
// what else means, the others take its room.
struct Columns {
    double what_w, healthy_x, ratio_x, mean_x, boxes_x, box_high;
};
constexpr Columns with_means{116, 140, 230, 266, 452, 26.0}, without_means{216, 244, 336, 0, 376, 22.0};
constexpr double what_x = 20, healthy_w = 86, ratio_w = 32, label_w = 44, mean_w = 182;
constexpr std::size_t most_causes = 3;

std::string causes(const Meaning& m) {
    std::string text;
    for (std::size_t n = 0; n < std::min(m.causes.size(), most_causes); ++n) text += (n ? "; " : "") + m.causes[n];
    if (m.causes.size() > most_causes) text += say("; {} more", m.causes.size() - most_causes);
    return text;
}

class SheetPaper {
    static constexpr double body = 7.6, small = 7.0;
    static constexpr double margin = 28.0, inner = report::a4_wide - 2 * margin, foot = report::a4_high - 36.0;

  public:
    SheetPaper(Paper& paper, const Sheet& sheet) : s_(sheet), p_(paper) {
        means_ = std::any_of(s_.rows.begin(), s_.rows.end(), [](const SheetRow& r) { return !r.means.empty(); });
        at_ = means_ ? with_means : without_means;
    }

    void write(bool drawing) {
        head();
        caution(s_.first, 20.0);
        if (drawing) {
            constexpr double drawn = 188.0;
            draw_chain(p_, s_, margin, y_, inner, drawn);
            y_ += drawn + 10;
        }
        table(false);
        table(true);
        footer();
    }

  private:
    void head() {
        y_ = 28;
        const double title_w = 300;
        y_ += p_.text(margin, y_, say("Expected readings, {}", s_.name), {.size = 16, .bold = true, .wide = title_w});
        y_ += p_.text(margin, y_ + 2, s_.description, {.size = body, .wide = title_w});
        y_ += p_.text(margin, y_ + 4, printed(say("Computed for {}.", s_.sky)),
                      {.size = body, .bold = true, .wide = title_w});
        if (!s_.note.empty()) y_ += p_.text(margin, y_ + 4, printed(s_.note), {.size = body, .wide = title_w});
        const double left = margin + 316, wide = inner - 316, top = 28;
        p_.box(left, top, wide, 46, 0.8);
        p_.line(left, top + 23, left + wide, top + 23);
        const auto field = [&](double x, double y, const char* label) {
            if (x > left) p_.line(x, y, x, y + 23);
            p_.text(x + 3, y + 2, printed(label), {.size = small});
        };
        field(left, top, tr("Name"));
        field(left + 0.6 * wide, top, tr("Date"));
        field(left, top + 23, tr("Sun, W/m2"));
        field(left + 0.32 * wide, top + 23, tr("Modules, degC"));
        field(left + 0.66 * wide, top + 23, tr("Meter"));
        y_ = std::max(y_ + 10, top + 56);
    }

    double caution_high(const std::vector<std::string>& said) const {
        double high = 0.0;
        for (const std::string& l : said) high += p_.measure(printed(l), {.size = body, .wide = inner - 50}).high + 1.5;
        return std::max(high + 9, 30.0);
    }
    void caution(const std::vector<std::string>& said, double sign) {
        if (said.empty()) return;
        const double high = caution_high(said);
        p_.box(margin, y_, inner, high, 0.9);
        p_.bar(margin, y_, 5, high);
        p_.warning(margin + 13, y_ + 0.5 * (high - sign), sign);
        double y = y_ + 5;
        for (const std::string& l : said)
            y += p_.text(margin + 43, y, printed(l), {.size = body, .bold = &l == &said.front(), .wide = inner - 50}) +
                 1.5;
        y_ += high + 8;
    }

    int across(const SheetRow& row) const { return row.boxes.size() <= 3 ? static_cast<int>(row.boxes.size()) : 3; }
    double row_high(const SheetRow& row) const {
        double high = 0.0, what = 0.0, mean = 0.0, well = 0.0;
        what += p_.measure(printed(row.where), {.size = body, .bold = true, .wide = at_.what_w}).high;
        what += p_.measure(printed(row.set), {.size = small, .wide = at_.what_w}).high;
        for (const std::string& h : row.healthy)
            well += p_.measure(printed(h), {.size = 7.3, .mono = true, .wide = healthy_w}).high;
        for (const Meaning& m : row.means)
            mean += std::max(p_.measure(causes(m), {.size = small, .wide = mean_w - label_w}).high,
                             p_.measure(m.reading, {.size = small, .bold = true, .wide = label_w - 3}).high);
        const double boxes = std::ceil(static_cast<double>(row.boxes.size()) / across(row)) * at_.box_high;
        high = std::max({what, mean, well, boxes});
        return high + 6.0;
    }

    void columns() {
        const double y = y_;
        p_.line(margin, y, margin + inner, y, 1.2);
        for (const auto& [x, words] : {std::pair{what_x, tr("Between; set to")},
                                       {at_.healthy_x, tr("Healthy")},
                                       {at_.ratio_x, tr("Ratio")},
                                       {at_.mean_x, means_ ? tr("Else it can mean, commonest first") : ""},
                                       {at_.boxes_x, tr("You read")}})
            p_.text(margin + x, y + 2, words, {.size = small, .bold = true});
        y_ += 14;
        p_.line(margin, y_, margin + inner, y_, 0.7);
    }

    void table(bool live) {
        std::vector<const SheetRow*> rows;
        for (const SheetRow& r : s_.rows)
            if (r.live == live) rows.push_back(&r);
        if (rows.empty()) return;
        const double top = 34 + (live ? caution_high(s_.live) + 8 : 0.0);
        const auto begin = [&](bool again) {
            if (live) caution(s_.live, 18.0);
            else if (again) caution(s_.first, 18.0);
            const char* const title = live ? tr("Live tests after") : tr("Dead tests first");
            const double w = p_.measure(title, {.size = 11, .bold = true}).wide;
            p_.text(margin, y_, title, {.size = 11, .bold = true});
            std::string beside = live ? tr("volts and amps move with the sun, ratios hardly") : s_.meters;
            if (again) beside = tr("continued");
            p_.text(margin + w + 8, y_ + 4, beside, {.size = small});
            y_ += 18;
            columns();
        };
        if (y_ + top + row_high(*rows.front()) > foot) turn();
        begin(false);
        for (const SheetRow* row : rows) {
            if (y_ + row_high(*row) > foot) {
                turn();
                begin(true);
            }
            draw(*row);
        }
        y_ += 12;
    }

    void draw(const SheetRow& row) {
        const double high = row_high(row), top = y_ + 3;
        p_.badge(margin + 8, top + 9, row.number);
        double y = top;
        y += p_.text(margin + what_x, y, printed(row.where), {.size = body, .bold = true, .wide = at_.what_w});
        p_.text(margin + what_x, y, printed(row.set), {.size = small, .wide = at_.what_w});
        y = top;
        for (const std::string& h : row.healthy)
            y += p_.text(margin + at_.healthy_x, y, printed(h),
                         {.size = 7.3, .bold = &h == &row.healthy.front(), .mono = true, .wide = healthy_w});
        p_.text(margin + at_.ratio_x, top, row.ratio, {.size = small, .mono = true, .wide = ratio_w});
        y = top;
        for (const Meaning& m : row.means) {
            const double a =
                p_.text(margin + at_.mean_x, y, m.reading, {.size = small, .bold = true, .wide = label_w - 3});
            const double b =
                p_.text(margin + at_.mean_x + label_w, y, causes(m), {.size = small, .wide = mean_w - label_w});
            y += std::max(a, b);
        }
        const int n = across(row);
        const double wide = (inner - at_.boxes_x) / n;
        for (std::size_t k = 0; k < row.boxes.size(); ++k) {
            const int column = static_cast<int>(k) % n, line = static_cast<int>(k) / n;
            const double x = margin + at_.boxes_x + wide * column, at = top + at_.box_high * line;
            p_.box(x, at, wide, at_.box_high, 0.8);
            p_.text(x + 2.5, at + 1, printed(row.boxes[k]), {.size = 6.8});
        }
        y_ += high;
        p_.line(margin, y_, margin + inner, y_, 0.5);
    }

    void turn() {
        footer();
        p_.next_page();
        y_ = 28;
    }
    void footer() {
        p_.line(margin, foot + 6, margin + inner, foot + 6, 0.7);
        p_.text(margin, foot + 9,
                tr("Outside the band? Repeat once, leads or jaws zeroed. Could not measure: write \"no\", go on."),
                {.size = small});
        p_.text(margin + inner, foot + 9, say("{}, page {}", s_.name, p_.pages()), {.size = small, .align = 1.0});
    }

    const Sheet& s_;
    Paper& p_;
    Columns at_ = with_means;
    bool means_ = true;
    double y_ = 0.0;
};

}  // namespace

void sheet_pages(Paper& paper, const Sheet& sheet, bool drawing) { SheetPaper(paper, sheet).write(drawing); }

std::string sheet_pdf(const Sheet& sheet, std::vector<Paper::Placed>* placed) {
    Paper paper(Paper::Kind::pdf, report::a4_wide, report::a4_high);
    sheet_pages(paper, sheet, true);
    if (placed) *placed = paper.placed();
    return paper.finish();
}

}  // namespace sunshaft::teach
