#include "diagnose/report.hpp"

#include <fmt/format.h>

#include "diagnose/answer_words.hpp"
#include "text/words.hpp"

namespace sunshaft::diagnose {
namespace {

std::string state_words(const Seen& s) {
    std::string text;
    for (const std::string& act : s.act) text += (text.empty() ? "" : ", ") + act;
    return text.empty() ? "as it stands" : text;
}

}  // namespace

std::string report_text(const Case& c, const Answer& a) {
    std::string out = fmt::format("Case: {}\n\n", c.site);
    for (const std::string& said : c.intake) out += fmt::format("said: {}\n", said);
    for (std::size_t n = 0; n < c.seen.size(); ++n) {
        const Seen& s = c.seen[n];
        out += fmt::format("{:<17} {:<26} {:<8} {:<20} {}\n", s.at, s.what(), s.mode,
                           a.read_back[n].empty() ? s.shown : a.read_back[n], state_words(s));
    }
    out += "\n";
    for (const std::string& line : words(a, c)) out += line + "\n";
    return out;
}

std::string report_html(const Case& c, const Answer& a) {
    std::string out =
        "<!doctype html><html lang=\"en\"><head><meta charset=\"utf-8\"><title>Case</title><style>"
        "body{font:15px/1.4 sans-serif;max-width:46em;margin:2em auto;padding:0 1em;color:#1c2730}"
        "table{border-collapse:collapse;width:100%;margin:1em 0}td,th{padding:.25em .6em;border-bottom:1px solid "
        "#c9c2b4;text-align:left}td.n,th.n{text-align:right;font-variant-numeric:tabular-nums}"
        "p.caution{border-left:4px solid #8c2f2a;padding-left:.8em}</style></head><body>";
    out += fmt::format("<h1>Case: {}</h1>", text::html(c.site));
    for (const std::string& said : c.intake) out += fmt::format("<p>Said: {}</p>", text::html(said));
    out +=
        "<h2>Read</h2><table><tr><th>when</th><th>where</th><th>mode</th><th class=\"n\">shown</th><th>state</th></tr>";
    for (std::size_t n = 0; n < c.seen.size(); ++n) {
        const Seen& s = c.seen[n];
        out += fmt::format("<tr><td>{}</td><td>{}</td><td>{}</td><td class=\"n\">{}</td><td>{}</td></tr>",
                           text::html(s.at), text::html(s.what()), text::html(s.mode),
                           text::html(a.read_back[n].empty() ? s.shown : a.read_back[n]), text::html(state_words(s)));
    }
    out += "</table><h2>Where</h2><table><tr>";
    for (const char* where : wheres) out += fmt::format("<th class=\"n\">{}</th>", where);
    out += "</tr><tr>";
    for (const double x : a.where) out += fmt::format("<td class=\"n\">{:.2f}</td>", x);
    out += "</tr></table><h2>Suspects</h2><table><tr><th>what</th><th>place</th><th>how likely</th></tr>";
    for (std::size_t n = 0; n < a.suspects.size() && n < 6; ++n)
        out += fmt::format("<tr><td>{}</td><td>{}</td><td>{}</td></tr>", text::html(a.suspects[n].title),
                           text::html(a.suspects[n].place), chance(a.suspects[n].probability));
    out += "</table>";
    if (!a.suspects.empty() && !a.suspects.front().columns.empty()) {
        out +=
            "<h2>The first suspect against the readings</h2><table><tr><th></th><th class=\"n\">you read</th><th "
            "class=\"n\">healthy would</th><th class=\"n\">this suspect would</th></tr>";
        for (const Compared& row : a.suspects.front().columns)
            out += fmt::format(
                "<tr><td>{}</td><td class=\"n\">{}</td><td class=\"n\">{}</td><td class=\"n\">{}</td></tr>",
                text::html(row.what), text::html(row.read), text::html(row.healthy), text::html(row.suspect));
        out += "</table>";
    }
    for (const Doubt& d : a.doubtful)
        if (d.seen < c.seen.size())
            out += fmt::format("<p>Doubtful: {}, {}.</p>", text::html(c.seen[d.seen].what()), text::html(d.why));
    out += "<h2>What to do</h2>";
    if (!a.next.empty())
        for (const std::string& caution : bench::words(a.next.front().hazards))
            out += fmt::format("<p class=\"caution\">{}</p>", text::html(caution));
    out += fmt::format("<p>{}</p>", text::html(a.stop.text));
    if (!a.next.empty())
        out += fmt::format("<p>Next: {}, about {:.0f} min. {}.</p>", text::html(a.next.front().name),
                           a.next.front().minutes, text::html(a.next.front().how));
    for (const Proposal& x : a.bring)
        out += fmt::format("<p>Bring {} for: {}.</p>", text::html(x.lacks), text::html(x.name));
    for (const std::string& note : a.notes) out += fmt::format("<p>Not weighed: {}</p>", text::html(note));
    out += "<p>For trained and authorised people only. Your local code and licensed practice come first.</p>";
    return out + "</body></html>\n";
}

}  // namespace sunshaft::diagnose
