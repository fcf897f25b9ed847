#include <fmt/format.h>

#include "cli/verb.hpp"
#include "site/load.hpp"
#include "text/figure.hpp"
#include "text/language.hpp"

namespace sunshaft::cli {

using text::say, text::tr;

CLI::Validator within(double low, double high) {
    const std::string domain = say("{} to {}", text::plain(low), text::plain(high));
    const auto wrong = [low, high, domain](const std::string& text) {
        double value = 0.0;
        const bool in = CLI::detail::lexical_cast(text, value) && value >= low && value <= high;
        return in ? std::string() : say("{}: expected a number from {}", text, domain);
    };
    return CLI::Validator(wrong, domain);
}

CLI::Option* add_repeated(CLI::App& app, const std::string& name, std::vector<std::string>& values,
                          const std::string& type, const std::string& meaning) {
    return app.add_option(name, values, meaning)->type_name(type)->allow_extra_args(false);
}

void add_site_options(CLI::App& app, SiteOptions& options) {
    app.add_option("scenario", options.scenario, tr("a scenario file, or the name of a shipped site"))
        ->type_name("SCENARIO")
        ->required();
    add_repeated(app, "--set", options.set, "KEY=VALUE", tr("change a scenario key; may be repeated"));
}

Scenario load(const SiteOptions& options) {
    Scenario scenario = site::load_scenario(site::find_scenario(options.scenario));
    site::set_keys(scenario, options.set);
    return scenario;
}

}  // namespace sunshaft::cli
