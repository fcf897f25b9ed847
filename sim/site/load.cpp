#include "site/load.hpp"

#include <fmt/format.h>

#include <toml++/toml.h>
#include <algorithm>
#include <cmath>
#include <cstdint>
#include <filesystem>
#include <iterator>
#include <limits>

#include "files/input.hpp"
#include "files/shipped.hpp"
#include "site/order.hpp"
#include "site/shipped.hpp"
#include "text/language.hpp"

namespace sunshaft::site {
namespace {

using text::say, text::tr;

namespace fs = std::filesystem;

std::string at(const std::string& file, toml::source_position p, std::string_view key, std::string_view text) {
    return fmt::format("{}:{}:{}: {}: {}", on_one_line(file, 400), p.line, p.column, on_one_line(key), text);
}

// A scalar as the table's value; something else as words.
std::optional<Value> value_of(const toml::node& node) {
    if (const auto* text = node.as_string()) return Value(text->get());
    if (const auto* yes = node.as_boolean()) return Value(yes->get());
    if (const auto* real = node.as_floating_point()) return Value(real->get());
    if (const auto* whole = node.as_integer()) {
        const std::int64_t n = whole->get();
        const bool fits = n >= std::numeric_limits<int>::min() && n <= std::numeric_limits<int>::max();
        return fits ? Value(int(n)) : Value(double(n));
    }
    return std::nullopt;
}

std::string kind_of(const toml::node& node) {
    if (node.is_table()) return tr("a table");
    if (node.is_array_of_tables()) return tr("a list of tables");
    if (node.is_array()) return tr("a list");
    if (auto value = value_of(node)) return on_one_line(text_of(*value));
    return tr("a date or time");
}

toml::table parse(std::string_view text, const std::string& file) {
    if (const auto trouble = files::toml_trouble(text))
        throw BadInput(fmt::format("{}:{}:{}: syntax: {}", on_one_line(file, 400), trouble->line, trouble->column,
                                   trouble->words));
    try {
        return toml::parse(text);
    } catch (const toml::parse_error& error) {
        const std::string words = on_one_line(text::parser_says(error.description()), 200);
        throw BadInput(at(file, error.source().begin, "syntax", say("{}, expected TOML", words)));
    }
}

// Reads a document into a scenario and keeps the first mistake in the file's order.
class Reader {
  public:
    explicit Reader(const std::string& file) : file_(file) { scenario_.file = file; }

    Scenario read(const toml::table& document) {
        for (const auto& [key, node] : document) {
            const std::string section(key.str());
            if (section == "fault") faults(node);
            else if (const auto* table = node.as_table(); table && is_section(section)) this->section(section, *table);
            else if (is_section(section))
                mistake(node.source().begin, section, say("is {}, expected a table [{}]", kind_of(node), section));
            else mistake(key.source().begin, section, unknown_key_text(first_path(section, node)));
        }
        if (!first_.empty()) throw BadInput(first_);
        if (auto clash = conflict(scenario_)) {
            const toml::node* node = find(document, clash->key);
            if (!node) node = find(document, clash->other);
            throw BadInput(at(file_, node ? node->source().begin : toml::source_position{}, clash->key, clash->text));
        }
        return std::move(scenario_);
    }

    static const toml::node* find(const toml::table& document, std::string_view path) {
        const toml::table* section = document[path.substr(0, path.find('.'))].as_table();
        return section ? section->get(path.substr(path.find('.') + 1)) : nullptr;
    }

  private:
    static bool is_section(std::string_view name) {
        for (const Key& key : keys())
            if (key.section() == name) return true;
        return false;
    }

    // An unknown section with something in it is best guessed together with its first key.
    static std::string first_path(const std::string& section, const toml::node& node) {
        const toml::table* table = node.as_table();
        return table && !table->empty() ? fmt::format("{}.{}", section, table->begin()->first.str()) : section;
    }

