// sunshaft faults --blind: which field test sees which fault.
#include "cli/blind.hpp"

#include <fmt/format.h>

#include <algorithm>
#include <nlohmann/json.hpp>

#include "site/keys.hpp"
#include "text/figure.hpp"
#include "text/language.hpp"

namespace sunshaft::cli {

using text::say, text::tr;

Work work_of(const bench::FieldTest& test) {
    using enum bench::Station;
    if (test.station == dead || test.station == covered) return Work::dead;
    return test.station == lit || test.station == shorted ? Work::lit : Work::running;
}

namespace {

const char* work_word(Work w) { return w == Work::dead ? "dead" : w == Work::lit ? "modules live" : "running"; }
const char* work_title(Work w) {
    return w == Work::dead  ? tr("dead: stopped, isolated, link proved dead")
           : w == Work::lit ? tr("isolator open, modules live")
                            : tr("drive running, only what no dead test answers");
}

}  // namespace

bool gap_behind(std::size_t t) {
    const auto& tests = bench::field_tests();
    return t + 1 < tests.size() &&
           (work_of(tests[t]) != work_of(tests[t + 1]) || tests[t].electrical != tests[t + 1].electrical);
}

void tests_over_columns(std::size_t indent) {
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

void tests_in_words() {
    const auto& tests = bench::field_tests();
    for (std::size_t t = 0; t < tests.size(); ++t) {
        if (t == 0 || work_of(tests[t]) != work_of(tests[t - 1])) fmt::print("{}\n", work_title(work_of(tests[t])));
        fmt::print("  {:<10} {:<26} {}\n", tr(tests[t].short_), tr(tests[t].name), tr(tests[t].how));
    }
}

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

namespace {

using bench::Sight;
using nlohmann::json;

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
                         {"drive", work_of(t) == Work::running ? "running" : "off"},
                         {"state", work_word(work_of(t))},
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
    if (one) tests_over_columns(indent);
    else tests_in_words();
    const auto& tests = bench::field_tests();
    std::string group;
    for (const auto& row : rows) {
        if (!one && group != row.group) {
            fmt::print("\n{}\n", tr(group = row.group));
            tests_over_columns(indent);
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

}  // namespace

void print_blind(const std::vector<bench::Signature>& rows, const Scenario& scenario, const bench::BlindPlan& plan,
                 bool as_json, bool markdown) {
    if (as_json) blind_json(rows, scenario);
    else if (markdown) blind_markdown(rows, plan);
    else blind_text(rows, scenario, plan);
}

}  // namespace sunshaft::cli
