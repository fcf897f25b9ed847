#include "diagnose/answer_words.hpp"

#include <fmt/format.h>

#include <algorithm>
#include <cmath>

#include "site/faults.hpp"

namespace sunshaft::diagnose {
namespace {

constexpr std::size_t columns = 110;

// A sentence over as many lines as it needs, the further ones set in.
void add(std::vector<std::string>& out, const std::string& text, const std::string& first = "",
         const std::string& then = "  ") {
    std::string line = first, word;
    const auto put = [&] {
        if (word.empty()) return;
        if (line.size() + word.size() + 1 > columns && line.find_first_not_of(' ') != std::string::npos) {
            out.push_back(line);
            line = then;
        }
        if (!line.empty() && line.back() != ' ') line += ' ';
        line += word;
        word.clear();
    };
    for (const char c : text) {
        if (c == ' ') put();
        else word += c;
    }
    put();
    out.push_back(line);
}

const char* where_words(std::size_t n) {
    constexpr std::array<const char*, 6> list = {"waiting", "array", "box", "above ground", "bore", "data or meter"};
    return list[n];
}

std::string short_of(const std::string& text, std::size_t most) {
    return text.size() <= most ? text : text.substr(0, most - 3) + "...";
}

// The first of what is to be done, cautions before the act, and what goes with it.
void add_next(std::vector<std::string>& out, const Answer& a) {
    const Proposal& x = a.next.front();
    out.emplace_back();
    for (const std::string& caution : bench::words(x.hazards)) add(out, "before you touch: " + caution);
    add(out, fmt::format("Next: {}, about {:.0f} min. {}.", x.name, x.minutes, x.how), "", "  ");
    std::string places = x.what.where();
    for (const auto& look : x.also) places += ", " + look.where();
    add(out, places, "  read   ", "         ");
    for (const Outcome& o : x.outcomes)
        add(out, fmt::format("{}: {}, {}", o.shown, o.means, chance(o.probability)), "  if it shows ", "      ");
    for (std::size_t n = 1; n < a.next.size() && n < 4; ++n) {
        const Proposal& y = a.next[n];
        if (y.visit == x.visit)
            add(out,
                fmt::format("on the same visit {}, {:.0f} min more, {:.1f} bits", y.name, y.minutes_there, y.gain_bits),
                "  ");
        else add(out, fmt::format("then {}, {:.0f} min, {:.1f} bits", y.name, y.minutes, y.gain_bits), "  ");
    }
}

std::string where_line(const Answer& a) {
    std::string first;
    std::vector<std::size_t> order = {0, 1, 2, 3, 4, 5};
    std::stable_sort(order.begin(), order.end(), [&](std::size_t x, std::size_t y) { return a.where[x] > a.where[y]; });
    for (const std::size_t n : order)
        first += fmt::format("{}{} {:.2f}", first.empty() ? "" : " | ", where_words(n), a.where[n]);
    return first;
}

}  // namespace

namespace {
std::string named(const std::string& title, const std::string& p) {
    if (p.empty() || p == "array" || p == "drive" || p == "motor" || p == "pump" || p == "main" || p == "meter" ||
        p == "cable" || p == "link")
        return title;
    return fmt::format("{}, at {}", title, p);
}
}  // namespace

std::string name(const Suspect& s) {
    std::string text = named(s.title, s.place);
    for (const Second& x : s.with) text += "; and " + named(x.title, x.place);
    return text;
}
std::string how_bad(const Suspect& s) {
    const site::FaultRow* row = site::find_fault(s.fault);
    return row && row->least != row->most ? fmt::format("some {}", site::severity_text(*row, s.severity)) : "";
}

std::string chance(double p) {
    if (p >= 0.925) return "about 19 in 20";
    if (p >= 0.095) return fmt::format("about {:.0f} in 10", std::clamp(std::round(10 * p), 1.0, 9.0));
    for (const int n : {15, 20, 30, 50, 100})
        if (p >= 0.8 / n) return fmt::format("about 1 in {}", n);
    return "less than 1 in 100";
}

std::vector<std::string> words(const Answer& a, const Case& c) {
    std::vector<std::string> out;
    out.push_back("where  " + where_line(a));
    out.emplace_back();
    for (const std::string& note : a.notes) add(out, note, "not weighed: ", "    ");
    if (!a.notes.empty()) out.emplace_back();
    const std::vector<Compared> none;
    const std::vector<Compared>& rows = a.suspects.empty() ? none : a.suspects.front().columns;
    if (a.fits < nothing_fits && !rows.empty())
        add(out,
            "Nothing here fits all readings. Do not trust the order below before the reading named here is "
            "settled.");
    for (const Doubt& d : a.doubtful)
        if (d.probability > 0.3)
            add(out, fmt::format("Doubtful, {}: {}. Read it again.",
                                 d.seen < c.seen.size() ? c.seen[d.seen].what() : "", d.why));
    if (a.suspects.empty()) return out;
    const Suspect& top = a.suspects.front();
    const auto heading = [](std::size_t n, const Suspect& s) {
        const std::string bad = how_bad(s);
        return fmt::format("{}  {}{}: {}", n, name(s), bad.empty() ? "" : " (" + bad + ")", chance(s.probability));
    };
    add(out, heading(1, top));
    if (!rows.empty()) {
        out.push_back(
            fmt::format("     {:<24} {:>20} {:>16} {:>19}", "", "you read", "healthy would", "this suspect would"));
        for (const Compared& row : rows)
            out.push_back(fmt::format("     {:<24} {:>20} {:>16} {:>19}{}", short_of(row.what, 24),
                                      short_of(row.read, 20), row.healthy, row.suspect,
                                      a.against && &row == &rows[*a.against] ? " <" : ""));
        if (a.against) add(out, fmt::format("Speaks most against it: {}.", rows[*a.against].what), "     ", "     ");
    }
    const site::FaultRow* row = site::find_fault(top.fault);
    std::size_t shown = 1;
    for (std::size_t n = 1; n < a.suspects.size() && shown < 6; ++n, ++shown) {
        const Suspect& s = a.suspects[n];
        if (s.probability < 0.02 && n > 2) break;
        add(out, fmt::format("{}{}", heading(n + 1, s),
                             s.group == top.group ? "; no test at hand tells it from the first" : ""));
    }
    double rest = 0.0;
    for (std::size_t n = shown; n < a.suspects.size(); ++n) rest += a.suspects[n].probability;
    if (rest >= 0.01) add(out, fmt::format("{} more, together {}", a.suspects.size() - shown, chance(rest)), "   ");
    if (top.split)
        add(out,
            fmt::format("What would part the first group: {}, about {:.0f} min.", top.split->test, top.split->minutes),
            "   ", "   ");
    out.emplace_back();
    add(out, a.stop.text, "", "");
    const bool measure = a.stop.advice == "measure" || a.stop.advice == "repeat";
    if (!measure && row) {
        add(out, fmt::format("before you act: {}", row->caution), "", "  ");
        add(out, row->to_do, "", "");
    }
    if (measure && !a.next.empty()) add_next(out, a);
    for (const Proposal& x : a.bring)
        if (x.gain_bits >= 0.1)
            add(out, fmt::format("Bring {}: {} would tell {:.1f} bits.", x.lacks, x.name, x.gain_bits), "  ");
    return out;
}

}  // namespace sunshaft::diagnose
