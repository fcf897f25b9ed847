#include <fmt/format.h>
#include <toml++/toml.h>

#include <algorithm>
#include <array>
#include <cmath>
#include <filesystem>
#include <functional>
#include <numeric>
#include <variant>

#include "files/input.hpp"
#include "files/shipped.hpp"
#include "files/text.hpp"
#include "meter/spec_table.hpp"
#include "text/language.hpp"

namespace sunshaft::meter {

namespace {

using text::say, text::tr;

struct Named {
    Mode mode;
    const char *name, *unit;
};
constexpr Named modes[] = {
    {Mode::dcv, "dcv", "V"},
    {Mode::acv, "acv", "V"},
    {Mode::acdcv, "acdcv", "V"},
    {Mode::acv_lowpass, "acv-lowpass", "V"},
    {Mode::acv_loaded, "acv-loaded", "V"},
    {Mode::dcv_loaded, "dcv-loaded", "V"},
    {Mode::hz, "hz", "Hz"},
    {Mode::duty, "duty", "%"},
    {Mode::ohm, "ohm", "ohm"},
    {Mode::continuity, "continuity", "ohm"},
    {Mode::diode, "diode", "V"},
    {Mode::insulation, "insulation", "ohm"},
    {Mode::cap, "cap", "F"},
    {Mode::aca, "aca", "A"},
    {Mode::dca, "dca", "A"},
};

const Named& named(Mode mode) {
    return *std::find_if(std::begin(modes), std::end(modes), [mode](const Named& n) { return n.mode == mode; });
}

// --- reading a file
// ------------------------------------------------------------------------------------------------

std::size_t distance(std::string_view a, std::string_view b) {
    std::vector<std::size_t> row(b.size() + 1);
    std::iota(row.begin(), row.end(), std::size_t{0});
    for (std::size_t i = 1; i <= a.size(); ++i) {
        std::size_t diagonal = row[0]++;
        for (std::size_t j = 1; j <= b.size(); ++j) {
            const std::size_t up = row[j];
            row[j] = std::min({up + 1, row[j - 1] + 1, diagonal + (a[i - 1] != b[j - 1])});
            diagonal = up;
        }
    }
    return row[b.size()];
}

class Reader {
  public:
    explicit Reader(std::string name) : file_(std::move(name)) {}

    [[noreturn]] void fail(const toml::source_region& at, const std::string& key, const std::string& what) const {
        throw SpecError(files::one_line(
            fmt::format("{}:{}:{}: {}{}{}", file_, at.begin.line, at.begin.column, key, key.empty() ? "" : ": ", what),
            2000));
    }
    [[noreturn]] void fail(const toml::node& at, const std::string& key, const std::string& what) const {
        fail(at.source(), key, what);
    }
    [[noreturn]] void unknown(const toml::source_region& at, const std::string& key, std::string_view bare,
                              const std::vector<std::string>& known) const {
        std::string near;
        std::size_t best = 3;
        for (const auto& k : known)
            if (const auto d = distance(bare, k); d < best) {
                best = d;
                near = k;
            }
        std::string list;
        for (const auto& k : known) list += (list.empty() ? "" : ", ") + k;
        fail(at, key,
             say("unknown key, expected one of {}", list) + (near.empty() ? "" : say(" (did you mean {}?)", near)));
    }

