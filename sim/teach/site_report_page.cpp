// The report on paper and as a web page.
#include <fmt/format.h>

#include <algorithm>
#include <cmath>

#include "teach/site_report.hpp"
#include "text/figure.hpp"
#include "text/language.hpp"
#include "text/words.hpp"

namespace sunshaft::teach {
namespace {

using text::id, text::say, text::tr;

using day::Margin;
using report::Paper;

std::string figure(double x, const std::string& unit) {
    if (std::isnan(x)) return "-";
    return unit == "%" ? text::percent(x) : text::quantity(x, unit, 3);
}
std::string bound(const Margin& m) {
    if (std::isnan(m.bound)) return tr("not told");
    return m.at_most        ? say("at most {}", figure(m.bound, m.unit))
           : m.bound == 0.0 ? say("more than {}", figure(m.bound, m.unit))
                            : say("at least {}", figure(m.bound, m.unit));
}
std::string rule(const Margin& m) { return fmt::format("{} ({})", printed(m.rule), m.source); }
std::string verdict(const SiteReport& r) {
    const auto count = [&](Margin::Verdict v) {
        return std::count_if(r.fit.rows.begin(), r.fit.rows.end(), [v](const Margin& m) { return m.verdict == v; });
    };
    if (r.fit.fails())
        return say("It does not fit: {} of {} rows fail.", count(Margin::Verdict::fails), r.fit.rows.size());
    if (r.fit.incomplete())
        return say("Not called sound: {} of {} figures are missing; the rows say which.",
                   count(Margin::Verdict::untold), r.fit.rows.size());
    return tr("Every row asked here fits. What is not asked here is not answered.");
}
std::string helps(const SiteReport& r) {
    if (!r.suggestion) return "";
    return text::sentences({say("What would help most: {}.", r.suggestion->why), r.suggestion->words()});
}
bool spread(const SiteReport& r) { return r.most_year_m3 - r.least_year_m3 > 0.005 * r.most_year_m3; }
std::string year(const SiteReport& r) {
    const std::string sum = spread(r) ? say("{} to {}", text::column(r.least_year_m3, "m3", r.most_year_m3, 3),
                                            text::quantity(r.most_year_m3, "m3", 3))
                                      : text::quantity(r.most_year_m3, "m3", 3);
    double days = 0.0;
    for (const auto& m : r.months) days += m.days;
    constexpr double most_of_a_year = 350.0;
    const std::string words = days < most_of_a_year
                                  ? say("In the days with data ({:.0f}) {}. Computed for {}.", days, sum, r.weather)
                                  : say("In the year {}. Computed for {}.", sum, r.weather);
    if (std::isnan(r.need_m3_day)) return words;
    int short_of = 0;
    for (const auto& m : r.months) short_of += m.days > 0.0 && m.least_m3 < r.need_m3_day;
    const std::string need = text::quantity(r.need_m3_day, "m3", 3);
    return text::sentences({words, short_of > 0
                                       ? say("Needed are {} a day: in {} months a day brings less.", need, short_of)
                                       : say("Needed are {} a day: every month brings them.", need)});
}
constexpr const char* defers_id =
    id("Your local code and the papers of the parts come first. What stands here is computed, and no permission.");

class SiteReportPaper {
    static constexpr double margin = 28.0, inner = report::a4_wide - 2 * margin, foot = report::a4_high - 36.0;
    static constexpr double body = 8.2, small = 7.4;

  public:
    explicit SiteReportPaper(const SiteReport& r) : r_(r), p_(Paper::Kind::pdf, report::a4_wide, report::a4_high) {}

    std::string write(std::vector<Paper::Placed>* placed) {
        first();
        margins();
        p_.next_page();
        sheet_pages(p_, r_.sheet, false);
        if (placed) *placed = p_.placed();
        return p_.finish();
    }

