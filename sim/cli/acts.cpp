// sunshaft acts: what a person can do on a site, each with what must be heard before it.
#include <fmt/format.h>

#include <memory>

#include "cli/verb.hpp"
#include "site/keys.hpp"
#include "site/load.hpp"
#include "text/language.hpp"

namespace sunshaft::cli {
namespace {

using text::say, text::tr;

using nlohmann::json;

struct ActsOptions {
    SiteOptions site;
    bool json = false;
};

// Places of an act that share its hazards: "isolator" by itself, all fuses, all connectors.
struct Group {
    std::string first, all;
};
std::vector<Group> grouped(const site::ActRow& row, const site::Works& works) {
    std::vector<Group> groups;
    std::vector<std::vector<std::string>> cautions;
    for (const std::string& place : row.places(works)) {
        const auto own = bench::words(bench::needs(row.kind, place, &works));
        std::size_t n = 0;
        while (n < groups.size() && cautions[n] != own) ++n;
        if (n == groups.size()) groups.push_back({place, place}), cautions.push_back(own);
        else groups[n].all += " " + place;
    }
    return groups;
}

// Long lists of connectors are told by their ends.
std::string shortened(const std::string& places) {
    if (places.size() < 70) return places;
    return places.substr(0, places.find(' ', 30)) + " ... " + places.substr(places.rfind(' ') + 1);
}

int acts(const ActsOptions& o) {
    const site::Works works = site::set_up(load(o.site));
    json out = json::array();
    if (!o.json)
        fmt::print("{}\n",
                   tr("--do ACT@PLACE[@SECONDS]. What would hurt someone or destroy something is refused; --anyway "
                      "carries it out and\ncounts it as unsafe."));
    for (const site::ActRow& row : site::act_catalogue())
        for (const Group& g : grouped(row, works)) {
            const auto hazards = bench::needs(row.kind, g.first, &works);
            if (o.json) {
                out.push_back({{"act", row.kind},
                               {"what", tr(row.what)},
                               {"places", g.all},
                               {"cautions", bench::words(hazards)},
                               {"hazards", hazards_json(hazards)}});
                continue;
            }
            fmt::print("\n{:<10} {}\n", row.kind, tr(row.what));
            fmt::print("{:<10} {}\n", "", say("at: {}", shortened(g.all)));
            for (const bench::Hazard& h : hazards)
                if (h.kind != bench::Danger::authorised)
                    fmt::print("{:<10} {}\n", "", say("caution: {}", bench::words(h)));
        }
    if (o.json) fmt::print("{}\n", out.dump(2));
    else fmt::print("\n{}\n", bench::words(bench::Hazard{.kind = bench::Danger::authorised}));
    return 0;
}

}  // namespace

Run add_acts(CLI::App& app) {
    auto o = std::make_shared<ActsOptions>();
    o->site.scenario = "hill-orchard";
    app.add_option("scenario", o->site.scenario,
                   tr("whose places are listed: a scenario file, or the name of a shipped site"))
        ->type_name("SCENARIO")
        ->capture_default_str();
    add_repeated(app, "--set", o->site.set, "KEY=VALUE", tr("change a scenario key; may be repeated"));
    app.add_flag("--json", o->json, tr("print JSON"));
    app.footer("Example: sunshaft acts terrace-pwm");
    return [o] { return acts(*o); };
}

}  // namespace sunshaft::cli