    void section(const std::string& name, const toml::table& table) {
        for (const auto& [entry, node] : table) {
            const std::string path = fmt::format("{}.{}", name, entry.str());
            const Key* key = find_key(path);
            if (!key) {
                mistake(entry.source().begin, path, unknown_key_text(path));
            } else if (auto value = value_of(node)) {
                try {
                    put(scenario_, *key, *value);
                } catch (const BadInput& wrong) {
                    mistake(node.source().begin, path, wrong.what());
                }
            } else {
                mistake(node.source().begin, path, say("is {}, expected {}", kind_of(node), expected_text(*key)));
            }
        }
    }

    void faults(const toml::node& node) {
        const toml::array* list = node.as_array();
        if (!list || (!list->empty() && !list->is_array_of_tables())) {
            mistake(node.source().begin, "fault", say("is {}, expected tables under [[fault]]", kind_of(node)));
            return;
        }
        for (const toml::node& entry : *list) fault(*entry.as_table());
    }

    void fault(const toml::table& table) {
        const toml::source_position start = table.source().begin;
        PlantedFault fault;
        fault.where = fmt::format("{}:{}:{}", on_one_line(file_, 400), start.line, start.column);
        for (const auto& [key, node] : table) {
            const std::string path = fmt::format("fault.{}", key.str());
            const auto value = value_of(node);
            auto wrong = [&, &node = node](std::string_view expected) {  // by name: an older clang wants it
                mistake(node.source().begin, path, say("is {}, expected {}", kind_of(node), expected));
            };
            if (key == "kind" || key == "place") {
                const auto* text = value ? std::get_if<std::string>(&*value) : nullptr;
                if (text && !text->empty() && text->size() <= 80 && on_one_line(*text) == on_one_line(*text, 80))
                    (key == "kind" ? fault.kind : fault.place) = on_one_line(*text, 80);
                else
                    wrong(key == "kind" ? tr("a kind that `sunshaft faults` lists, in quotes")
                                        : tr("a place in quotes"));
            } else if (key == "severity" || key == "at_s") {
                const auto* whole = value ? std::get_if<int>(&*value) : nullptr;
                const auto* real = value ? std::get_if<double>(&*value) : nullptr;
                const double x = whole ? double(*whole) : real ? *real : std::nan("");
                if (key == "severity" ? std::isnan(x) : !(x >= 0 && x <= latest_s))
                    wrong(key == "severity" ? tr("a number, or inf") : say("a number from 0 to {}, in s", latest_s));
                else (key == "severity" ? fault.severity : fault.at_s) = x;
            } else {
                static constexpr std::string_view names[] = {"kind", "place", "severity", "at_s"};
                const auto hit = nearest(key.str(), names);
                mistake(key.source().begin, path,
                        tr("is not a key, expected kind, place, severity or at_s") +
                            (hit ? say(" (did you mean {}?)", "fault." + std::string(*hit)) : ""));
            }
        }
        for (std::string_view needed : {"kind", "place"})
            if (!table.contains(needed))
                mistake(start, fmt::format("fault.{}", needed), tr("is missing, expected in every [[fault]]"));
        scenario_.faults.push_back(std::move(fault));
    }

    void mistake(toml::source_position where, std::string_view key, std::string_view text) {
        if (!first_.empty() && !(where < first_at_)) return;
        first_at_ = where;
        first_ = at(file_, where, key, text);
    }