  private:
    void head(const std::string& words) {
        y_ = 28;
        y_ += p_.text(margin, y_, words, {.size = 16, .bold = true, .wide = inner - 130});
        p_.box(margin + inner - 120, 28, 120, 22, 0.8);
        p_.text(margin + inner - 117, 30, tr("Date, by"), {.size = small});
        y_ = std::max(y_ + 4, 56.0);
    }
    void footer() {
        p_.line(margin, foot + 6, margin + inner, foot + 6, 0.7);
        p_.text(margin, foot + 9, tr(defers_id), {.size = small});
        p_.text(margin + inner, foot + 9, say("{}, page {}", r_.sheet.name, p_.pages()), {.size = small, .align = 1.0});
    }
    void heading(const char* words) {
        y_ += p_.text(margin, y_, words, {.size = 11, .bold = true}) + 3;
        p_.line(margin, y_, margin + inner, y_, 1.0);
        y_ += 4;
    }
    void caution(const std::vector<std::string>& lines) {
        if (lines.empty()) return;
        double high = 9.0;
        for (const std::string& l : lines)
            high += p_.measure(printed(l), {.size = body, .wide = inner - 50}).high + 1.5;
        high = std::max(high, 30.0);
        p_.box(margin, y_, inner, high, 0.9);
        p_.bar(margin, y_, 5, high);
        p_.warning(margin + 13, y_ + 0.5 * (high - 20), 20);
        double y = y_ + 5;
        for (const std::string& l : lines)
            y += p_.text(margin + 43, y, printed(l), {.size = body, .bold = &l == &lines.front(), .wide = inner - 50}) +
                 1.5;
        y_ += high + 8;
    }

    void first() {
        head(say("Report, {}", r_.sheet.name));
        y_ += p_.text(margin, y_, r_.sheet.description, {.size = body + 0.6, .wide = inner}) + 8;
        caution(r_.sheet.live);
        constexpr double drawn = 188.0;
        draw_chain(p_, r_.sheet, margin, y_, inner, drawn);
        y_ += drawn + 3;
        y_ += p_.text(margin, y_, tr("Numbers: the tests of the last pages."), {.size = small}) + 9;
        heading(tr("What it is"));
        for (const auto& [name, words] : r_.facts) {
            p_.text(margin, y_, name, {.size = body, .bold = true});
            y_ += p_.text(margin + 92, y_, printed(words), {.size = body, .wide = inner - 92}) + 2.5;
        }
        y_ += 9;
        heading(tr("Water into the tank, m³ a day, month by month"));
        water();
        footer();
    }

    void water() {
        constexpr double high = 118.0, axis = 34.0;
        double largest = 0.0;
        for (const auto& m : r_.months) largest = std::max(largest, m.most_m3);
        double most = std::isnan(r_.need_m3_day) ? largest : std::max(largest, r_.need_m3_day);
        most = std::max(1.12 * most, 1e-9);
        const double step = std::pow(10.0, std::floor(std::log10(most / 2.0)));
        const double tick = most / step > 8 ? 2.5 * step : most / step > 4 ? step : 0.5 * step;
        const double top = y_ + 6, wide = inner - axis, each = wide / 12;
        const auto at = [&](double v) { return top + high * (1 - v / most); };
        for (double v = 0.0; v <= most; v += tick) {
            p_.line(margin + axis, at(v), margin + inner, at(v), v == 0.0 ? 1.0 : 0.25);
            p_.text(margin + axis - 4, at(v) - 5, text::quantity(v, "", 3),
                    {.size = small, .mono = true, .align = 1.0});
        }
        const bool needed = !std::isnan(r_.need_m3_day);
        if (needed) p_.line(margin + axis, at(r_.need_m3_day), margin + inner, at(r_.need_m3_day), 1.1, true);
        for (std::size_t n = 0; n < 12; ++n) {
            const SiteReport::Month& m = r_.months[n];
            const double x = margin + axis + each * static_cast<double>(n), w = 0.5 * each, left = x + 0.25 * each;
            p_.text(x + 0.5 * each, top + high + 3, tr(day::month_word(static_cast<int>(n) + 1)),
                    {.size = small, .align = 0.5});
            if (!(m.days > 0.0)) {
                p_.text(x + 0.5 * each, top + high - 12, tr("no data"), {.size = 6.5, .align = 0.5});
                continue;
            }
            p_.box(left, at(m.most_m3), w, at(0) - at(m.most_m3), 0.8);
            if (m.least_m3 > 0.0) p_.bar(left, at(m.least_m3), w, at(0) - at(m.least_m3));
            p_.label(x + 0.5 * each, at(m.most_m3) - 11, text::column(m.most_m3, "", largest, 3),
                     {.size = small, .mono = true, .align = 0.5});
        }
        y_ = top + high + 16;
        const std::string key = text::sentences(
            {spread(r_) ? tr("Outline and figure: clear sky. Black: haze.") : "", needed ? tr("Dashed: needed.") : ""});
        if (!key.empty()) y_ += p_.text(margin, y_, key, {.size = small}) + 2;
        y_ += p_.text(margin, y_, printed(year(r_)), {.size = body, .wide = inner});
    }

