#include "meter/settings.hpp"

#include <fmt/format.h>
#include <toml++/toml.h>

#include <algorithm>
#include <charconv>
#include <cmath>
#include <sstream>

#include "meter/spec_table.hpp"
#include "text/language.hpp"

namespace sunshaft::meter {
namespace {

std::string domain(double low, double high) { return fmt::format("{:g} .. {:g}", low, high); }

// Shortest text that reads back as the same number.
std::string plain(double x) { return fmt::format("{}", x); }

std::string plain(const std::vector<double>& list, double factor = 1.0) {
    std::string out;
    for (const double x : list) out += fmt::format("{}{}", out.empty() ? "" : ", ", factor * x);
    return list.size() == 1 ? out : fmt::format("[{}]", out);
}

std::string quoted(const std::string& text) {
    std::ostringstream s;
    s << toml::value<std::string>(text);
    return s.str();
}

std::string value_of(const Function& f, const FunctionKey& e) {
    if (const auto* d = std::get_if<double Function::*>(&e.member)) return plain(f.**d);
    if (const auto* i = std::get_if<int Function::*>(&e.member)) return fmt::format("{}", f.**i);
    const auto& list = f.*std::get<std::vector<double> Function::*>(e.member);
    return list.empty() ? std::string() : plain(list);
}

std::string accuracy_text(const Function& f) {
    static const Accuracy none;
    std::string all;
    for (const Accuracy& a : f.accuracy) {
        std::string one;
        for (const auto& e : accuracy_keys)
            if (a.*e.member != none.*e.member)
                one += fmt::format("{}{} = {}", one.empty() ? "" : ", ", e.name, plain(a.*e.member));
        all += fmt::format("{}{{ {} }}", all.empty() ? "" : ", ", one.empty() ? "percent = 0" : one);
    }
    return fmt::format("[{}]", all);
}

}  // namespace

std::string to_toml(const Spec& spec) {
    static const Spec none;
    std::string out;
    for (const auto& e : spec_keys_table) {
        if (const auto* d = std::get_if<double Spec::*>(&e.member)) {
            if (spec.**d != none.**d || std::string_view(e.name) == "counts")
                out += fmt::format("{} = {}\n", e.name, plain(spec.**d));
        } else if (const std::string& text = spec.*std::get<std::string Spec::*>(e.member); !text.empty()) {
            out += fmt::format("{} = {}\n", e.name, quoted(text));
        }
    }
    out += fmt::format("display = \"{}\"\ncategory = \"{}\"\n", spec.pointer ? "pointer" : "digital",
                       categories[spec.category == 0 ? 0 : static_cast<std::size_t>(spec.category - 1)]);
    for (const auto& [mode, f] : spec.functions) {
        static const Function plain_function;
        out += fmt::format("\n[{}]\n{} = {}\n", mode_name(mode), ranges_key(mode),
                           mode == Mode::duty && f.ranges.size() > 0 ? plain(f.ranges, 100.0) : plain(f.ranges));
        if (has_detector(mode))
            out += fmt::format("detector = \"{}\"\n", f.detector == Detector::average ? "average" : "true-rms");
        for (const auto& e : function_keys)
            if ((e.groups & group_of(mode)) && value_of(f, e) != value_of(plain_function, e))
                out += fmt::format("{} = {}\n", e.name, value_of(f, e));
        out += fmt::format("accuracy = {}\n", accuracy_text(f));
    }
    return out;
}

std::vector<Setting> settings(const Spec& spec, Mode mode) {
    const Function& f = spec.function(mode);
    std::vector<Setting> out;
    const std::string prefix = fmt::format("{}.", mode_name(mode));
    if (has_detector(mode))
        out.push_back({prefix + "detector",
                       "",
                       f.detector == Detector::average ? "average" : "true-rms",
                       "what is made of the wave",
                       0,
                       0,
                       {"average", "true-rms"}});
    for (const auto& e : function_keys) {
        if (!(e.groups & group_of(mode)) || std::holds_alternative<std::vector<double> Function::*>(e.member)) continue;
        const bool only_timing = e.member == FunctionMember(&Function::trigger),
                   only_size = e.member == FunctionMember(&Function::crest_limit);
        if (times_crossings(mode) ? only_size : only_timing) continue;
        out.push_back({prefix + e.name, e.unit, value_of(f, e), e.meaning, e.low, e.high, {}});
    }
    for (const auto& e : spec_keys_table)
        if (const auto* d = std::get_if<double Spec::*>(&e.member);
            d && (*d == &Spec::counts || *d == &Spec::update_per_s || *d == &Spec::settling_s ||
                  (*d == &Spec::leads_ohm && drives_circuit(mode))))
            out.push_back({e.name, e.unit, plain(spec.**d), e.meaning, e.low, e.high, {}});
    return out;
}

Spec changed(const Spec& spec, const std::string& key, const std::string& value) {
    toml::table all = toml::parse(to_toml(spec));
    toml::table* table = &all;
    std::string name = key;
    if (const auto dot = key.find('.'); dot != std::string::npos) {
        table = all[key.substr(0, dot)].as_table();
        name = key.substr(dot + 1);
        if (!table) throw std::invalid_argument(text::say("{}: the meter '{}' has no such mode", key, spec.name));
    }
    double number = 0.0;
    const auto [end, error] = std::from_chars(value.data(), value.data() + value.size(), number);
    const bool is_number = !value.empty() && error == std::errc{} && end == value.data() + value.size();
    if (is_number && std::isfinite(number) && number == std::floor(number) && std::fabs(number) < 1e15)
        table->insert_or_assign(name, static_cast<std::int64_t>(number));
    else if (is_number) table->insert_or_assign(name, number);
    else table->insert_or_assign(name, value);
    std::ostringstream text;
    text << all;
    try {
        Spec out = parse_spec(text.str(), "meter");
        out.file = spec.file;
        return out;
    } catch (const SpecError& e) {
        // The place in a text nobody sees is of no use: what counts begins at the key.
        const std::string words = e.what();
        const auto at = words.find(": ");
        throw std::invalid_argument(at == std::string::npos ? words : words.substr(at + 2));
    }
}

std::vector<KeyLine> spec_keys() {
    std::vector<KeyLine> out;
    for (const auto& e : spec_keys_table)
        out.push_back({e.name, e.unit,
                       std::holds_alternative<double Spec::*>(e.member) ? domain(e.low, e.high) : "text", e.meaning});
    out.push_back({"display", "", "digital | pointer", "digits, or a needle on a scale"});
    out.push_back({"category", "", "none | II | III | IV", "measurement category of IEC 61010-1"});
    for (const auto& e : function_keys)
        out.push_back({std::string("MODE.") + e.name, e.unit, domain(e.low, e.high), e.meaning});
    out.push_back({"MODE.detector", "", "average | true-rms", "of the alternating modes"});
    out.push_back({"MODE.ranges_UNIT", "V, A, ohm, F, Hz, percent", "rising numbers", "full scales (required)"});
    out.push_back({"MODE.accuracy", "", "list of { percent, counts, percent_of_range, range, from_Hz, to_Hz }",
                   "the first line that fits range and frequency holds (required)"});
    return out;
}

}  // namespace sunshaft::meter
