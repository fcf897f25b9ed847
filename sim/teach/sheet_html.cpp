#include <fmt/format.h>

#include <algorithm>

#include "teach/sheet.hpp"
#include "text/language.hpp"
#include "text/words.hpp"

namespace sunshaft::teach {
namespace {

using text::tr;

std::string caution(const std::vector<std::string>& said) {
    std::string out = "<div class=\"c\" role=\"note\">\n";
    for (const std::string& l : said) out += fmt::format("<p>&#9888; {}</p>\n", in_html(l));
    return out + "</div>\n";
}

std::string table(const Sheet& sheet, bool live) {
    const bool told = std::ranges::any_of(sheet.rows, [](const SheetRow& r) { return !r.means.empty(); });
    std::string out = fmt::format("<table>\n<tr><th></th><th>{}</th><th>{}</th><th>{}</th>", tr("Between; set to"),
                                  tr("Healthy"), tr("Ratio"));
    if (told) out += fmt::format("<th>{}</th>", tr("Else it can mean, commonest first"));
    out += fmt::format("<th>{}</th></tr>\n", tr("You read"));
    for (const SheetRow& r : sheet.rows) {
        if (r.live != live) continue;
        std::string healthy, means, boxes;
        for (const std::string& h : r.healthy) healthy += (healthy.empty() ? "" : "<br>") + in_html(h);
        for (const Meaning& m : r.means) {
            std::string list;
            for (const std::string& c : m.causes) list += (list.empty() ? "" : "; ") + in_html(c);
            means += fmt::format("<b>{}</b> {}<br>", in_html(m.reading), list);
        }
        for (const std::string& b : r.boxes) boxes += fmt::format("<span>{}</span>", in_html(b));
        out += fmt::format(
            "<tr><td><b>{}</b></td><td><b>{}</b><br>{}</td><td class=\"f\">{}</td><td "
            "class=\"f\">{}</td>{}<td "
            "class=\"b\">{}</td></tr>\n",
            r.number, in_html(r.where), in_html(r.set), healthy, in_html(r.ratio), told ? "<td>" + means + "</td>" : "",
            boxes);
    }
    return out + "</table>\n";
}

}  // namespace

const char* const sheet_style =
    "body{font:15px/1.4 Inter,sans-serif;color:#000;background:#fff;max-width:60em;margin:2em auto;padding:0 1em}"
    "table{border-collapse:collapse;width:100%;font-size:13px}th,td{border-top:1px solid #000;padding:4px "
    "6px;text-align:left;vertical-align:top}td.f{font-family:'JetBrains Mono',monospace;white-space:nowrap}"
    ".c{border:1px solid #000;border-left:6px solid #000;padding:6px 10px;margin:1em 0}.c p{margin:2px 0}"
    ".b span{display:inline-block;border:1px solid #000;min-width:3.2em;height:2.6em;padding:1px 3px;font-size:11px;"
    "vertical-align:top}svg{width:100%;height:auto}@media print{tr,.c{break-inside:avoid}}";

std::string in_html(const std::string& words) { return text::html(printed(words)); }

std::string printed(std::string words) {
    const auto digit = [](char c) { return c >= '0' && c <= '9'; };
    const auto letter = [](char c) { return (c >= 'a' && c <= 'z') || (c >= 'A' && c <= 'Z'); };
    std::string out;
    for (std::size_t n = 0; n < words.size(); ++n) {
        const char c = words[n], before = n ? words[n - 1] : ' ', after = n + 1 < words.size() ? words[n + 1] : ' ';
        const auto is = [&](std::string_view word) {
            if (words.compare(n, word.size(), word) != 0) return false;
            const char end = n + word.size() < words.size() ? words[n + word.size()] : ' ';
            return !letter(end) && !digit(end);
        };
        const auto alone = [&](std::size_t at) {  // a letter that is a word of its own
            return (at == 0 || !letter(words[at - 1])) && (at + 1 >= words.size() || !letter(words[at + 1]));
        };
        const bool unit_begins =
            !letter(before) ||
            ((before == 'k' || before == 'M' || before == 'm' || before == 'G') && n >= 2 && !letter(words[n - 2]));
        if (unit_begins && is("ohm")) out += "\u03a9", n += 2;
        else if (is("uF") && !letter(before)) out += "\u00b5", n += 0;
        else if (is("m3") && !letter(before) && before != '_') out += "m\u00b3", n += 1;
        else if (is("m2") && before == '/') out += "m\u00b2", n += 1;
        else if (is("degC") && !letter(before)) out += "\u00b0C", n += 3;
        else if (c == '-' && ((digit(before) && digit(after)) ||
                              (n && letter(before) && letter(after) && alone(n - 1) && alone(n + 1))))
            out += "\u2013";
        else if (c == ' ' && digit(before) && (letter(after) || after == '/')) out += "\u00a0";
        else out += c;
    }
    return out;
}

std::string drawing_svg(const Sheet& sheet) {
    constexpr double wide = 540.0, high = 200.0;
    report::Paper drawing(report::Paper::Kind::svg, wide, high);
    draw_chain(drawing, sheet, 0.0, 2.0, wide, high - 4.0);
    std::string svg = drawing.finish();
    svg.erase(0, svg.find("<svg"));
    return svg;
}

std::string sheet_body(const Sheet& sheet, bool drawing) {
    bool dead = false, live = false;
    for (const SheetRow& r : sheet.rows) (r.live ? live : dead) = true;
    std::string out = caution(sheet.first);
    if (drawing) out += drawing_svg(sheet);
    if (dead)
        out += fmt::format("<h2>{}</h2>\n<p>{}</p>\n", tr("Dead tests first"), in_html(sheet.meters)) +
               table(sheet, false);
    if (live)
        out += caution(sheet.live) +
               fmt::format("<h2>{}</h2>\n<p>{}</p>\n", tr("Live tests after"),
                           tr("Volts and amps move with the sun, ratios hardly.")) +
               table(sheet, true);
    return out;
}

std::string sheet_html(const Sheet& sheet) {
    return fmt::format(
               "<!doctype html>\n<html lang=\"{5}\">\n<meta charset=\"utf-8\">\n<title>{0}</title>\n<style>{1}"
               "</style>\n<h1>{0}</h1>\n<p>{2}<br><b>{3}</b> {4}</p>\n",
               in_html(text::say("Expected readings, {}", sheet.name)), sheet_style, in_html(sheet.description),
               in_html(text::say("Computed for {}.", sheet.sky)), in_html(sheet.note), text::language()) +
           sheet_body(sheet, true) + "</html>\n";
}

}  // namespace sunshaft::teach