    static bool loud(const Margin& m) {
        return m.verdict == Margin::Verdict::fails || m.verdict == Margin::Verdict::untold;
    }
    double row_high(const Margin& m) const {
        const double what = p_.measure(printed(m.what), {.size = body, .bold = true, .wide = 128}).high;
        double high = p_.measure(rule(m), {.size = small, .wide = inner - 334}).high;
        if (!m.note.empty())
            high += p_.measure(printed(m.note), {.size = small, .bold = loud(m), .wide = inner - 334}).high + 1;
        const double is = p_.measure(printed(figure(m.is, m.unit)), {.size = body, .wide = 46}).high,
                     at_most = p_.measure(printed(bound(m)), {.size = body, .wide = 72}).high;
        return std::max({what, high, is, at_most}) + 6;
    }
    void begin_margins(bool again) {
        p_.next_page();
        head(again ? tr("Does it fit together, continued") : tr("Does it fit together"));
        if (!again) {
            y_ += p_.text(margin, y_, verdict(r_), {.size = 10, .bold = true, .wide = inner}) + 3;
            if (const std::string words = helps(r_); !words.empty())
                y_ += p_.text(margin, y_, printed(words), {.size = body, .wide = inner}) + 3;
            y_ += 4;
        }
        p_.line(margin, y_, margin + inner, y_, 1.2);
        for (const auto& [x, words] : {std::pair{0.0, ""},
                                       {44.0, tr("What")},
                                       {178.0, tr("Is")},
                                       {226.0, tr("Bound")},
                                       {300.0, tr("Left")},
                                       {334.0, tr("Rule, and where it comes from")}})
            p_.text(margin + x, y_ + 2, words, {.size = small, .bold = true});
        y_ += 14;
        p_.line(margin, y_, margin + inner, y_, 0.7);
    }
    void margins() {
        begin_margins(false);
        for (const Margin& m : r_.fit.rows) {
            if (y_ + row_high(m) > foot) footer(), begin_margins(true);
            const double top = y_ + 3;
            p_.text(margin, top, tr(Margin::word(m.verdict)), {.size = body, .bold = loud(m)});
            if (m.verdict == Margin::Verdict::fails) p_.bar(margin - 6, y_ + 2, 3, row_high(m) - 4);
            p_.text(margin + 44, top, printed(m.what), {.size = body, .bold = true, .wide = 128});
            p_.text(margin + 178, top, printed(figure(m.is, m.unit)), {.size = body, .wide = 46});
            p_.text(margin + 226, top, printed(bound(m)), {.size = body, .wide = 72});
            p_.text(margin + 300, top, m.left_words(), {.size = body});
            double y = top;
            y += p_.text(margin + 334, y, rule(m), {.size = small, .wide = inner - 334});
            if (!m.note.empty())
                p_.text(margin + 334, y + 1, printed(m.note), {.size = small, .bold = loud(m), .wide = inner - 334});
            y_ += row_high(m);
            p_.line(margin, y_, margin + inner, y_, 0.4);
        }
        footer();
    }

