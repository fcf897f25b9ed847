#include "diagnose/typed.hpp"

#include <fmt/format.h>

#include <algorithm>
#include <array>
#include <charconv>
#include <cmath>
#include <limits>
#include <optional>
#include <span>
#include <utility>
#include <vector>

#include "files/text.hpp"
#include "text/figure.hpp"
#include "text/heard.hpp"
#include "text/language.hpp"

namespace sunshaft::diagnose {
namespace {

using text::say, text::tr;

constexpr double no_limit = std::numeric_limits<double>::infinity();

void replace(std::string& text, std::string_view from, std::string_view to) {
    for (std::size_t at = 0; (at = text.find(from, at)) != std::string::npos; at += to.size())
        text.replace(at, from.size(), to);
}

// "1k5" as on a resistor is "1.5k", "4R7" is "4.7"; what else stands between digits stays.
void prefix_as_point(std::string& s) {
    const auto digit = [&](std::size_t n) { return n < s.size() && s[n] >= '0' && s[n] <= '9'; };
    for (std::size_t at = 1; at + 1 < s.size(); ++at) {
        if ((s[at] != 'k' && s[at] != 'K' && s[at] != 'M' && s[at] != 'R') || !digit(at - 1) || !digit(at + 1))
            continue;
        std::size_t from = at, to = at + 1;
        while (from > 0 && digit(from - 1)) --from;
        while (digit(to)) ++to;
        const bool alone = (from == 0 || s[from - 1] == ' ' || s[from - 1] == '-') &&
                           (to == s.size() || s[to] == ' ' || !(s[to] == '.' || s[to] == ','));
        if (!alone) continue;
        if (s[at] != 'R') s.insert(to, 1, s[at]);
        s[at] = '.';
    }
}

// One way to write signs that come in many.
std::string normal(std::string_view text) {
    std::string s = files::one_line(text);
    for (const auto& [from, to] : {std::pair{"\u2212", "-"}, {"\u2013", "-"},    {"\u2014", "-"},
                                   {"\u00a0", " "},          {"\u202f", " "},    {"\u2009", " "},
                                   {"\u03a9", "ohm"},        {"\u2126", "ohm"},  {"\u00b5", "u"},
                                   {"\u03bc", "u"},          {"\u00b0", "deg"},  {"\u00b2", "2"},
                                   {"\u00b3", "3"},          {"\u2248", "~"},    {"\u2265", ">"},
                                   {"\u2264", "<"},          {">=", ">"},        {"<=", "<"},
                                   {"\u221e", " OL "},       {"\u2026", " to "}, {"..", " to "}})
        replace(s, from, to);
    prefix_as_point(s);
    return s;
}

// What displays show themselves, in every language.
constexpr std::array<std::string_view, 8> over_marks = {"ol", "0l", "o.l", "0.l", ".ol", "1 .", "ofl", "inf"};
bool marked(const std::string& text, std::span<const std::string_view> marks) {
    return std::ranges::any_of(marks, [&](std::string_view m) { return text::word_in(text, m); });
}
const text::Heard over_words{"overload", "over load", "over range", "overrange",    "over-range",
                             "infinite", "infinity",  "open",       "open circuit", "off scale"};
const text::Heard nothing_words{"not measured", "could not",   "couldn't",  "can't",      "cannot",
                                "did not",      "didn't",      "no access", "no reading", "not tested",
                                "skipped",      "not reached", "not taken", "don't know", "n/a"};
const text::Heard zero_words{"no water", "none",       "nothing",  "no flow",    "zero",
                             "no sun",   "no current", "no volts", "no voltage", "dead"};
const text::Heard about_words{"about", "approx", "approximately", "roughly", "around", "ca", "circa", "some", "nearly"};
const text::Heard most_words{"less than", "below", "under", "at most", "not even", "up to"};
const text::Heard least_words{"more than", "above", "at least", "over"};
const text::Heard fall_words{"falls",   "falling", "drops",      "dropping",  "sinks",
                             "sinking", "fall",    "decreasing", "going down"};
const text::Heard rise_words{"rises", "rising", "climbs", "climbing", "increasing", "going up"};
const text::Heard jump_words{"jumps",      "jumping", "swings",   "swinging", "hunts",   "unsteady",
                             "fluctuates", "wanders", "flickers", "between",  "unstable"};
const text::Heard range_words{"to", "and", "or"};

struct Unit {
    std::string_view name, si;
    double factor;
};
// Written out as people write it; the longest first where one begins another.
constexpr Unit units[] = {{"m3/h", "m3/s", 1 / 3600.0},
                          {"m3/s", "m3/s", 1},
                          {"m3/hour", "m3/s", 1 / 3600.0},
                          {"l/min", "m3/s", 1e-3 / 60},
                          {"l/m", "m3/s", 1e-3 / 60},
                          {"lpm", "m3/s", 1e-3 / 60},
                          {"l/s", "m3/s", 1e-3},
                          {"l/h", "m3/s", 1e-3 / 3600},
                          {"gpm", "m3/s", 3.785411784e-3 / 60},
                          {"w/m2", "W/m2", 1},
                          {"kw/m2", "W/m2", 1000},
                          {"bar", "m", 10.19716},
                          {"kpa", "m", 0.1019716},
                          {"psi", "m", 0.703070},
                          {"degf", "degF", 1},
                          {"degc", "degC", 1},
                          {"deg c", "degC", 1},
                          {"deg f", "degF", 1},
                          {"deg", "degC", 1},
                          {"volts", "V", 1},
                          {"volt", "V", 1},
                          {"amps", "A", 1},
                          {"amp", "A", 1},
                          {"ampere", "A", 1},
                          {"ohms", "ohm", 1},
                          {"ohm", "ohm", 1},
                          {"r", "ohm", 1},
                          {"hz", "Hz", 1},
                          {"m3", "m3", 1},
                          {"litres", "m3", 1e-3},
                          {"liters", "m3", 1e-3},
                          {"l", "m3", 1e-3},
                          {"ft", "m", 0.3048},
                          {"feet", "m", 0.3048},
                          {"metres", "m", 1},
                          {"meters", "m", 1},
                          {"m", "m", 1},
                          {"cm", "m", 0.01},
                          {"mm", "m", 1e-3},
                          {"s", "s", 1},
                          {"min", "s", 60},
                          {"v", "V", 1},
                          {"a", "A", 1},
                          {"%", "", 0.01},
                          {"f", "F", 1},
                          {"c", "degC", 1}};

// Written out, in every language.
struct Spelled {
    text::Heard name;
    std::string_view si;
    double factor;
};
const Spelled spelled[] = {{{"litres a minute"}, "m3/s", 1e-3 / 60},
                           {{"litres a second"}, "m3/s", 1e-3},
                           {{"litres an hour"}, "m3/s", 1e-3 / 3600},
                           {{"cubic metres an hour"}, "m3/s", 1 / 3600.0},
                           {{"volts"}, "V", 1},
                           {{"amps"}, "A", 1},
                           {{"kilohms"}, "ohm", 1e3},
                           {{"megohms"}, "ohm", 1e6},
                           {{"ohms"}, "ohm", 1},
                           {{"hertz"}, "Hz", 1},
                           {{"cubic metres"}, "m3", 1},
                           {{"litres"}, "m3", 1e-3},
                           {{"metres"}, "m", 1},
                           {{"degrees"}, "degC", 1},
                           {{"seconds"}, "s", 1},
                           {{"minutes"}, "s", 60},
                           {{"per cent"}, "", 0.01}};

double prefix(char c) {
    switch (c) {
        case 'k':
        case 'K': return 1e3;
        case 'M': return 1e6;
        case 'G': return 1e9;
        case 'm': return 1e-3;
        case 'u': return 1e-6;
        case 'n': return 1e-9;
        case 'p': return 1e-12;
        default: return 0.0;
    }
}

struct Scale {
    std::string unit;  // SI, "" for a share, "degF"
    double factor;
    bool said;
};

// The unit a mode or a gauge is read in.
Scale usual_scale(std::string_view usual) {
    if (usual == "Mohm") return {"ohm", 1e6, false};
    if (usual == "nF") return {"F", 1e-9, false};
    if (usual == "m3/h") return {"m3/s", 1 / 3600.0, false};
    return {std::string(usual), 1.0, false};
}

// What stands after a figure: a unit with or without a prefix, or a prefix alone.
std::optional<Scale> scale(const std::string& word, std::string_view usual) {
    const Scale bare = usual_scale(usual);
    if (word.empty()) return bare;
    const std::string low = text::folded(word);
    if (low == "meg" || low == "megohm" || low == "megohms") return Scale{"ohm", 1e6, true};
    // A multimeter shows no milliohms: who writes 550 m on an ohm range means mega.
    const bool ohms = bare.unit == "ohm";
    if (word.size() == 1) {
        const char c = word[0];
        if (c == 'm' && (bare.unit == "m" || bare.unit == "m3")) return Scale{"m", 1.0, true};
        if ((c == 'f' || c == 'F') && bare.unit == "degC") return Scale{"degF", 1.0, true};
        if (c == 's' && bare.unit != "s") return std::nullopt;
        if (c == 'm' && ohms) return Scale{"ohm", 1e6, true};
        if (c == 'M' && !ohms) return std::nullopt;
        if (const double p = prefix(c); p > 0.0) return Scale{bare.unit, p, true};
    }
    for (const Unit& u : units)
        if (low == u.name) {
            if (u.name == "l/m" && bare.unit != "m3/s") return std::nullopt;
            return Scale{std::string(u.si), u.factor, true};
        }
    for (const Spelled& u : spelled)
        if (u.name.is(low)) return Scale{std::string(u.si), u.factor, true};
    // A prefix before a unit, as large or small as it is written.
    const double p = prefix(word[0]);
    if (p <= 0.0) return std::nullopt;
    const std::string rest = low.substr(1);
    for (const Unit& u : units)
        if (rest == u.name && (u.si == "V" || u.si == "A" || u.si == "ohm" || u.si == "F" || u.si == "Hz"))
            return Scale{std::string(u.si), u.si == "ohm" && word[0] == 'm' ? 1e6 : p, true};
    return std::nullopt;
}

struct Number {
    double value = 0.0, step = 1.0;
    std::size_t begin = 0, end = 0;
};

bool digit(char c) { return c >= '0' && c <= '9'; }

// Thousands parted by a space: where "1 234 567" ends, if three digits follow one to three.
std::size_t grouped(const std::string& s, std::size_t from, std::size_t end) {
    if (end - from > 3 || s.find_first_not_of("0123456789", from) < end) return end;
    const auto three = [&](std::size_t at) {
        return at + 3 < s.size() && s[at] == ' ' && digit(s[at + 1]) && digit(s[at + 2]) && digit(s[at + 3]) &&
               !(at + 4 < s.size() && digit(s[at + 4]));
    };
    while (three(end)) end += 4;
    return end;
}

// "1.2e3": where it ends, and the power.
std::pair<std::size_t, int> powered(const std::string& s, std::size_t end) {
    if (end >= s.size() || (s[end] != 'e' && s[end] != 'E')) return {end, 0};
    const char *from = s.data() + end + 1, *to = s.data() + s.size();
    if (from != to && *from == '+') ++from;
    int power = 0;
    const auto [rest, error] = std::from_chars(from, to, power);
    constexpr int most = 30;
    if (error != std::errc() || std::abs(power) > most) return {end, 0};
    return {static_cast<std::size_t>(rest - s.data()), power};
}

// The next figure from a place on; a minus right before it belongs to it, unless a figure stands before that.
std::optional<Number> number(const std::string& s, std::size_t from) {
    std::size_t at = from;
    while (at < s.size() &&
           !(digit(s[at]) || ((s[at] == '.' || s[at] == ',') && at + 1 < s.size() && digit(s[at + 1]))))
        ++at;
    if (at == s.size()) return std::nullopt;
    std::size_t end = at;
    while (end < s.size() && digit(s[end])) ++end;
    end = grouped(s, at, end);
    while (end < s.size() && (digit(s[end]) || ((s[end] == '.' || s[end] == ',' || s[end] == '\'') &&
                                                end + 1 < s.size() && digit(s[end + 1]))))
        ++end;
    std::string text = s.substr(at, end - at);
    std::erase(text, '\'');
    std::erase(text, ' ');
    const std::size_t points = static_cast<std::size_t>(std::count(text.begin(), text.end(), '.')),
                      commas = static_cast<std::size_t>(std::count(text.begin(), text.end(), ','));
    if (points && commas) {  // the last kind of the two is the decimal sign
        const bool comma = text.rfind(',') > text.rfind('.');
        std::erase(text, comma ? '.' : ',');
        if (comma) std::replace(text.begin(), text.end(), ',', '.');
    } else if (commas == 1) {
        std::replace(text.begin(), text.end(), ',', '.');
    } else if (commas > 1) {
        std::erase(text, ',');
    } else if (points > 1) {
        std::erase(text, '.');
    }
    Number n;
    const auto [rest, error] = std::from_chars(text.data(), text.data() + text.size(), n.value);
    if (error != std::errc{} || rest != text.data() + text.size() || !std::isfinite(n.value)) return std::nullopt;
    const std::size_t point = text.find('.');
    n.step = point == std::string::npos ? 1.0 : std::pow(10.0, -static_cast<double>(text.size() - point - 1));
    const auto [after, power] = powered(s, end);
    n.value *= std::pow(10.0, power);
    n.step *= std::pow(10.0, power);
    n.begin = at;
    n.end = after;
    std::size_t sign = at;
    while (sign > from && s[sign - 1] == ' ') --sign;
    if (sign > from && s[sign - 1] == '-') n.value = -n.value, n.begin = sign - 1;
    return n;
}

// "1 23": another figure after one, and nothing says how they belong together.
bool another(const std::string& s, std::size_t end) {
    const std::size_t next = s.find_first_not_of(' ', end);
    return next != std::string::npos && next > end && digit(s[next]);
}

// The word right after a figure, with or without a space before it.
std::string word_after(const std::string& s, std::size_t at) {
    while (at < s.size() && s[at] == ' ') ++at;
    std::size_t end = at;
    while (end < s.size() && s[end] != ' ' && s[end] != ',' && s[end] != ';' && s[end] != '(' && s[end] != ')' &&
           s[end] != '-')
        ++end;
    // "litres a minute": units of several words.
    const std::string rest = text::folded(std::string_view(s).substr(at));
    for (const Spelled& u : spelled)
        for (const std::string& way : u.name.all())
            if (way.find(' ') != std::string::npos && rest.starts_with(way)) return way;
    std::string word = s.substr(at, end - at);
    while (!word.empty() && (word.back() == '.' || word.back() == '!' || word.back() == '?')) word.pop_back();
    if ((word == "deg" || word == "Deg") && end + 1 < s.size() && (s[end + 1] == 'C' || s[end + 1] == 'F'))
        word = s[end + 1] == 'F' ? "degF" : "degC";
    return word;
}

double si(double value, const Scale& s) { return s.unit == "degF" ? (value - 32.0) / 1.8 : value * s.factor; }

}  // namespace

std::string Typed::read_back() const {
    const bool flow = unit == "m3/s";
    const auto figure = [&](double x) {
        return flow ? text::quantity(3600 * x, "m3/h") : unit.empty() ? text::percent(x, 3) : text::quantity(x, unit);
    };
    const char* moving = moves == Moves::falls   ? tr(", falling")
                         : moves == Moves::rises ? tr(", rising")
                         : moves == Moves::jumps ? tr(", unsteady")
                                                 : "";
    switch (kind) {
        case Kind::over: return low > 0.0 ? say("over range, above {}", figure(low)) : std::string(tr("over range"));
        case Kind::nothing: return tr("not measured");
        case Kind::words: return say("not understood: {}", said);
        case Kind::figure: break;
    }
    if (at_most) return say("less than {}{}", figure(value), moving);
    if (at_least) return say("more than {}{}", figure(value), moving);
    if (moves == Moves::jumps) return say("{} to {}{}", figure(low), figure(high), moving);
    return about ? say("about {}{}", figure(value), moving) : figure(value) + moving;
}

namespace {

// What somebody typed, and the unit that is meant where none is said.
struct Entry {
    std::string said, low;  // as it was typed, and folded
    std::string_view usual;
    Scale bare = usual_scale(usual);

