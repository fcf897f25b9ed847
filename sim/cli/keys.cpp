// sunshaft keys: the table of all scenario keys.
#include "site/keys.hpp"

#include <fmt/format.h>

#include <cmath>
#include <memory>
#include <nlohmann/json.hpp>

#include "cli/verb.hpp"
#include "text/language.hpp"

namespace sunshaft::cli {
namespace {

using text::say, text::tr;

struct KeysOptions {
    std::string word;
    bool json = false;
};

nlohmann::json as_json(const site::Key& key) {
    nlohmann::json row{{"key", key.path},
                       {"type", site::type_text(key)},
                       {"unit", key.unit},
                       {"domain", site::domain_text(key)},
                       {"meaning", key.meaning}};
    const site::Value value = site::default_of(key);
    if (const double* x = std::get_if<double>(&value)) row["default"] = number(*x);  // null: left out
    else std::visit([&](const auto& v) { row["default"] = v; }, value);
    if (const auto* range = std::get_if<site::Range>(&key.domain)) {
        row["low"] = number(range->low);
        row["high"] = number(range->high);  // null: inf is allowed
        row["low_open"] = range->low_open;
        row["high_open"] = range->high_open;
    }
    if (const auto* words = std::get_if<site::Words>(&key.domain)) row["words"] = words->list;
    return row;
}

void print_row(const site::Key& key) {
    const std::string domain = site::domain_text(key);
    std::string value = site::default_text(key);
    if (!key.unit.empty() && !site::may_be_left_out(key)) value += fmt::format(" {}", key.unit);
    fmt::print("  {:<26} {:<17} {:<16}", key.name(), value, domain);
    if (domain.size() > 16 || value.size() > 17) fmt::print("\n{:63}", "");
    fmt::print(" {}\n", tr(std::string(key.meaning)));
}

int list(const KeysOptions& options) {
    std::vector<site::Key> found;
    for (const site::Key& key : site::keys())
        if (key.path.find(options.word) != std::string_view::npos) found.push_back(key);
    if (found.empty())
        throw site::BadInput(fmt::format("sunshaft keys: {}: {}", site::on_one_line(options.word),
                                         site::unknown_key_text(options.word)));
    if (options.json) {
        nlohmann::json rows = nlohmann::json::array();
        for (const site::Key& key : found) rows.push_back(as_json(key));
        fmt::print("{}\n", nlohmann::json{{"keys", rows}}.dump(2));
        return 0;
    }
    std::string_view section;
    for (const site::Key& key : found) {
        if (key.section() != section) fmt::print("{}[{}]\n", section.empty() ? "" : "\n", key.section());
        section = key.section();
        print_row(key);
    }
    return 0;
}

}  // namespace

Run add_keys(CLI::App& app) {
    auto options = std::make_shared<KeysOptions>();
    app.add_option("word", options->word, tr("only keys with this in their path, for example a section"))
        ->type_name("WORD");
    app.add_flag("--json", options->json, tr("print one JSON object"));
    app.footer(say("Columns: key, default, domain ('(' and ')' leave the end out, inf where it stands in the domain), "
                   "meaning.\n"
                   "A scenario may also hold [[fault]] tables with kind, place, severity and at_s.") +
               "\nExample: sunshaft keys splice");
    return [options] { return list(*options); };
}

}  // namespace sunshaft::cli
