// sunshaft tests: the field tests, those a site has something for, and one of them carried out.
#include <fmt/format.h>

#include <memory>
#include <nlohmann/json.hpp>

#include "bench/field_tests.hpp"
#include "cli/verb.hpp"
#include "meter/display.hpp"
#include "report/json.hpp"
#include "site/keys.hpp"
#include "site/load.hpp"
#include "text/figure.hpp"
#include "text/language.hpp"

namespace sunshaft::cli {
namespace {

using text::say, text::tr;

using bench::FieldTest;
using nlohmann::json;

json row(const FieldTest& t) {
    return {{"id", t.id},           {"name", tr(t.name)},
            {"how", tr(t.how)},     {"state", tr(bench::row_of(t.station).words)},
            {"minutes", t.minutes}, {"electrical", t.electrical}};
}

struct TestsOptions {
    SiteOptions site;
    bool json = false;
};

int list(const TestsOptions& o) {
    std::optional<site::Works> works;
    if (!o.site.scenario.empty()) works = site::set_up(load(o.site));
    json out = json::array();
    const char* state = "";
    for (const FieldTest& t : bench::field_tests()) {
        const auto looks = works ? t.observations(*works) : std::vector<bench::Observation>{};
        if (works && looks.empty()) continue;
        if (o.json) {
            out.push_back(row(t));
            if (!works) continue;
            for (const auto& look : looks) out.back()["observations"].push_back(look.id());
            continue;
        }
        if (const char* now = tr(bench::row_of(t.station).words); std::string(now) != state) {
            fmt::print("{}{}\n", *state ? "\n" : "", now);
            state = now;
        }
        fmt::print("  {:<22} {:>3.0f} min  {}\n", t.id, t.minutes, tr(t.how));
    }
    if (o.json) fmt::print("{}\n", out.dump(2));
    else
        fmt::print("\n{}\n{}\n",
                   tr("For trained and authorised people only. Your local code and licensed practice come first."),
                   tr("One of them carried out, with its cautions: sunshaft read hill-orchard --test winding-ohms"));
    return 0;
}

void print(const bench::Seen& s, const FieldTest& test) {
    if (s.gauge) {
        fmt::print("  {:<28} {:>12}  ({})\n", s.what.where(), s.gauge->shown(), s.gauge->how);
    } else if (!s.reading) {
        fmt::print("  {:<28} {:>12}\n", s.what.where(), tr("live: not to be read so"));
    } else {
        const meter::Reading& r = *s.reading;
        const auto ratio = test.of_link ? bench::compared(test, r) : std::nullopt;
        fmt::print("  {:<28} {:>12}  {}\n", s.what.where(), r.shown,
                   ratio             ? say("{} of the link", text::quantity(*ratio, ""))
                   : r.low && r.high ? say("could be {}", text::range(*r.low, *r.high, r.unit))
                                     : "");
    }
}

}  // namespace

int read_test(const BenchOptions& options, const std::string& id, double running_s, bool as_json) {
    const FieldTest* test = bench::find_test(id);
    if (!test) {
        std::vector<std::string_view> ids;
        for (const FieldTest& t : bench::field_tests()) ids.emplace_back(t.id);
        const auto near = site::nearest(id, ids);
        throw site::BadInput(say("--test: {}: no such test, expected one that `sunshaft tests` lists{}",
                                 site::on_one_line(id), near ? say(" (did you mean {}?)", *near) : ""));
    }
    bench::Conduct conduct(options.anyway);
    const bench::Bench given = make_bench(options, conduct, false);
    const Scenario& scenario = given.scenario();
    const auto looks = test->observations(site::set_up(scenario));
    if (looks.empty()) throw site::BadInput(say("--test: {}: there is nothing on this site to test so", id));
    const bench::Bench there = bench::at_station(scenario, {.faults = given.edits().faults, .acts = given.edits().acts},
                                                 test->station, running_s);
    const bench::Scene now = bench::scene(*there.site(), there.plant().look(there.state()));
    for (const auto& look : looks)
        if (look.gauge.empty()) conduct.before(now, look.probes, look.mode, &look.spec());
    const auto first = bench::joined(conduct.hazards(), bench::hazards(*test, there));
    const auto seen = bench::observe(there, looks);
    if (as_json) {
        json j = row(*test);
        for (const bench::Seen& s : seen) {
            json one = s.gauge     ? report::gauge_json(s.what.gauge, *s.gauge)
                       : s.reading ? report::reading_json(*s.reading)
                                   : json{{"reading", nullptr}};
            one["at"] = s.what.id();
            j["readings"].push_back(std::move(one));
        }
        j["cautions"] = bench::words(first);
        j["hazards"] = hazards_json(first);
        j["unsafe"] = unsafe_json(conduct);
        fmt::print("{}\n", j.dump(2));
        return 0;
    }
    print_cautions(first, stdout);
    fmt::print("\n{}\n  {}\n\n", say("{}, about {:.0f} min: {}", tr(test->name), test->minutes, tr(test->how)),
               tr(bench::row_of(test->station).words));
    for (const bench::Seen& s : seen) print(s, *test);
    print_unsafe(conduct, stdout);
    return 0;
}

Run add_tests(CLI::App& app) {
    auto o = std::make_shared<TestsOptions>();
    app.add_option("scenario", o->site.scenario,
                   tr("a scenario file, or the name of a shipped site; default: all tests"))
        ->type_name("SCENARIO");
    add_repeated(app, "--set", o->site.set, "KEY=VALUE", tr("change a scenario key; may be repeated"));
    app.add_flag("--json", o->json, tr("print a JSON array"));
    app.footer("Example: sunshaft tests stone-fold");
    return [o] { return list(*o); };
}

}  // namespace sunshaft::cli
