// sunshaft proof: what the program computes against what has been published.
#include "proof/proof.hpp"

#include <fmt/format.h>

#include <memory>
#include <nlohmann/json.hpp>

#include "cli/verb.hpp"
#include "text/language.hpp"

namespace sunshaft::cli {
namespace {

using text::say, text::tr;

// With the decimal mark of the language.
std::string spoken(std::string figure) {
    if (const auto point = figure.find('.'); point != std::string::npos) figure.replace(point, 1, text::decimal());
    return figure;
}

int proof(bool as_json) {
    nlohmann::json out = nlohmann::json::array();
    int failed = 0;
    std::string field;
    for (const proof::Row& row : proof::rows()) {
        const proof::Result r = proof::check(row);
        failed += !r.holds;
        if (as_json) {
            out.push_back({{"field", row.field},
                           {"what", row.what},
                           {"source", row.source},
                           {"expected", row.expected},
                           {"computed", r.computed},
                           {"error", r.error},
                           {"tolerance", row.tolerance},
                           {"holds", r.holds}});
            continue;
        }
        if (field != row.field) fmt::print("{}{}\n", field.empty() ? "" : "\n", tr(row.field)), field = row.field;
        // A source is named as it was published.
        fmt::print("  {} {:<74} {:>12} {:>12}  {}\n      {}\n", r.holds ? tr("holds") : tr("FAILS"), tr(row.what),
                   spoken(fmt::format("{:.6g}", r.computed)), spoken(fmt::format("{:.6g}", row.expected)),
                   say("{} of {}", spoken(fmt::format("{:+.1e}", r.error)), fmt::format("{:.0e}", row.tolerance)),
                   row.source);
    }
    if (as_json) fmt::print("{}\n", out.dump(2));
    else fmt::print("\n{}\n", failed ? say("{} rows fail", failed) : tr("every row holds"));
    return failed ? 1 : 0;
}

}  // namespace

Run add_proof(CLI::App& app) {
    auto as_json = std::make_shared<bool>(false);
    app.add_flag("--json", *as_json, tr("print JSON"));
    app.footer(say("Columns: computed, published, relative error, tolerance.") + "\nExample: sunshaft proof");
    return [as_json] { return proof(*as_json); };
}

}  // namespace sunshaft::cli