    std::string stripped() const {
        std::string x = said;
        while (!x.empty() && x.back() == ' ') x.pop_back();
        return x.substr(std::min(x.size(), x.find_first_not_of(' ')));
    }
    Typed::Moves moves() const {
        return fall_words.as_word_in(low)   ? Typed::Moves::falls
               : rise_words.as_word_in(low) ? Typed::Moves::rises
               : jump_words.as_word_in(low) ? Typed::Moves::jumps
                                            : Typed::Moves::no;
    }
    // A bucket has no range to run over: "0 L/min" is nothing.
    bool ranged() const { return bare.unit == "V" || bare.unit == "A" || bare.unit == "ohm" || bare.unit == "F"; }
};

std::string si_unit(const Scale& s) { return s.unit == "degF" ? "degC" : s.unit; }

// "OL", "1.", "over range 600": whether it ran over its range, and in which, as far as that is said.
bool ran_over(const Entry& e, Typed& t) {
    const std::string stripped = e.stripped();
    if (!e.ranged() || !(over_words.as_word_in(e.low) || marked(e.low, over_marks) || stripped == "1.")) return false;
    t.kind = Typed::Kind::over;
    std::string rest = e.said;
    if (stripped == "1." || stripped.starts_with("1 .")) rest = stripped.substr(stripped.find('.') + 1);
    for (std::string_view mark : {"0L", "0l", "0.L", "0 L", "O.L"}) replace(rest, mark, "OL");
    if (const auto n = number(rest, 0)) {
        const auto unit = scale(word_after(rest, n->end), e.usual);
        t.low = std::abs(si(n->value, unit ? *unit : e.bare));
    }
    return true;
}

// "180 to 210 V", "180-210", "between 180 and 210": the second figure.
std::optional<Number> second_of(const std::string& s, const Number& first) {
    std::vector<std::string> links = {"-"};
    for (const std::string& way : range_words.all()) links.push_back(" " + way + " ");
    for (const std::string& link : links) {
        const std::size_t at = s.find(link, first.end);
        if (at == std::string::npos || s.find_first_of("0123456789", first.end) < at) continue;
        if (const auto next = number(s, at + link.size()); next && next->begin <= at + link.size() + 1) return next;
    }
    return std::nullopt;
}

// A figure that went to and fro between two; word and unit: what stands right after the first.
void from_to(const Entry& e, const Number& first, const Number& second, const std::string& word,
             std::optional<Scale> unit, Typed& t) {
    const auto its = scale(word_after(e.said, second.end), e.usual);
    const bool named = its && its->said;
    if (!unit || !unit->said || range_words.is(text::folded(word))) unit = named ? *its : e.bare;
    t.unit = si_unit(*unit);
    t.low = si(first.value, *unit);
    t.high = si(second.value, named ? *its : *unit);
    if (t.high < t.low) std::swap(t.low, t.high);
    t.value = 0.5 * (t.low + t.high);
    t.bare = !unit->said;
    if (t.moves == Typed::Moves::no) t.moves = Typed::Moves::jumps;
    t.kind = Typed::Kind::figure;
}

// One figure, and how far it may be off as it was said.
void one_figure(const Entry& e, const Number& n, const Scale& unit, Typed& t) {
    t.kind = Typed::Kind::figure;
    t.unit = si_unit(unit);
    t.bare = !unit.said;
    t.value = si(n.value, unit);
    const double half = 0.5 * std::abs(si(n.value + n.step, unit) - t.value);
    t.low = t.value - half;
    t.high = t.value + half;
    t.about = about_words.as_word_in(e.low) || text::word_in(e.low, "~");
    t.at_most = most_words.as_word_in(e.low) || text::word_in(e.low, "<");
    t.at_least = !t.at_most && (least_words.as_word_in(e.low) || text::word_in(e.low, ">"));
    if (t.about) {
        constexpr double loose = 0.05;  // common practice, no source
        t.low = t.value - std::max(half, loose * std::abs(t.value));
        t.high = t.value + std::max(half, loose * std::abs(t.value));
    }
    if (t.at_most) t.low = -no_limit, t.high = t.value;
    if (t.at_least) t.low = t.value, t.high = no_limit;
}

}  // namespace

Typed typed(std::string_view text, std::string_view usual) {
    Typed t;
    t.said = normal(text);
    const Entry e{t.said, text::folded(t.said), usual};
    t.unit = e.bare.unit;
    if (e.said.find_first_not_of(" -?.") == std::string::npos || nothing_words.as_word_in(e.low)) {
        t.kind = Typed::Kind::nothing;
        return t;
    }
    t.moves = e.moves();
    if (ran_over(e, t)) return t;
    const auto first = number(e.said, 0);
    if (!first) {
        t.kind = zero_words.as_word_in(e.low)  ? Typed::Kind::figure
                 : t.moves == Typed::Moves::no ? Typed::Kind::words
                                               : Typed::Kind::nothing;
        return t;
    }
    if (another(e.said, first->end)) return t;
    const std::string word = word_after(e.said, first->end);
    const bool joined = first->end < e.said.size() && e.said[first->end] != ' ';  // "3.6x": a unit was meant
    auto unit = scale(word, usual);
    if (const auto second = second_of(e.said, *first)) {
        from_to(e, *first, *second, word, unit, t);
        return t;
    }
    if (!unit) {
        if (joined) return t;  // "12x": what it counts is not known
        unit = e.bare;         // a word that says something else: "230 steady"
    }
    if (unit->said && unit->unit != e.bare.unit && !(unit->unit == "degF" && e.bare.unit == "degC")) {
        // A tank is told in per cent, a thing in amperes is no volts.
        if (!(unit->unit.empty() && e.bare.unit == "m3")) return t;
    }
    one_figure(e, *first, *unit, t);
    return t;
}

}  // namespace sunshaft::diagnose