    double number(const toml::node& node, const std::string& key, double low, double high, bool integer = false) const {
        const auto expected = [&] {
            if (high >= any)
                return integer ? say("a whole number not below {:g}", low) : say("a number not below {:g}", low);
            return integer ? say("a whole number from {:g} to {:g}", low, high)
                           : say("a number from {:g} to {:g}", low, high);
        };
        double v = 0.0;
        if (const auto* i = node.as_integer()) v = static_cast<double>(i->get());
        else if (const auto* f = node.as_floating_point(); f && !integer) v = f->get();
        else fail(node, key, say("wrong type, expected {}", expected()));
        if (!std::isfinite(v)) fail(node, key, say("not a finite number, expected {}", expected()));
        if (v < low || v > high) fail(node, key, say("{:g} is out of range, expected {}", v, expected()));
        return v + 0.0;  // no zero with a sign, which would be written as another number than it was
    }
    std::string text(const toml::node& node, const std::string& key) const {
        if (const auto* s = node.as_string()) {
            if (!files::is_plain(s->get()))
                fail(node, key, tr("has control or direction marks in it, expected plain text"));
            return s->get();
        }
        fail(node, key, tr("wrong type, expected text in quotes"));
    }
    std::vector<double> numbers(const toml::node& node, const std::string& key, double low, double high,
                                bool rising) const {
        std::vector<double> out;
        if (const auto* list = node.as_array()) {
            for (const auto& item : *list) out.push_back(number(item, key, low, high));
            if (out.empty()) fail(node, key, tr("empty, expected at least one number"));
        } else {
            out.push_back(number(node, key, low, high));
        }
        for (std::size_t k = 1; rising && k < out.size(); ++k)
            if (!(out[k] > out[k - 1])) fail(node, key, tr("not rising, expected each number above the one before"));
        return out;
    }

    Accuracy accuracy(const toml::node& node, const std::string& key) const {
        const auto* table = node.as_table();
        if (!table) fail(node, key, tr("wrong type, expected a table such as { percent = 1.0, counts = 3 }"));
        Accuracy a;
        for (const auto& [k, v] : *table) {
            const std::string bare(k.str());
            const auto* entry = std::find_if(std::begin(accuracy_keys), std::end(accuracy_keys),
                                             [&](const auto& e) { return bare == e.name; });
            if (entry == std::end(accuracy_keys)) {
                std::vector<std::string> known;
                for (const auto& e : accuracy_keys) known.emplace_back(e.name);
                unknown(k.source(), key + "." + bare, bare, known);
            }
            a.*entry->member = number(v, key + "." + bare, entry->low, entry->high);
        }
        if (!(a.from_Hz < a.to_Hz)) fail(node, key, tr("from_Hz is not below to_Hz, expected a band"));
        return a;
    }

    Function function(Mode mode, const toml::table& table) const {
        const std::string prefix = std::string(mode_name(mode)) + ".";
        const std::string ranges = ranges_key(mode);
        Function f;
        if (mode != Mode::dcv && mode != Mode::dca) f.detector = Detector::rms;
        std::vector<std::string> known{ranges, "accuracy"};
        if (has_detector(mode)) known.emplace_back("detector");
        for (const auto& e : function_keys)
            if (e.groups & group_of(mode)) known.emplace_back(e.name);
        for (const auto& [k, v] : table) {
            const std::string bare(k.str()), key = prefix + bare;
            if (std::find(known.begin(), known.end(), bare) == known.end()) unknown(k.source(), key, bare, known);
            if (bare == ranges) {
                f.ranges = numbers(v, key, 1e-15, 1e15, true);
            } else if (bare == "detector") {
                const std::string word = text(v, key);
                if (word != "average" && word != "true-rms")
                    fail(v, key, say("\"{}\" is no detector, expected \"average\" or \"true-rms\"", word));
                f.detector = word == "average" ? Detector::average : Detector::rms;
            } else if (bare == "accuracy") {
                if (const auto* list = v.as_array())
                    for (const auto& item : *list) f.accuracy.push_back(accuracy(item, key));
                else f.accuracy.push_back(accuracy(v, key));
            } else {
                tabled(v, key, bare, f);
            }
        }
        if (mode == Mode::duty)
            for (double& r : f.ranges) r /= 100.0;
        check(mode, f, table);
        return f;
    }

    // A key of the function table.
    void tabled(const toml::node& v, const std::string& key, const std::string& bare, Function& f) const {
        const auto& e = *std::find_if(std::begin(function_keys), std::end(function_keys),
                                      [&](const auto& x) { return bare == x.name; });
        if (const auto* d = std::get_if<double Function::*>(&e.member)) f.** d = number(v, key, e.low, e.high);
        else if (const auto* i = std::get_if<int Function::*>(&e.member))
            f.** i = static_cast<int>(number(v, key, e.low, e.high, true));
        else f.*std::get<std::vector<double> Function::*>(e.member) = numbers(v, key, e.low, e.high, bare == "test_V");
    }

