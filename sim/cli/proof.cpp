// sunshaft proof: what the program computes against what has been published.
#include "proof/proof.hpp"

#include <fmt/format.h>

#include <memory>
#include <nlohmann/json.hpp>

#include "cli/verb.hpp"

namespace sunshaft::cli {
namespace {

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
        if (field != row.field) fmt::print("{}{}\n", field.empty() ? "" : "\n", row.field), field = row.field;
        fmt::print("  {} {:<74} {:>12.6g} {:>12.6g}  {:+.1e} of {:.0e}\n      {}\n", r.holds ? "holds" : "FAILS",
                   row.what, r.computed, row.expected, r.error, row.tolerance, row.source);
    }
    if (as_json) fmt::print("{}\n", out.dump(2));
    else fmt::print("\n{}\n", failed ? fmt::format("{} rows fail", failed) : "every row holds");
    return failed ? 1 : 0;
}

}  // namespace

Run add_proof(CLI::App& app) {
    auto as_json = std::make_shared<bool>(false);
    app.add_flag("--json", *as_json, "print JSON");
    app.footer("Columns: computed, published, relative error, tolerance.\nExample: sunshaft proof");
    return [as_json] { return proof(*as_json); };
}

}  // namespace sunshaft::cli