    std::string file_;
    Scenario scenario_;
    std::string first_;
    toml::source_position first_at_{};
};

std::vector<fs::path> toml_files(const fs::path& folder) {
    std::vector<fs::path> files;
    std::error_code error;
    for (const auto& entry : fs::directory_iterator(folder, error))
        if (entry.path().extension() == ".toml") files.push_back(entry.path());
    return files;
}

std::string shipped_names() {
    std::vector<std::string> stems;
    for (const std::string& file : shipped_sites()) stems.push_back(fs::path(file).stem().string());
    std::string list;
    for (const std::string& stem : stems) list += (list.empty() ? "" : ", ") + stem;
    return list;
}

// A scenario with a name near to one that is not there: beside it, or shipped.
std::string near_file(const std::string& file) {
    const fs::path wanted(file);
    for (const fs::path& folder :
         {wanted.parent_path().empty() ? fs::path(".") : wanted.parent_path(), fs::path(shipped_scenarios())}) {
        std::vector<std::string> stems;
        for (const fs::path& path : toml_files(folder)) stems.push_back(path.stem().string());
        std::vector<std::string_view> views(stems.begin(), stems.end());
        if (auto hit = nearest(wanted.stem().string(), views))
            return say(" (did you mean {}?)",
                       on_one_line((folder / (*hit + ".toml")).lexically_normal().string(), 200));
    }
    return "";
}

std::string read_file(const std::string& file) {
    auto fail = [&](const files::Unreadable& what) {
        std::string hint = near_file(file);
        if (hint.empty() && what.missing) hint = " " + say("or a shipped site: {}", shipped_names());
        return BadInput(at(file, {}, "file", say("{}, expected a scenario file{}", what.what(), hint)));
    };
    try {
        return files::read_whole(file, files::most_settings);
    } catch (const files::Unreadable& what) {
        throw fail(what);
    }
}

}  // namespace

Scenario parse_scenario(std::string_view text, const std::string& file) { return Reader(file).read(parse(text, file)); }

Scenario load_scenario(const std::string& file) {
    const std::string text = read_file(file);
    if (parse(text, file).empty())
        throw BadInput(at(file, {1, 1}, "file",
                          tr("holds no key, expected a scenario such as `sunshaft check hill-orchard --print` shows")));
    return parse_scenario(text, file);
}

std::string shipped_scenarios() { return files::shipped_data() + "/scenarios"; }

std::vector<std::string> shipped_sites() {
    std::vector<std::string> sites;
    for (const fs::path& file : toml_files(shipped_scenarios()))
        if (file.filename() != "priors.toml" && file.filename() != "senses.toml" && file.filename() != "skies.toml")
            sites.push_back(file.string());
    std::sort(sites.begin(), sites.end());
    return sites;
}

std::string find_scenario(const std::string& name) {
    std::error_code error;
    if (fs::exists(name, error) && !fs::is_directory(name, error)) return name;
    if (name.find('/') == std::string::npos)
        for (const char* ending : {"", ".toml"}) {
            const std::string shipped = shipped_scenarios() + '/' + name + ending;
            if (!name.empty() && fs::is_regular_file(shipped, error)) return shipped;
        }
    return name;
}

BadInput bad_key(const Scenario& scenario, std::string_view path, std::string_view text) {
    const Key* key = find_key(path);
    if (scenario.file.empty() || !key) return BadInput(fmt::format("{}: {}", path, text));
    toml::source_position place{};
    Value in_file = default_of(*key);
    try {
        const toml::table document = parse(read_file(scenario.file), scenario.file);
        if (const toml::node* node = Reader::find(document, path)) {
            place = node->source().begin;
            Scenario there;
            if (auto value = value_of(*node)) put(there, *key, *value), in_file = get(there, *key);
        }
    } catch (const BadInput&) {
        // The file went away or changed since it was read: the message stands without a place.
    }
    // Another value than the file's can only have come from the command line.
    if (text_of(get(scenario, *key)) != text_of(in_file)) return BadInput(fmt::format("--set: {}: {}", path, text));
    return BadInput(at(scenario.file, place, path, text));
}

std::string to_toml(const Scenario& scenario, Write what) {
    std::string out;
    std::string_view section;
    for (const Key& key : keys()) {
        const std::string value = text_of(get(scenario, key));
        if (value == "nan" || (what == Write::changed && value == text_of(default_of(key)))) continue;
        if (section != key.section()) {
            section = key.section();
            out += fmt::format("{}[{}]\n", out.empty() ? "" : "\n", section);
        }
        out += fmt::format("{} = {}\n", key.name(), value);
    }
    for (const PlantedFault& fault : scenario.faults) {
        out += fmt::format("{}[[fault]]\nkind = {}\nplace = {}\n", out.empty() ? "" : "\n", text_of(fault.kind),
                           text_of(fault.place));
        if (!std::isnan(fault.severity)) out += fmt::format("severity = {}\n", fault.severity);
        if (fault.at_s > 0) out += fmt::format("at_s = {}\n", fault.at_s);
    }
    return out;
}

}  // namespace sunshaft::site