    // What a position cannot do without, and what must fit together.
    void check(Mode mode, const Function& f, const toml::table& table) const {
        const std::string prefix = std::string(mode_name(mode)) + ".";
        const auto required = [&](bool there, const std::string& key, const std::string& what) {
            if (!there) fail(table, prefix + key, say("missing, expected {}", what));
        };
        required(!f.ranges.empty(), ranges_key(mode), tr("the full scales of the ranges, rising"));
        required(!f.accuracy.empty(), "accuracy", tr("at least one { percent = ..., counts = ... }"));
        if (group_of(mode) == on_voltage)
            required(f.resistance_ohm > 0.0, "resistance_ohm", tr("the input resistance"));
        if (mode == Mode::acv_lowpass) required(f.lowpass_Hz > 0.0, "lowpass_Hz", tr("the corner of the low-pass"));
        if (group_of(mode) == on_source) {
            required(f.open_V > 0.0, "open_V", tr("the voltage at open probes"));
            required(!f.source_A.empty(), "source_A", tr("the current of the source"));
        }
        if (mode == Mode::insulation) {
            required(!f.test_V.empty(), "test_V", tr("the test voltages, rising"));
            required(!f.source_A.empty(), "source_A", tr("the largest current of the source"));
        }
        if (f.source_A.size() > 1 && f.source_A.size() != f.ranges.size())
            fail(table, prefix + "source_A",
                 say("{} currents for {} ranges, expected one for each or one for all", f.source_A.size(),
                     f.ranges.size()));
        for (const Accuracy& a : f.accuracy)
            if (a.range > 0.0 && std::find(f.ranges.begin(), f.ranges.end(), a.range) == f.ranges.end())
                fail(table, prefix + "accuracy.range", say("{:g} is none of the ranges", a.range));
    }

    Spec spec(const toml::table& root) const {
        Spec s;
        s.file = file_;
        std::vector<std::string> known{"display", "category"};
        for (const auto& e : spec_keys_table) known.emplace_back(e.name);
        for (const auto& m : modes) known.emplace_back(m.name);
        for (const auto& [k, v] : root) {
            const std::string key(k.str());
            if (std::find(known.begin(), known.end(), key) == known.end()) unknown(k.source(), key, key, known);
            if (const auto mode = mode_from(key)) {
                const auto* table = v.as_table();
                if (!table) fail(v, key, say("wrong type, expected a table [{}]", key));
                s.functions[*mode] = function(*mode, *table);
            } else if (key == "display") {
                const std::string word = text(v, key);
                if (word != "digital" && word != "pointer")
                    fail(v, key, say("\"{}\" is no display, expected \"digital\" or \"pointer\"", word));
                s.pointer = word == "pointer";
            } else if (key == "category") {
                const std::string word = text(v, key);
                const auto* at = std::find(categories.begin(), categories.end(), word);
                if (at == categories.end())
                    fail(v, key,
                         say("\"{}\" is no measurement category, expected \"II\", \"III\", \"IV\" or \"none\"", word));
                s.category = at == categories.begin() ? 0 : static_cast<int>(at - categories.begin()) + 1;
            } else {
                const auto& e = *std::find_if(std::begin(spec_keys_table), std::end(spec_keys_table),
                                              [&](const auto& x) { return key == x.name; });
                if (const auto* d = std::get_if<double Spec::*>(&e.member)) s.** d = number(v, key, e.low, e.high);
                else s.*std::get<std::string Spec::*>(e.member) = text(v, key);
            }
        }
        if (s.name.empty()) fail(root, "name", tr("missing, expected what the meter is called"));
        if (s.functions.empty()) fail(root, "", tr("no mode at all, expected at least one table such as [dcv]"));
        if (s.jack_ohm > 0.0 && !(s.jack_fuse_A > 0.0))
            fail(root, "jack_fuse_A", tr("missing, expected the current at which the socket's fuse blows"));
        if (s.category > 0 && !(s.category_V > 0.0))
            fail(root, "category_V", tr("missing, expected the voltage of the category"));
        return s;
    }

