// sunshaft check: is this scenario in order?
#include <fmt/format.h>

#include <memory>
#include <nlohmann/json.hpp>

#include "cli/verb.hpp"
#include "site/keys.hpp"
#include "site/load.hpp"
#include "site/site.hpp"
#include "text/language.hpp"

namespace sunshaft::cli {
namespace {

using text::say, text::tr;

struct CheckOptions {
    SiteOptions site;
    bool print = false, json = false;
};

int check(const CheckOptions& options) {
    const Scenario scenario = load(options.site);
    if (options.print) {
        fmt::print("{}", site::to_toml(scenario, site::Write::all));
        return 0;
    }
    // What only shows when the site is put up: module names, figures that fit no module or pump, fault kinds.
    site::compile_site(scenario, site::planted_faults(scenario, site::set_up(scenario)));
    int changed = 0;
    for (const site::Key& key : site::keys())
        changed += site::text_of(site::get(scenario, key)) != site::text_of(site::default_of(key));
    const int others = int(site::keys().size()) - changed;
    if (options.json)
        fmt::print("{}\n", nlohmann::json{{"file", scenario.file},
                                          {"name", scenario.site.name},
                                          {"keys_changed", changed},
                                          {"keys_at_default", others},
                                          {"faults", scenario.faults.size()}}
                               .dump(2));
    else
        fmt::print("{}\n",
                   say("{}: {} is in order ({} keys given other than their defaults, {} at them, {} faults planted)",
                       scenario.file, scenario.site.name, changed, others, scenario.faults.size()));
    return 0;
}

}  // namespace

Run add_check(CLI::App& app) {
    auto options = std::make_shared<CheckOptions>();
    add_site_options(app, options->site);
    app.add_flag("--print", options->print, tr("print the scenario with every key, as TOML"));
    app.add_flag("--json", options->json, tr("print one JSON object"));
    app.footer(
        say("Mistakes are reported as file:line:column: key: what is wrong, what was expected (exit status 2).") +
        "\nExample: sunshaft check hill-orchard --set sun.irradiance_W_m2=600");
    return [options] { return check(*options); };
}

}  // namespace sunshaft::cli
