// Every figure of every reason has a source: of all meters in all their modes, on all sites, healthy and not.
#include "../meter/figures.hpp"
#include "bench/observe.hpp"
#include "site/faults.hpp"
#include "site/points.hpp"
#include "site/shipped.hpp"
#include "support.hpp"

using namespace sunshaft;

namespace {

struct Way {
    std::vector<const char*> faults, acts;  // by kind, each at its first place
};

// What of it this site has; none: nothing.
std::optional<bench::Edits> edits_of(const Way& way, const Scenario& scenario) {
    const site::Works works = site::set_up(scenario);
    bench::Edits edits;
    for (const char* kind : way.faults) {
        const site::FaultRow* row = site::find_fault(kind);
        REQUIRE(row);
        const auto places = row->places(works);
        if (places.empty()) return {};
        edits.faults.push_back({kind, places.front(), row->usual, 0.0});
    }
    for (const char* kind : way.acts) {
        const site::ActRow* row = site::find_act(kind);
        REQUIRE(row);
        const auto places = row->places(works);
        if (places.empty()) return {};
        edits.acts.push_back({kind, places.front(), 0.0});
    }
    return edits;
}

// Where leads and clamp are put, as far as the site has it; of a site in health at more places.
std::vector<bench::Probes> places_of(const bench::Bench& b, bool many) {
    const auto points = site::points(b.site()->works);
    const auto there = [&](const std::string& name, bool clamp) {
        return name.empty() ||
               std::ranges::any_of(points, [&](const auto& p) { return p.clamp == clamp && p.name == name; });
    };
    std::vector<bench::Probes> out;
    std::vector<bench::Probes> wanted{{"drive.u", "drive.v", ""}, {"dc+", "earth", ""}, {"", "", "u"}};
    if (many)
        wanted.insert(wanted.end(), {{"drive.w", "link-", ""},
                                     {"motor.u", "motor.v", ""},
                                     {"s1+", "s1.m1-", ""},
                                     {"", "", "uvw"},
                                     {"", "", "dc+"}});
    for (const bench::Probes& p : wanted)
        if (there(p.red, false) && there(p.black, false) && there(p.around, true)) out.push_back(p);
    return out;
}

std::size_t walk(const std::string& file, const Way& way) {
    const Scenario scenario = site::load_scenario(file);
    const auto edits = edits_of(way, scenario);
    if (!edits) return 0;
    bench::Bench b(scenario, *edits);
    b.settle();
    std::vector<bench::Observation> looks;
    for (const bench::Probes& probes : places_of(b, way.faults.empty() && way.acts.empty()))
        for (const meter::Spec& m : meter::load_specs(meter::shipped_meters()))
            for (const auto& [mode, fn] : m.functions)
                if (meter::takes_clamp(mode) != probes.around.empty())
                    looks.push_back({probes, mode, {}, std::make_shared<meter::Spec>(m)});
    std::size_t figures = 0;
    for (const bench::Seen& seen : bench::observe(b, looks, 0.04)) {  // two turns: a meter's filters cost by the edge
        if (!seen.reading) continue;
        const meter::Reading& r = *seen.reading;
        INFO(scenario.file << " " << seen.what.id() << ", " << seen.what.spec().name << ", "
                           << meter::mode_name(seen.what.mode));
        test::figures::check_named(r, {seen.what.probes.red, seen.what.probes.black});
        figures += static_cast<std::size_t>(std::ranges::count_if(r.named, [](const auto& n) { return !n.warning; }));
    }
    return figures;
}

}  // namespace

TEST_CASE("no figure of any reason is without a source, whatever the meter, its mode, the site and its faults") {
    const std::vector<Way> ways{{{}, {}},
                                {{}, {"stop"}},
                                {{}, {"stop", "open", "pull"}},
                                {{"meter-battery-flat", "bad-lead", "lost-phase"}, {}},
                                {{"wrong-range"}, {}},
                                // what the bench says of the hand that holds the meter
                                {{"leads-in-current-jack"}, {}},
                                {{"leads-in-current-jack"}, {"stop", "open"}}};
    for (const std::string& file : site::shipped_sites()) {
        std::size_t figures = 0;
        for (const Way& way : ways) figures += walk(file, way);
        INFO(file << ": " << figures);
        CHECK(figures > 500);
    }
}

TEST_CASE("what a display and a clamp watched over time say has sources, too") {
    bench::Bench b = test::at("hill-orchard");
    for (const meter::Spec& m : meter::load_specs(meter::shipped_meters()))
        for (const auto& [mode, fn] : m.functions) {
            if (meter::drives_circuit(mode) || meter::times_crossings(mode)) continue;
            const bool clamp = meter::takes_clamp(mode);
            const bench::Observation what{clamp ? bench::Probes{"", "", "u"} : bench::Probes{"drive.u", "drive.v", ""},
                                          mode,
                                          {},
                                          std::make_shared<meter::Spec>(m)};
            INFO(m.name << " " << meter::mode_name(mode));
            test::figures::check_named(bench::watch(b, what, 2.0).reading);
            if (clamp) test::figures::check_named(bench::surge(b, what, 2.0).reading);
        }
}
