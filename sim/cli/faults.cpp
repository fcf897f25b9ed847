// sunshaft faults: the catalogue, and the blind-spot map of a site.
#include <fmt/format.h>

#include <algorithm>
#include <cmath>
#include <memory>
#include <nlohmann/json.hpp>

#include "bench/blind.hpp"
#include "cli/verb.hpp"
#include "site/keys.hpp"
#include "site/load.hpp"
#include "text/figure.hpp"
#include "text/language.hpp"

namespace sunshaft::cli {
namespace {

using text::say, text::tr;

using bench::Sight;
using nlohmann::json;

struct FaultsOptions {
    std::string part, blind;
    bench::BlindPlan plan;
    SiteOptions site;
    bool json = false, markdown = false;
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
    fmt::print("  {}\n  {}\n  {}\n", say("the owner notices: {}", tr(f.owner_sees)), say("caution: {}", tr(f.caution)),
               say("to do: {}", tr(f.to_do)));
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
                           {"caution", tr(f->caution)}});
        fmt::print("{}\n", out.dump(2));
        return 0;
    }
    if (o.markdown) {
        fmt::print("{}\n|---|---|---|---|---|---|---|\n",
                   tr("| fault | what it is | places | severity | the owner notices | caution, first | to do |"));
        for (const auto* f : rows)
            fmt::print("| `{}` | **{}.** {} | {} | {} | {} | {} | {} |\n", f->kind, tr(f->title), tr(f->what),
                       places_in_words(*f), site::severity_range(*f), tr(f->owner_sees), tr(f->caution), tr(f->to_do));
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

// The three kinds of work a station belongs to.
enum class When { dead, lit, running };
When when(const bench::FieldTest& test) {
    using enum bench::Station;
    if (test.station == dead || test.station == covered) return When::dead;
    return test.station == lit || test.station == shorted ? When::lit : When::running;
}
const char* when_word(When w) { return w == When::dead ? "dead" : w == When::lit ? "modules live" : "running"; }
const char* when_title(When w) {
    return w == When::dead  ? tr("dead: stopped, isolated, link proved dead")
           : w == When::lit ? tr("isolator open, modules live")
                            : tr("drive running, only what no dead test answers");
}
bool gap_behind(std::size_t t) {
    const auto& tests = bench::field_tests();
    return t + 1 < tests.size() &&
           (when(tests[t]) != when(tests[t + 1]) || tests[t].electrical != tests[t + 1].electrical);
}

const char* word(Sight s) { return s == Sight::seen ? "seen" : s == Sight::weak ? "weak" : "blind"; }

// A row's name among the others: its kind, or where one kind was asked for what makes it differ from its like.
std::string name(const bench::Signature& row, const bench::BlindPlan& plan) {
    if (plan.kind.empty()) return row.fault.kind;
    const site::FaultRow& f = *site::find_fault(row.fault.kind);
    return f.least == f.most
               ? row.fault.place
               : fmt::format("{}, {}", row.fault.place, text::quantity(row.fault.severity, site::severity_unit(f), 3));
}

std::string names(const std::vector<bench::Signature>& rows, const std::vector<std::size_t>& which,
                  const bench::BlindPlan& plan) {
    std::string list;
    for (const std::size_t n : which) list += (list.empty() ? "" : ", ") + name(rows[n], plan);
    return list;
}

void blind_json(const std::vector<bench::Signature>& rows, const Scenario& scenario) {
    json tests = json::array(), faults = json::array();
    for (const auto& t : bench::field_tests())
        tests.push_back({{"name", t.name},
                         {"how", t.how},
                         {"drive", when(t) == When::running ? "running" : "off"},
                         {"state", when_word(when(t))},
                         {"electrical", t.electrical}});
    for (const auto& row : rows) {
        json sight, parted = json::array();
        for (std::size_t t = 0; t < row.sight.size(); ++t) sight[bench::field_tests()[t].name] = word(row.sight[t]);
        for (const auto& p : row.parted)
            parted.push_back({{"kind", rows[p.other].fault.kind}, {"by", bench::field_tests()[p.test].name}});
        json alike = json::array();
        for (const std::size_t n : row.alike) alike.push_back(rows[n].fault.kind);
        faults.push_back({{"kind", row.fault.kind},
                          {"place", row.fault.place},
                          {"severity", number(row.fault.severity)},
                          {"group", row.group},
                          {"tests", sight},
                          {"cannot_be_told_from", alike},
                          {"told_apart_only_by", parted}});
    }
    fmt::print("{}\n", json{{"site", scenario.site.name}, {"tests", tests}, {"faults", faults}}.dump(2));
}

void blind_markdown(const std::vector<bench::Signature>& rows, const bench::BlindPlan& plan) {
    fmt::print("| fault | place |");
    for (const auto& t : bench::field_tests()) fmt::print(" {} |", t.name);
    fmt::print(" cannot be told from |\n|---|---|");
    for (std::size_t t = 0; t <= bench::field_tests().size(); ++t) fmt::print("---|");
    fmt::print("\n");
    for (const auto& row : rows) {
        fmt::print("| `{}` | {} |", row.fault.kind, plan.kind.empty() ? row.fault.place : name(row, plan));
        for (const Sight s : row.sight)
            fmt::print(" {} |", s == Sight::blind ? "" : s == Sight::seen ? "**seen**" : "weak");
        fmt::print(" {} |\n", names(rows, row.alike, plan));
    }
}

// The short names of the tests, written downwards over their columns.
void heading(std::size_t indent) {
    const auto& tests = bench::field_tests();
    std::size_t high = 0;
    for (const auto& t : tests) high = std::max(high, std::string_view(t.short_).size());
    for (std::size_t line = 0; line < high; ++line) {
        std::string text(indent, ' ');
        for (std::size_t t = 0; t < tests.size(); ++t) {
            const std::string_view name = tests[t].short_;
            const std::size_t above = high - name.size();
            text += {line < above ? ' ' : name[line - above], ' '};
            if (gap_behind(t)) text += "  ";
        }
        fmt::print("{}\n", text.substr(0, text.find_last_not_of(' ') + 1));
    }
}

void legend() {
    const auto& tests = bench::field_tests();
    for (std::size_t t = 0; t < tests.size(); ++t) {
        if (t == 0 || when(tests[t]) != when(tests[t - 1])) fmt::print("{}\n", when_title(when(tests[t])));
        fmt::print("  {:<10} {:<26} {}\n", tr(tests[t].short_), tr(tests[t].name), tr(tests[t].how));
    }
}

// What the tests want before them, dead ones and live ones.
void blind_cautions(const Scenario& scenario) {
    const site::Works works = site::set_up(scenario);
    site::Works dead = works;
    dead.array.plus.contact.open = dead.array.minus.contact.open = true;
    for (site::Phase& phase : dead.phases) phase.terminal.open = true;
    print_cautions(bench::joined(bench::needs(bench::scene(dead), {"lead.u", "lead.v", ""}, meter::Mode::ohm),
                                 bench::needs(bench::scene(works), {"drive.u", "drive.v", ""}, meter::Mode::acv)),
                   stdout);
    fmt::print("\n");
}

void blind_text(const std::vector<bench::Signature>& rows, const Scenario& scenario, const bench::BlindPlan& plan) {
    constexpr std::size_t indent = 42;
    const bool one = !plan.kind.empty();
    blind_cautions(scenario);
    fmt::print("{}\n", one ? say("{}: which field test sees {}", scenario.site.name, plan.kind)
                           : say("{}: which field test sees which fault", scenario.site.name));
    const std::string ran = text::quantity(plan.running_s, "s");
    fmt::print("  {}    {}\n\n", tr("# seen    + weak    . blind"),
               one ? say("computed at five severities in every place, against the bands of the meters used; running: "
                         "for {}",
                         ran)
                   : say("computed at the usual severity, against the bands of the meters used; running: for {}", ran));
    if (one) heading(indent);
    else legend();
    const auto& tests = bench::field_tests();
    std::string group;
    for (const auto& row : rows) {
        if (!one && group != row.group) {
            fmt::print("\n{}\n", tr(group = row.group));
            heading(indent);
        }
        std::string line = one ? "  " + name(row, plan) : fmt::format("  {} @{}", row.fault.kind, row.fault.place);
        line.resize(std::max<std::size_t>(line.size() + 1, indent), ' ');
        for (std::size_t t = 0; t < row.sight.size(); ++t) {
            line += row.sight[t] == Sight::seen ? "# " : row.sight[t] == Sight::weak ? "+ " : ". ";
            if (gap_behind(t)) line += "  ";
        }
        fmt::print("{}\n", line);
    }
    std::vector<std::size_t> none;
    for (std::size_t n = 0; n < rows.size(); ++n)
        if (std::all_of(rows[n].sight.begin(), rows[n].sight.end(), [](Sight s) { return s == Sight::blind; }))
            none.push_back(n);
    if (!none.empty())
        fmt::print("\n{}\n", say("No test sees: {}. Only looking, settings or another weather find these.",
                                 names(rows, none, plan)));
    std::string apart, parted;
    std::vector<bool> told(rows.size(), false);
    for (std::size_t n = 0; n < rows.size(); ++n) {
        for (const auto& p : rows[n].parted)
            if (p.other > n)
                parted +=
                    "  " +
                    say("{} from {}: by {}", name(rows[n], plan), name(rows[p.other], plan), tr(tests[p.test].name)) +
                    "\n";
        if (told[n] || rows[n].alike.empty() || std::find(none.begin(), none.end(), n) != none.end()) continue;
        apart += fmt::format("  {}: {}\n", name(rows[n], plan), names(rows, rows[n].alike, plan));
        for (const std::size_t k : rows[n].alike) told[k] = true;
    }
    if (!apart.empty()) fmt::print("\n{}\n{}", tr("These tests cannot tell apart"), apart);
    if (!parted.empty()) fmt::print("\n{}\n{}", tr("Told apart without a meter only"), parted);
}

int run(const FaultsOptions& o) {
    if (o.json && o.markdown) throw site::BadInput(text::tr("--json, --markdown: expected one of them"));
    const bool planned = !o.plan.kind.empty() || o.plan.running_s != bench::BlindPlan{}.running_s;
    if (o.blind.empty() && planned) throw site::BadInput(text::tr("--kind, --for: expected --blind SITE with them"));
    if (!o.part.empty() && !o.blind.empty())
        throw site::BadInput(text::tr("KIND, --blind: expected one of them (with --blind: --kind KIND)"));
    if (o.blind.empty()) return catalogue(o);
    if (!o.plan.kind.empty() && !site::find_fault(o.plan.kind))
        throw site::BadInput(text::say("--kind: {}: expected a kind of `sunshaft faults`", o.plan.kind));
    SiteOptions site = o.site;
    site.scenario = o.blind;
    const Scenario scenario = load(site);
    std::vector<bench::Signature> rows;
    {
        Progress progress(tr("planting faults"));
        rows = bench::blind_map(scenario, o.plan, [&](double f) { return progress(f); });
    }
    if (rows.empty()) throw site::BadInput(text::say("--kind: {}: has no place on {}", o.plan.kind, scenario.file));
    if (o.json) blind_json(rows, scenario);
    else if (o.markdown) blind_markdown(rows, o.plan);
    else blind_text(rows, scenario, o.plan);
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
        "faults --blind hill-orchard");
    return [o] { return run(*o); };
}

}  // namespace sunshaft::cli
