#include "diagnose/answer_words.hpp"

#include <fmt/format.h>

#include <algorithm>
#include <cmath>

#include "site/faults.hpp"
#include "text/figure.hpp"
#include "text/language.hpp"
#include "text/letters.hpp"

namespace sunshaft::diagnose {
namespace {

using text::say, text::tr;

constexpr std::size_t columns = 110;

// A sentence over as many lines as it needs, the further ones set in.
void add(std::vector<std::string>& out, const std::string& text, const std::string& first = "",
         const std::string& then = "  ") {
    std::string line = first, word;
    const auto put = [&] {
        if (word.empty()) return;
        if (text::letters(line) + text::letters(word) + 1 > columns &&
            line.find_first_not_of(' ') != std::string::npos) {
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

std::string short_of(const std::string& text, std::size_t most) {
    if (text::letters(text) <= most) return text;
    std::size_t end = 0;
    for (std::size_t n = 0; n < most - 3; ++n) end = text::next_letter(text, end);
    return text.substr(0, end) + "...";
}

// Those an outcome speaks of (fault@place, ...) by their names.
std::string named(const Outcome& o, const Answer& a) {
    std::string list;
    for (std::size_t from = 0; from < o.means.size();) {
        const std::size_t to = std::min(o.means.find(", ", from), o.means.size());
        const std::string one = o.means.substr(from, to - from);
        const auto at = std::find_if(a.suspects.begin(), a.suspects.end(), [&](const Suspect& s) {
            return one == (s.place.empty() ? s.fault : s.fault + "@" + s.place);
        });
        list += (list.empty() ? "" : "; ") + (at == a.suspects.end() ? one : name(*at));
        from = to + 2;
    }
    return list;
}

// The first of what is to be done, and what goes with it.
void add_next(std::vector<std::string>& out, const Answer& a) {
    const Proposal& x = a.next.front();
    out.emplace_back();
    add(out, say("Next: {}, about {:.0f} min. {}.", x.name, x.minutes, x.how), "", "  ");
    if (const std::string light = in_this_light(x); !light.empty()) add(out, light, "  ", "  ");
    std::string places = x.what.where();
    for (const auto& look : x.also) places += ", " + look.where();
    const std::string read = std::string("  ") + tr("read") + "   ";
    add(out, places, read, std::string(text::letters(read), ' '));
    for (const Outcome& o : x.outcomes)
        add(out, say("if it shows {}: {}, {}", o.shown, named(o, a), chance(o.probability)), "  ", "      ");
    for (std::size_t n = 1; n < a.next.size() && n < 4; ++n) {
        const Proposal& y = a.next[n];
        if (y.visit == x.visit)
            add(out,
                say("on the same visit {}, {:.0f} min more, {} bits", y.name, y.minutes_there,
                    text::fixed(y.gain_bits, 1)),
                "  ");
        else add(out, say("then {}, {:.0f} min, {} bits", y.name, y.minutes, text::fixed(y.gain_bits, 1)), "  ");
        if (const std::string light = in_this_light(y); !light.empty()) add(out, light, "    ", "    ");
    }
}

std::string where_line(const Answer& a) {
    std::string first;
    std::vector<std::size_t> order = {0, 1, 2, 3, 4, 5};
    std::stable_sort(order.begin(), order.end(), [&](std::size_t x, std::size_t y) { return a.where[x] > a.where[y]; });
    for (const std::size_t n : order)
        first += fmt::format("{}{} {}", first.empty() ? "" : " | ", where_words(n), text::fixed(a.where[n], 2));
    return first;
}

}  // namespace

namespace {
std::string named(const std::string& title, const std::string& p) {
    if (p.empty() || p == "array" || p == "drive" || p == "motor" || p == "pump" || p == "main" || p == "meter" ||
        p == "cable" || p == "link")
        return tr(title);
    return say("{}, at {}", tr(title), p);
}
}  // namespace

std::string name(const Suspect& s) {
    std::string text = named(s.title, s.place);
    for (const Second& x : s.with) text = say("{}; and {}", text, named(x.title, x.place));
    return text;
}
std::string how_bad(const Suspect& s) {
    const site::FaultRow* row = site::find_fault(s.fault);
    return row && row->least != row->most ? say("some {}", site::severity_text(*row, s.severity)) : "";
}

std::string test_name(const std::string& id) {
    const bench::FieldTest* test = bench::find_test(id);
    return test ? tr(test->name) : tr("lifting the pump");
}

const char* where_words(std::size_t n) {
    constexpr std::array<const char*, 6> list = {text::id("waiting"), text::id("array"),
                                                 text::id("box"),     text::id("above ground"),
                                                 text::id("bore"),    text::id("data or meter")};
    return tr(list[n]);
}

std::string chance(double p) {
    if (p >= 0.925) return tr("about 19 in 20");
    if (p >= 0.095) return say("about {:.0f} in 10", std::clamp(std::round(10 * p), 1.0, 9.0));
    for (const int n : {15, 20, 30, 50, 100})
        if (p >= 0.8 / n) return say("about 1 in {}", n);
    return tr("less than 1 in 100");
}

namespace {

// Of what was told, what the suspects below are not weighed by.
void add_left_out(std::vector<std::string>& out, const Answer& a) {
    for (const PutDown& p : a.put_down) add(out, put_down_words(p), "", "    ");
    for (const std::string& note : a.notes) add(out, say("not weighed: {}", note), "", "    ");
    if (!a.notes.empty() || !a.put_down.empty()) out.emplace_back();
}

}  // namespace

std::string in_this_light(const Proposal& x) {
    if (!x.now)
        return std::isfinite(x.from_h) ? say("Not in this light: from {} on today.", clock_of(x.from_h))
                                       : tr("Not again on this day.");
    return x.weak_light ? tr("The light is weak: good volts are no proof of a good array.") : "";
}

std::vector<std::string> stop_waits(const Answer& a) {
    std::vector<std::string> out;
    if (!a.today) return out;
    for (const Opening& o : a.today->openings) {
        std::string names;
        for (const std::string& id : o.tests)
            if (!o.now && std::find(a.stop.tests.begin(), a.stop.tests.end(), id) != a.stop.tests.end())
                names += (names.empty() ? "" : ", ") + test_name(id);
        if (names.empty()) continue;
        names = text::sentence_begins(names);
        out.push_back(std::isfinite(o.from_h)
                          ? say("{}: not in this light, from {} on today.", names, clock_of(o.from_h))
                          : say("{}: not again on this day.", names));
    }
    return out;
}

std::string put_down_words(const PutDown& p) {
    if (p.first == p.last) return say("Reading {} is put down to what was repaired: {}.", p.first, tr(p.repaired));
    return say("Readings {} to {} are put down to what was repaired: {}.", p.first, p.last, tr(p.repaired));
}

std::vector<bench::Hazard> hazards(const Answer& a) {
    return a.next.empty() ? a.stop.hazards : bench::joined(a.stop.hazards, a.next.front().hazards);
}

namespace {

// What to do, its cautions before it. Where nothing is to be measured no test is named, and none has its cautions here.
void add_stop(std::vector<std::string>& out, const Answer& a, const site::FaultRow* row) {
    const bool measure = a.stop.advice == "measure" || a.stop.advice == "repeat";
    for (const std::string& caution : bench::words(measure ? hazards(a) : a.stop.hazards))
        add(out, say("before you touch: {}", caution));
    add(out, a.stop.text, "", "");
    for (const std::string& line : stop_waits(a)) add(out, line, "  ", "  ");
    if (!measure && row) {
        add(out, say("before you act: {}", row->caution.said()), "", "  ");
        add(out, tr(row->to_do), "", "");
    }
    if (measure && !a.next.empty()) add_next(out, a);
}

}  // namespace

std::vector<std::string> words(const Answer& a, const Case& c) {
    std::vector<std::string> out;
    out.push_back(say("where  {}", where_line(a)));
    out.emplace_back();
    add_left_out(out, a);
    const std::vector<Compared> none;
    const std::vector<Compared>& rows = a.suspects.empty() ? none : a.suspects.front().columns;
    if (a.fits < nothing_fits && !rows.empty())
        add(out, tr("Nothing here fits all readings. Do not trust the order below before the reading named here is "
                    "settled."));
    for (const Doubt& d : a.doubtful)
        if (d.probability > 0.3)
            add(out,
                say("Doubtful, {}: {}. Read it again.", d.seen < c.seen.size() ? c.seen[d.seen].what() : "", d.why));
    if (a.suspects.empty()) return out;
    const Suspect& top = a.suspects.front();
    const auto heading = [](std::size_t n, const Suspect& s) {
        const std::string bad = how_bad(s);
        return fmt::format("{}  {}{}: {}", n, name(s), bad.empty() ? "" : " (" + bad + ")", chance(s.probability));
    };
    add(out, heading(1, top));
    if (!rows.empty()) {
        out.push_back(fmt::format("     {:<24} {:>20} {:>16} {:>19}", "", tr("you read"), tr("healthy would"),
                                  tr("this suspect would")));
        for (const Compared& row : rows)
            out.push_back(fmt::format("     {:<24} {:>20} {:>16} {:>19}{}", short_of(row.what, 24),
                                      short_of(row.read, 20), row.healthy, row.suspect,
                                      a.against && &row == &rows[*a.against] ? " <" : ""));
        if (a.against) add(out, say("Speaks most against it: {}.", rows[*a.against].what), "     ", "     ");
    }
    const site::FaultRow* row = site::find_fault(top.fault);
    std::size_t shown = 1;
    for (std::size_t n = 1; n < a.suspects.size() && shown < 6; ++n, ++shown) {
        const Suspect& s = a.suspects[n];
        if (s.probability < 0.02 && n > 2) break;
        add(out, s.group == top.group ? say("{}; no test at hand tells it from the first", heading(n + 1, s))
                                      : heading(n + 1, s));
    }
    double rest = 0.0;
    for (std::size_t n = shown; n < a.suspects.size(); ++n) rest += a.suspects[n].probability;
    if (rest >= 0.01) add(out, say("{} more, together {}", a.suspects.size() - shown, chance(rest)), "   ");
    if (top.split)
        add(out,
            say("What would part the first group: {}, about {:.0f} min.", test_name(top.split->test),
                top.split->minutes),
            "   ", "   ");
    out.emplace_back();
    add_stop(out, a, row);
    for (const Proposal& x : a.bring)
        if (x.gain_bits >= 0.1)
            add(out, say("Bring {}: {} would tell {} bits.", tr(x.lacks), x.name, text::fixed(x.gain_bits, 1)), "  ");
    if (a.today) {
        const std::vector<std::string> hours = words(*a.today);
        if (!hours.empty()) out.emplace_back();
        for (const std::string& line : hours) add(out, line);
    }
    return out;
}

}  // namespace sunshaft::diagnose
