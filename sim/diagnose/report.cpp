#include "diagnose/report.hpp"

#include <fmt/format.h>

#include <initializer_list>

#include "diagnose/answer_words.hpp"
#include "text/figure.hpp"
#include "text/language.hpp"
#include "text/words.hpp"

namespace sunshaft::diagnose {
namespace {

using text::say, text::tr;

std::string state_words(const Seen& s) {
    std::string text;
    for (const std::string& act : s.act) text += (text.empty() ? "" : ", ") + act;
    return text.empty() ? std::string(tr("as it stands")) : text;
}

}  // namespace

std::string report_text(const Case& c, const Answer& a) {
    std::string out = say("Case: {}", c.site) + "\n\n";
    for (const std::string& said : c.intake) out += say("said: {}", said) + "\n";
    for (std::size_t n = 0; n < c.seen.size(); ++n) {
        const Seen& s = c.seen[n];
        out += fmt::format("{:<17} {:<26} {:<8} {:<20} {}\n", s.at, s.what(), s.mode,
                           a.read_back[n].empty() ? s.shown : a.read_back[n], state_words(s));
    }
    out += "\n";
    for (const std::string& line : words(a, c)) out += line + "\n";
    return out;
}

namespace {

using text::html;

std::string row(const char* tag, std::initializer_list<std::string> cells, std::size_t figures_from) {
    std::string out = "<tr>";
    std::size_t n = 0;
    for (const std::string& cell : cells)
        out += fmt::format("<{0}{1}>{2}</{0}>", tag, n++ < figures_from ? "" : " class=\"n\"", html(cell));
    return out + "</tr>";
}

std::string readings(const Case& c, const Answer& a) {
    std::string out = fmt::format("<h2>{}</h2><table>", html(tr("Read")));
    out += row("th", {tr("when"), tr("where"), tr("mode"), tr("shown"), tr("state")}, 3);
    for (std::size_t n = 0; n < c.seen.size(); ++n) {
        const Seen& s = c.seen[n];
        out += fmt::format("<tr><td>{}</td><td>{}</td><td>{}</td><td class=\"n\">{}</td><td>{}</td></tr>", html(s.at),
                           html(s.what()), html(s.mode), html(a.read_back[n].empty() ? s.shown : a.read_back[n]),
                           html(state_words(s)));
    }
    return out + "</table>";
}

std::string suspects(const Answer& a) {
    std::string out = fmt::format("<h2>{}</h2><table><tr>", html(tr("Where")));
    for (std::size_t n = 0; n < a.where.size(); ++n)
        out += fmt::format("<th class=\"n\">{}</th>", html(where_words(n)));
    out += "</tr><tr>";
    for (const double x : a.where) out += fmt::format("<td class=\"n\">{}</td>", text::fixed(x, 2));
    out += fmt::format("</tr></table><h2>{}</h2><table>", html(tr("Suspects")));
    out += row("th", {tr("what"), tr("place"), tr("how likely")}, 3);
    for (std::size_t n = 0; n < a.suspects.size() && n < 6; ++n)
        out += row("td", {tr(a.suspects[n].title), a.suspects[n].place, chance(a.suspects[n].probability)}, 3);
    out += "</table>";
    if (a.suspects.empty() || a.suspects.front().columns.empty()) return out;
    out += fmt::format("<h2>{}</h2><table>", html(tr("The first suspect against the readings")));
    out += row("th", {"", tr("you read"), tr("healthy would"), tr("this suspect would")}, 1);
    for (const Compared& c : a.suspects.front().columns) out += row("td", {c.what, c.read, c.healthy, c.suspect}, 1);
    return out + "</table>";
}

std::string to_do(const Answer& a) {
    std::string out = fmt::format("<h2>{}</h2>", html(tr("What to do")));
    for (const std::string& caution : bench::words(hazards(a)))
        out += fmt::format("<p class=\"caution\">{}</p>", html(caution));
    const auto says = [&](const std::string& sentence) { out += fmt::format("<p>{}</p>", html(sentence)); };
    says(a.stop.text);
    for (const std::string& line : stop_waits(a)) says(line);
    if (!a.next.empty()) {
        says(say("Next: {}, about {:.0f} min. {}.", a.next.front().name, a.next.front().minutes, a.next.front().how));
        if (const std::string light = in_this_light(a.next.front()); !light.empty()) says(light);
    }
    for (const Proposal& x : a.bring) says(say("Bring {} for: {}.", tr(x.lacks), x.name));
    for (const std::string& note : a.notes) says(say("Not weighed: {}", note));
    if (a.today)
        for (const std::string& line : words(*a.today)) says(line);
    says(tr("For trained and authorised people only. Your local code and licensed practice come first."));
    return out;
}

}  // namespace

std::string report_html(const Case& c, const Answer& a) {
    std::string out = fmt::format(
        "<!doctype html><html lang=\"{}\"><head><meta charset=\"utf-8\"><title>{}</title><style>"
        "body{{font:15px/1.4 sans-serif;max-width:46em;margin:2em auto;padding:0 1em;color:#1c2730}}"
        "table{{border-collapse:collapse;width:100%;margin:1em 0}}td,th{{padding:.25em .6em;border-bottom:1px solid "
        "#c9c2b4;text-align:left}}td.n,th.n{{text-align:right;font-variant-numeric:tabular-nums}}"
        "p.caution{{border-left:4px solid #8c2f2a;padding-left:.8em}}</style></head><body>",
        text::language(), html(tr("Case")));
    out += fmt::format("<h1>{}</h1>", html(say("Case: {}", c.site)));
    for (const std::string& said : c.intake) out += fmt::format("<p>{}</p>", html(say("Said: {}", said)));
    out += readings(c, a);
    for (const PutDown& p : a.put_down) out += fmt::format("<p>{}</p>", html(put_down_words(p)));
    out += suspects(a);
    for (const Doubt& d : a.doubtful)
        if (d.seen < c.seen.size())
            out += fmt::format("<p>{}</p>", html(say("Doubtful: {}, {}.", c.seen[d.seen].what(), d.why)));
    return out + to_do(a) + "</body></html>\n";
}

}  // namespace sunshaft::diagnose
