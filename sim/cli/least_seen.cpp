// sunshaft faults --blind --least: from how much of each fault on each field test sees it.
#include "diagnose/least_seen.hpp"

#include <fmt/format.h>

#include <algorithm>
#include <cmath>
#include <filesystem>
#include <nlohmann/json.hpp>

#include "cli/blind.hpp"
#include "files/fresh_file.hpp"
#include "site/keys.hpp"
#include "teach/least_page.hpp"
#include "text/figure.hpp"
#include "text/language.hpp"

namespace sunshaft::cli {
namespace {

using diagnose::LeastSeen;
using text::say, text::tr;

void least_json(const std::vector<LeastSeen>& rows, const Scenario& scenario) {
    nlohmann::json faults = nlohmann::json::array();
    for (const LeastSeen& row : rows) {
        nlohmann::json tests;
        for (std::size_t t = 0; t < row.much.size(); ++t) {
            nlohmann::json& cell = tests[bench::field_tests()[t].id];
            if (std::isfinite(row.much[t])) cell = {{"much", row.much[t]}, {"severity", number(row.severity(t))}};
        }
        faults.push_back(
            {{"kind", row.row->kind}, {"place", row.place}, {"unit", row.row->unit}, {"least", std::move(tests)}});
    }
    fmt::print("{}\n", nlohmann::json{{"site", scenario.site.name},
                                      {"irradiance_W_m2", number(scenario.sun.irradiance_W_m2)},
                                      {"faults", std::move(faults)}}
                           .dump(2));
}

// One fault: each place with its tests, the sharpest first.
void least_of_one(const std::vector<LeastSeen>& rows) {
    const auto& tests = bench::field_tests();
    for (const LeastSeen& row : rows) {
        std::vector<std::size_t> seen;
        for (std::size_t t = 0; t < tests.size(); ++t)
            if (std::isfinite(row.much[t])) seen.push_back(t);
        std::stable_sort(seen.begin(), seen.end(),
                         [&](std::size_t a, std::size_t b) { return row.much[a] < row.much[b]; });
        fmt::print("@{}\n", row.place);
        for (const std::size_t t : seen) {
            const std::string severity = site::severity_text(*row.row, row.severity(t));
            const std::string from = row.row->least == row.row->most ? tr("seen")
                                     : row.fewer_is_worse()          ? say("{} and less", severity)
                                                                     : say("{} and more", severity);
            fmt::print("  {:<30} {}\n", tr(tests[t].name), from);
        }
        if (seen.empty()) fmt::print("  {}\n", tr("no test sees it"));
    }
}

char mark(double much) {
    if (std::isnan(much)) return '.';
    const double tenths = std::ceil(10 * much - 1e-9);
    return tenths > 9 ? '#' : static_cast<char>('0' + static_cast<int>(std::max(1.0, tenths)));
}

void least_of_all(const std::vector<LeastSeen>& rows) {
    constexpr std::size_t indent = 42;
    fmt::print("  {}\n\n",
               tr("1 to 9: from so many tenths of it on. #: from nearly all of it, or it has no degrees. A dot: "
                  "never."));
    tests_in_words();
    std::string group;
    for (const LeastSeen& row : rows) {
        if (group != row.row->group) {
            fmt::print("\n{}\n", tr(group = row.row->group));
            tests_over_columns(indent);
        }
        std::string line = fmt::format("  {} @{}", row.row->kind, row.place);
        line.resize(std::max<std::size_t>(line.size() + 1, indent), ' ');
        for (std::size_t t = 0; t < row.much.size(); ++t) {
            line += {mark(row.much[t]), ' '};
            if (gap_behind(t)) line += "  ";
        }
        fmt::print("{}\n", line);
    }
}

}  // namespace

int least_seen(const Scenario& scenario, const std::string& kind, bool json, const std::string& out) {
    const std::string ending = std::filesystem::path(out).extension();
    if (!out.empty() && ending != ".svg" && ending != ".pdf")
        throw site::BadInput(say("--out: {}: expected a name that ends in .svg or .pdf", site::on_one_line(out)));
    diagnose::Sights sights(scenario, diagnose::cache_folder());
    std::vector<LeastSeen> rows;
    {
        Progress progress(tr("planting faults"));
        rows = diagnose::least_seen(sights, kind, [&](double f) { return progress(f); });
    }
    if (rows.empty()) throw site::BadInput(say("--kind: {}: has no place on {}", kind, scenario.file));
    if (!out.empty()) {
        files::FreshFile file(out);
        file.write(teach::least_page(scenario, rows, ending == ".pdf"));
        file.finish();
    }
    if (json) {
        least_json(rows, scenario);
        return 0;
    }
    blind_cautions(scenario);
    fmt::print("{}\n", kind.empty()
                           ? say("{}: from how much of each fault on which field test sees it", scenario.site.name)
                           : say("{}: from how much of {} on which field test sees it", scenario.site.name, kind));
    fmt::print("  {}\n", say("computed under {}, against the bands of the meters used",
                             text::quantity(scenario.sun.irradiance_W_m2, "W/m2", 3)));
    if (kind.empty()) least_of_all(rows);
    else least_of_one(rows);
    return 0;
}

}  // namespace sunshaft::cli