    const SiteReport& r_;
    Paper p_;
    double y_ = 0.0;
};

}  // namespace

std::string report_pdf(const SiteReport& report, std::vector<Paper::Placed>* placed) {
    return SiteReportPaper(report).write(placed);
}

std::string report_html(const SiteReport& r) {
    std::string out = fmt::format(
        "<!doctype html>\n<html lang=\"{4}\">\n<meta charset=\"utf-8\">\n<title>{0}</title>\n<style>{1}"
        ".m{{display:inline-block;background:#000;height:.8em}}.m+.m{{background:#fff;border:1px solid "
        "#000;height:.7em}}"
        "</style>\n<h1>{0}</h1>\n<p>{2}</p>\n<p>{3}</p>\n",
        in_html(say("Report, {}", r.sheet.name)), sheet_style, in_html(r.sheet.description), tr(defers_id),
        text::language());
    out += drawing_svg(r.sheet) + fmt::format("<h2>{}</h2>\n<table>\n", tr("What it is"));
    for (const auto& [name, words] : r.facts)
        out += fmt::format("<tr><th>{}</th><td>{}</td></tr>\n", in_html(name), in_html(words));
    double most = 1e-9;
    for (const auto& m : r.months) most = std::max(most, m.most_m3);
    out += fmt::format("</table>\n<h2>{}</h2>\n<table>\n", tr("Water into the tank, m³ a day"));
    for (std::size_t n = 0; n < 12; ++n) {
        const SiteReport::Month& m = r.months[n];
        const std::string figures =
            !(m.days > 0.0) ? tr("no data")
            : spread(r) ? say("{} to {}", text::column(m.least_m3, "", most, 3), text::column(m.most_m3, "", most, 3))
                        : text::column(m.most_m3, "", most, 3);
        out += fmt::format(
            "<tr><th>{}</th><td class=\"f\">{}</td><td style=\"width:75%\"><span class=\"m\" "
            "style=\"width:{:.1f}%\"></span><span class=\"m\" style=\"width:{:.1f}%\"></span></td></tr>\n",
            tr(day::month_word(static_cast<int>(n) + 1)), figures, 95 * m.least_m3 / most,
            95 * (m.most_m3 - m.least_m3) / most);
    }
    out += fmt::format(
        "</table>\n<p>{}</p>\n<h2>{}</h2>\n<p><b>{}</b> {}</p>\n<table>\n<tr><th></th>"
        "<th>{}</th><th>{}</th><th>{}</th><th>{}</th><th>{}</th></tr>\n",
        in_html(year(r)), tr("Does it fit together"), in_html(verdict(r)), in_html(helps(r)), tr("What"), tr("Is"),
        tr("Bound"), tr("Left"), tr("Rule, and where it comes from"));
    for (const Margin& m : r.fit.rows)
        out += fmt::format(
            "<tr><td>{}</td><td><b>{}</b></td><td class=\"f\">{}</td><td>{}</td><td class=\"f\">{}</td>"
            "<td>{} ({}){}</td></tr>\n",
            tr(Margin::word(m.verdict)), in_html(m.what), in_html(figure(m.is, m.unit)), in_html(bound(m)),
            in_html(m.left_words()), in_html(m.rule), text::html(m.source),
            m.note.empty() ? "" : "<br><b>" + in_html(m.note) + "</b>");
    out += fmt::format("</table>\n<h2>{}</h2>\n<p><b>{}</b> {}</p>\n", tr("Expected readings"),
                       in_html(say("Computed for {}.", r.sheet.sky)), in_html(r.sheet.note));
    return out + sheet_body(r.sheet, false) + "</html>\n";
}

}  // namespace sunshaft::teach
