// sunshaft faults: the catalogue; the blind-spot maps of a site: blind.cpp, least_seen.cpp.
#include <fmt/format.h>

#include <algorithm>
#include <cmath>
#include <memory>
#include <nlohmann/json.hpp>

#include "cli/blind.hpp"
#include "cli/verb.hpp"
#include "site/keys.hpp"
#include "site/load.hpp"
#include "text/figure.hpp"
#include "text/language.hpp"

namespace sunshaft::cli {
namespace {

using nlohmann::json;
using text::say, text::tr;

struct FaultsOptions {
    std::string part, blind;
    bench::BlindPlan plan;
    SiteOptions site;
    std::string out;
    bool json = false, markdown = false, least = false;
};

// Where a fault can sit, in general words: from the shipped sites' own places.
std::string places_in_words(const site::FaultRow& row) {
    static const std::vector<std::pair<std::string, site::Works>> sites = [] {
        std::vector<std::pair<std::string, site::Works>> list;
        for (const char* name : {"hill-orchard", "stone-fold", "river-meadow"})
            list.emplace_back(name, site::set_up(site::load_scenario(site::find_scenario(name))));
        return list;
    }();
    for (const auto& [name, works] : sites) {
        const auto places = row.places(works);
        if (places.empty()) continue;
        if (places.size() <= 4) {
            std::string list = places[0];
            for (std::size_t n = 1; n < places.size(); ++n) list += ' ' + places[n];
            return list;
        }
        return fmt::format("{} {} ... {}", places[0], places[1], places.back());
    }
    return tr("only where such a part is fitted");
}

void print_whole(const site::FaultRow& f) {
    fmt::print("\n{}: {}\n  {}\n", f.kind, tr(f.title), tr(f.what));
    fmt::print("  {}\n", say("places: {}; severity: {}", places_in_words(f), site::severity_range(f)));
    fmt::print("  {}\n  {}\n  {}\n", say("the owner notices: {}", tr(f.owner_sees)),
               say("caution: {}", f.caution.said()), say("to do: {}", tr(f.to_do)));
}

// All of it, one kind or one group.
int catalogue(const FaultsOptions& o) {
    std::vector<const site::FaultRow*> rows;
    std::string groups;
    for (const auto& f : site::fault_catalogue()) {
        if (groups.find(tr(f.group)) == std::string::npos)
            groups += (groups.empty() ? "" : ", ") + std::string(tr(f.group));
        if (o.part.empty() || o.part == f.kind || o.part == f.group || o.part == tr(f.group)) rows.push_back(&f);
    }
    if (rows.empty()) {
        std::vector<std::string_view> kinds;
        for (const auto& f : site::fault_catalogue()) kinds.emplace_back(f.kind);
        const auto near = site::nearest(o.part, kinds);
        throw site::BadInput(say("sunshaft faults: {}: is neither a kind nor a group, expected one of {} or a kind{}",
                                 site::on_one_line(o.part), groups, near ? say(" (did you mean {}?)", *near) : ""));
    }
    if (o.json) {
        json out = json::array();
        for (const auto* f : rows)
            out.push_back({{"kind", f->kind},
                           {"group", f->group},
                           {"title", tr(f->title)},
                           {"unit", tr(f->unit)},
                           {"si_unit", site::severity_unit(*f)},
                           {"severity", site::severity_range(*f)},
                           {"least", number(f->least)},
                           {"most", number(f->most)},
                           {"usual", number(f->usual)},
                           {"places", places_in_words(*f)},
                           {"what", tr(f->what)},
                           {"owner_sees", tr(f->owner_sees)},
                           {"to_do", tr(f->to_do)},
                           {"caution", f->caution.said()}});
        fmt::print("{}\n", out.dump(2));
        return 0;
    }
    if (o.markdown) {
        fmt::print("{}\n|---|---|---|---|---|---|---|\n",
                   tr("| fault | what it is | places | severity | the owner notices | caution, first | to do |"));
        for (const auto* f : rows)
            fmt::print("| `{}` | **{}.** {} | {} | {} | {} | {} | {} |\n", f->kind, tr(f->title), tr(f->what),
                       places_in_words(*f), site::severity_range(*f), tr(f->owner_sees), f->caution.said(),
                       tr(f->to_do));
        return 0;
    }
    std::string group;
    for (const auto* f : rows) {
        if (group != f->group) fmt::print("{}{}\n", group.empty() ? "" : "\n", tr(group = f->group));
        if (!o.part.empty()) print_whole(*f);
        else fmt::print("  {:<28} {}\n", f->kind, tr(f->title));
    }
    if (o.part.empty())
        fmt::print("\n{}\n{}\n",
                   tr("More of one kind or one group, with its caution: sunshaft faults lost-phase, sunshaft faults "
                      "\"pump and "
                      "water\""),
                   tr("Which field test sees which of them on a site, computed: sunshaft faults --blind hill-orchard"));
    return 0;
}

int run(const FaultsOptions& o) {
    if (o.json && o.markdown) throw site::BadInput(text::tr("--json, --markdown: expected one of them"));
    const bool planned = !o.plan.kind.empty() || o.plan.running_s != bench::BlindPlan{}.running_s;
    if (o.blind.empty() && (planned || o.least))
        throw site::BadInput(text::tr("--kind, --for, --least: expected --blind SITE with them"));
    if (!o.out.empty() && !o.least) throw site::BadInput(text::tr("--out: expected --least with it"));
    if (o.least && o.markdown) throw site::BadInput(text::tr("--least, --markdown: expected one of them"));
    if (!o.part.empty() && !o.blind.empty())
        throw site::BadInput(text::tr("KIND, --blind: expected one of them (with --blind: --kind KIND)"));
    if (o.blind.empty()) return catalogue(o);
    if (!o.plan.kind.empty() && !site::find_fault(o.plan.kind))
        throw site::BadInput(text::say("--kind: {}: expected a kind of `sunshaft faults`", o.plan.kind));
    SiteOptions site = o.site;
    site.scenario = o.blind;
    const Scenario scenario = load(site);
    if (o.least) return least_seen(scenario, o.plan.kind, o.json, o.out);
    std::vector<bench::Signature> rows;
    {
        Progress progress(tr("planting faults"));
        rows = bench::blind_map(scenario, o.plan, [&](double f) { return progress(f); });
    }
    if (rows.empty()) throw site::BadInput(text::say("--kind: {}: has no place on {}", o.plan.kind, scenario.file));
    print_blind(rows, scenario, o.plan, o.json, o.markdown);
    return 0;
}

}  // namespace

Run add_faults(CLI::App& app) {
    auto o = std::make_shared<FaultsOptions>();
    app.add_option("part", o->part, tr("only this kind, or this group, and all about it"))->type_name("KIND|GROUP");
    app.add_option("--blind", o->blind, tr("compute which field test sees which fault on this site"))
        ->type_name("SITE");
    app.add_option("--kind", o->plan.kind, tr("with --blind: this fault only, in every place and at five severities"))
        ->type_name("KIND");
    app.add_flag("--least", o->least,
                 tr("with --blind: from how much of each fault on each test sees it; --kind: in every place"));
    app.add_option("--out", o->out, tr("with --least: a picture of it beside, .svg or .pdf"))->type_name("FILE");
    app.add_option("--for", o->plan.running_s,
                   tr("with --blind: seconds the site has run when the live tests are done"))
        ->capture_default_str()
        ->check(within(1.0, 3600.0));
    add_repeated(app, "--set", o->site.set, "KEY=VALUE", tr("with --blind: change a scenario key; may be repeated"));
    app.add_flag("--json", o->json, tr("print JSON"));
    app.add_flag("--markdown", o->markdown, tr("print a table for a manual"));
    app.footer(
        std::string(tr("A severity is a plain number in the unit that stands first: =1200 is 1.2 kohm, =8e-6 is "
                       "8 us.")) +
        "\nExample: sunshaft faults lost-phase\n         sunshaft faults \"cable and splice\"\n         sunshaft "
        "faults --blind hill-orchard\n         sunshaft faults --blind hill-orchard --least --kind "
        "wet-splice-to-earth");
    return [o] { return run(*o); };
}

}  // namespace sunshaft::cli