  private:
    std::string file_;
};

}  // namespace

std::string_view mode_name(Mode mode) { return named(mode).name; }
std::string_view unit_of(Mode mode) { return named(mode).unit; }

std::optional<Mode> mode_from(std::string_view name) {
    if (name == "acv-lowz") return Mode::acv_loaded;  // what scripts and older files call it
    for (const Named& n : modes)
        if (n.name == name) return n.mode;
    return std::nullopt;
}

const std::vector<Mode>& all_modes() {
    static const std::vector<Mode> list = [] {
        std::vector<Mode> out;
        for (const Named& n : modes) out.push_back(n.mode);
        return out;
    }();
    return list;
}

bool drives_circuit(Mode mode) {
    return mode == Mode::ohm || mode == Mode::continuity || mode == Mode::diode || mode == Mode::insulation ||
           mode == Mode::cap;
}
bool takes_clamp(Mode mode) { return mode == Mode::aca || mode == Mode::dca; }
bool times_crossings(Mode mode) { return mode == Mode::hz || mode == Mode::duty; }

const Function& Spec::function(Mode mode) const {
    const auto at = functions.find(mode);
    if (at != functions.end()) return at->second;
    std::string list;
    for (const auto& [m, f] : functions) list += (list.empty() ? "" : ", ") + std::string(mode_name(m));
    throw std::invalid_argument(say("the meter '{}' has no mode {}, it has {}", name, mode_name(mode), list));
}

double input_resistance(const Spec& spec, Mode mode) {
    return takes_clamp(mode) || drives_circuit(mode) ? 0.0 : spec.function(mode).resistance_ohm;
}

Spec parse_spec(std::string_view text, const std::string& name_for_messages) {
    const Reader reader(name_for_messages);
    if (const auto trouble = files::toml_trouble(text))
        throw SpecError(fmt::format("{}:{}:{}: {}", name_for_messages, trouble->line, trouble->column, trouble->words));
    try {
        return reader.spec(toml::parse(text, name_for_messages));
    } catch (const toml::parse_error& e) {
        reader.fail(e.source(), "", text::parser_says(e.description()));
    }
}

Spec load_spec(const std::string& path) {
    try {
        return parse_spec(files::read_whole(path, files::most_settings), path);
    } catch (const files::Unreadable& what) {
        throw SpecError(say("{}:1:1: {}, expected a meter file", path, what.what()));
    }
}

std::string shipped_meters() { return files::shipped_data() + "/scenarios/meters"; }

std::vector<Spec> load_specs(const std::string& folder) {
    std::vector<std::string> files;
    std::error_code error;
    for (const auto& entry : std::filesystem::directory_iterator(folder, error))
        if (entry.path().extension() == ".toml") files.push_back(entry.path().string());
    if (error) throw SpecError(say("{}:1:1: no such folder, expected one with meter files", folder));
    std::sort(files.begin(), files.end());
    std::vector<Spec> out;
    out.reserve(files.size());
    for (const auto& f : files) out.push_back(load_spec(f));
    return out;
}

Spec find_spec(std::string_view wanted, const std::string& folder) {
    if (wanted.ends_with(".toml")) return load_spec(std::string(wanted));
    std::string list;
    for (Spec& s : load_specs(folder)) {
        const std::string stem = std::filesystem::path(s.file).stem().string();
        if (stem == wanted || s.name == wanted) return std::move(s);
        list += (list.empty() ? "" : ", ") + stem;
    }
    throw SpecError(
        say("{}:1:1: {}: no such meter, expected one of {} or a path ending in .toml", folder, wanted, list));
}

}  // namespace sunshaft::meter
