#include "site/keys.hpp"

#include <fmt/format.h>

#include <algorithm>
#include <cctype>
#include <charconv>
#include <cmath>
#include <numeric>
#include <type_traits>

#include "files/text.hpp"
#include "text/figure.hpp"
#include "text/language.hpp"

namespace sunshaft::site {
namespace {

using text::say, text::tr;

template <class... F>
struct Overload : F... {
    using F::operator()...;
};
template <class... F>
Overload(F...) -> Overload<F...>;

bool is_number(const Key& key) { return std::holds_alternative<double& (*)(Scenario&)>(key.member); }
bool is_whole(const Key& key) { return std::holds_alternative<int& (*)(Scenario&)>(key.member); }

bool is_clock(std::string_view text) {
    auto digit = [&](std::size_t i) { return text[i] >= '0' && text[i] <= '9'; };
    if (text.size() != 5 || text[2] != ':' || !digit(0) || !digit(1) || !digit(3) || !digit(4)) return false;
    return text.substr(0, 2) < "24" && text.substr(3) < "60";
}

bool in(const Range& r, double x) {
    return (r.low_open ? x > r.low : x >= r.low) && (r.high_open ? x < r.high : x <= r.high);  // NaN: never
}

bool in(const Domain& domain, const Value& value) {
    return std::visit(
        Overload{[](const Range& r, double x) { return in(r, x); },
                 [](const Range& r, int x) { return in(r, double(x)); },
                 [](const Words& w, const std::string& s) { return std::ranges::find(w.list, s) != w.list.end(); },
                 [](const Text& t, const std::string& s) { return s.size() <= t.longest && files::is_plain(s); },
                 [](const Clock&, const std::string& s) { return is_clock(s); },
                 [](const YesNo&, bool) { return true; }, [](const auto&, const auto&) { return false; }},
        domain, value);
}

std::string joined(const std::vector<std::string_view>& words, std::string_view separator) {
    std::string text;
    for (std::string_view word : words) (text += text.empty() ? "" : separator) += word;
    return text;
}

std::string lower(std::string_view text) {
    std::string out(text);
    for (char& c : out) c = char(std::tolower(static_cast<unsigned char>(c)));
    return out;
}

// Optimal string alignment distance: insert, delete, replace, swap two neighbours.
std::size_t distance(const std::string& a, const std::string& b) {
    std::vector<std::size_t> before, last(b.size() + 1), row(b.size() + 1);
    std::iota(last.begin(), last.end(), std::size_t{0});
    for (std::size_t i = 1; i <= a.size(); ++i) {
        row[0] = i;
        for (std::size_t j = 1; j <= b.size(); ++j) {
            row[j] = std::min({last[j] + 1, row[j - 1] + 1, last[j - 1] + (a[i - 1] == b[j - 1] ? 0U : 1U)});
            if (i > 1 && j > 1 && a[i - 1] == b[j - 2] && a[i - 2] == b[j - 1])
                row[j] = std::min(row[j], before[j - 2] + 1);
        }
        before = last;
        last = row;
    }
    return last.back();
}

}  // namespace

const Key* find_key(std::string_view path) {
    auto found = std::ranges::find(keys(), path, &Key::path);
    return found == keys().end() ? nullptr : &*found;
}

Value get(const Scenario& scenario, const Key& key) {
    // The member is only read: one accessor a row serves reading and writing.
    auto& unlocked = const_cast<Scenario&>(scenario);
    return std::visit([&](auto member) -> Value { return member(unlocked); }, key.member);
}

Value default_of(const Key& key) { return get(Scenario{}, key); }

bool may_be_left_out(const Key& key) { return is_number(key) && std::isnan(std::get<double>(default_of(key))); }

std::string fault_in(const Key& key, const Value& value) {
    return in(key.domain, value) ? "" : say("is {}, expected {}", on_one_line(text_of(value)), expected_text(key));
}

void put(Scenario& scenario, const Key& key, const Value& value) {
    std::visit(
        [&](auto member) {
            using T = std::remove_cvref_t<decltype(member(scenario))>;
            Value own = value;
            if constexpr (std::is_same_v<T, double>) {
                if (const int* whole = std::get_if<int>(&value)) own = double(*whole);  // a whole number is a number
                if (double* x = std::get_if<double>(&own)) *x += 0.0;                   // and -0 is 0
            }
            if (!std::holds_alternative<T>(own))
                throw BadInput(say("is {}, expected {}", on_one_line(text_of(own)), expected_text(key)));
            if (std::string wrong = fault_in(key, own); !wrong.empty()) throw BadInput(wrong);
            member(scenario) = std::get<T>(own);
        },
        key.member);
}

std::string on_one_line(std::string_view text, std::size_t longest) { return files::one_line(text, longest); }

std::string text_of(const Value& value) {
    auto quoted = [](const std::string& s) {
        std::string out = "\"";
        for (char c : s) {
            if (c == '"' || c == '\\') out += '\\';
            out += c;
        }
        return out + '"';
    };
    return std::visit(Overload{quoted, [](auto x) { return fmt::format("{}", x); }}, value);
}

std::string type_text(const Key& key) {
    if (is_number(key)) return tr("number");
    if (is_whole(key)) return tr("whole number");
    return std::holds_alternative<YesNo>(key.domain) ? tr("true or false") : tr("text");
}

std::string default_text(const Key& key) {
    if (may_be_left_out(key)) return tr("(left out)");
    const Value value = default_of(key);
    if (const double* number = std::get_if<double>(&value)) return sunshaft::text::plain(*number);
    const auto* text = std::get_if<std::string>(&value);
    return text && !text->empty() ? *text : text_of(value);
}

std::string domain_text(const Key& key) {
    return std::visit(Overload{[](const Range& r) {
                                   return fmt::format("{}{}, {}{}", r.low_open ? '(' : '[',
                                                      sunshaft::text::plain(r.low), sunshaft::text::plain(r.high),
                                                      r.high_open ? ')' : ']');
                               },
                               [](const Words& w) { return joined(w.list, " | "); },
                               [](const Text& t) { return say("up to {} characters", t.longest); },
                               [](const Clock&) { return std::string("00:00 .. 23:59"); },
                               [](const YesNo&) { return std::string("true | false"); }},
                      key.domain);
}

std::string expected_text(const Key& key) {
    auto range = [&](const Range& r) {
        const std::string low = sunshaft::text::plain(r.low), high = sunshaft::text::plain(r.high);
        const std::string where =
            std::isinf(r.high) ? r.low_open ? say("above {} or inf", low) : say("from {} up or inf", low)
            : r.high_open ? r.low_open ? say("above {} to below {}", low, high) : say("from {} to below {}", low, high)
            : r.low_open ? say("above {} and up to {}", low, high)
                          : say("from {} to {}", low, high);
        const std::string text = is_whole(key) ? say("a whole number {}", where) : say("a number {}", where);
        return key.unit.empty() ? text : fmt::format("{} {}", text, key.unit);
    };
    return std::visit(
        Overload{range, [](const Words& w) { return say("one of {}", joined(w.list, ", ")); },
                 [](const Text& t) { return say("text in quotes, one line of up to {} characters", t.longest); },
                 [](const Clock&) { return std::string(tr("a time of day in quotes, \"00:00\" to \"23:59\"")); },
                 [](const YesNo&) { return std::string(tr("true or false")); }},
        key.domain);
}

std::optional<std::string> nearest(std::string_view word, std::span<const std::string_view> candidates) {
    const std::string wanted = lower(word.substr(0, 80));
    const std::size_t near = std::max<std::size_t>(2, wanted.size() / 4);
    std::size_t best = near + 1;
    std::optional<std::string> found;
    for (std::string_view candidate : candidates) {
        const std::string name = lower(candidate);
        std::size_t d = distance(wanted, name);
        if (!wanted.empty() && name.starts_with(wanted + '_'))
            d = std::min<std::size_t>(d, 1);  // only the unit is missing
        if (d < best && d < name.size()) best = d, found = candidate;
    }
    return found;
}

std::string unknown_key_text(std::string_view path) {
    std::vector<std::string_view> sections{"fault"}, names, all;
    const std::string_view section = path.substr(0, path.find('.'));
    const bool has_name = section.size() < path.size();
    for (const Key& key : keys()) {
        if (sections.back() != key.section()) sections.push_back(key.section());
        if (key.section() == section) names.push_back(key.name());
        all.push_back(key.name());
    }
    auto meant = [](const std::string& text) { return say(" (did you mean {}?)", text); };
    // The whole path of a name that stands in another section, or was written without one.
    auto elsewhere = [&](std::string_view name) -> std::string {
        auto hit = nearest(name, all);
        return hit ? meant(std::string(std::ranges::find(keys(), *hit, &Key::name)->path)) : "";
    };
    if (!names.empty() && has_name) {  // a known section
        const std::string_view name = path.substr(section.size() + 1);
        const auto hit = nearest(name, names);
        return tr("is not a key, expected one that `sunshaft keys` lists") +
               (hit ? meant(fmt::format("{}.{}", section, *hit)) : elsewhere(name));
    }
    if (!names.empty()) return say("is a section, expected a key in it such as {}.{}", section, names.front());
    std::string text = say("is not a section, expected one of {}", joined(sections, ", "));
    if (auto hit = nearest(section, sections)) {
        const std::string whole = has_name ? *hit + std::string(path.substr(section.size())) : *hit;
        return text + meant(has_name && find_key(whole) ? whole : *hit);
    }
    return text + elsewhere(has_name ? path.substr(path.rfind('.') + 1) : section);
}

void set_keys(Scenario& scenario, std::span<const std::string> assignments) {
    Scenario changed = scenario;
    std::string_view last;
    for (const std::string& assignment : assignments) {
        const std::size_t sign = assignment.find('=');
        if (sign == std::string::npos)
            throw BadInput(say("--set: {}: has no '=', expected section.key=value", on_one_line(assignment)));
        const std::string path = assignment.substr(0, sign);
        std::string text = assignment.substr(sign + 1);
        const Key* key = find_key(path);
        if (!key) throw BadInput(fmt::format("--set: {}: {}", on_one_line(path), unknown_key_text(path)));

        Value value = text;
        const char* end = text.data() + text.size();
        if (double x = 0; is_number(*key)) {
            if (auto [stop, error] = std::from_chars(text.data(), end, x); error == std::errc{} && stop == end)
                value = x;
        } else if (int n = 0; is_whole(*key)) {
            if (auto [stop, error] = std::from_chars(text.data(), end, n); error == std::errc{} && stop == end)
                value = n;
        } else if (std::holds_alternative<YesNo>(key->domain)) {
            if (text == "true" || text == "false") value = text == "true";
        } else if (text.size() >= 2 && (text[0] == '"' || text[0] == '\'') && text.back() == text[0]) {
            value = text.substr(1, text.size() - 2);
        }
        try {
            put(changed, *key, value);
        } catch (const BadInput& wrong) {
            throw BadInput(fmt::format("--set: {}: {}", path, wrong.what()));
        }
        last = key->path;
    }
    if (auto clash = conflict(changed)) {
        // Point at what was set just now where it is part of the clash.
        const std::string_view shown = last == clash->other ? clash->other : clash->key;
        throw BadInput(fmt::format("--set: {}: {}", shown, clash->text));
    }
    scenario = std::move(changed);
}

void set_key(Scenario& scenario, const std::string& assignment) { set_keys(scenario, {&assignment, 1}); }

}  // namespace sunshaft::site
