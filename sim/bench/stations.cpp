#include "bench/stations.hpp"

#include <fmt/format.h>

#include <algorithm>

#include "bench/places.hpp"
#include "text/language.hpp"

namespace sunshaft::bench {

using site::Works;

const std::vector<StationRow>& stations() {
    using enum Station;
    using text::id;
    static const std::vector<StationRow> rows = {
        {dead, "dead", id("isolated, link proved dead, pump wires off"), false, dead},
        {covered, "covered", id("isolated, pump wires off, array covered"), false, dead},
        {lit, "lit", id("isolator open, modules in the light"), false, lit},
        {shorted, "shorted", id("isolator open, a rated link across the array"), false, dead},
        {running, "running", id("the drive switched on"), true, running},
        {shut, "shut", id("running, the valve at the wellhead shut for seconds"), true, running, 5.0, "shut@valve"},
        {bled, "bled", id("isolator opened while running, 20 s later"), true, running, 20.0},
        {warm, "warm", id("after running: isolated, link proved dead, pump wires off"), true, bled, 25.0},
        // The soft start is over, an overload has not tripped it yet.
        {restarted, "restarted", id("isolator off, link waited for, on again, 8 s later"), true, restarted, 8.0,
         "restart@drive"},
        {other, "other", id("running on the second supply"), true, other, not_given, "changeover@second"},
        // All three, so that the pump turns the way it did.
        {rolled, "rolled", id("the three pump wires moved on by one terminal, running again"), true, rolled, not_given,
         "exchange@u-v"},
        {renewed, "renewed", id("new string fuses, running again"), true, renewed, not_given, "renew@s1"},
        // The tracker has found the other strings' best point.
        {one_covered, "one-covered", id("running, string 1 covered, 15 s later"), true, running, 15.0, "cover@s1"},
        // A float's delay is over, and a start after it.
        {lifted, "lifted", id("running, the tank's float lifted by hand, 8 s later"), true, running, 8.0, "lift@float"},
        {freed, "freed", id("the tank's float moved by hand until it hangs free, 25 s later"), true, running, 25.0,
         "free@float"},
    };
    return rows;
}

const StationRow& row_of(Station station) {
    const auto& rows = stations();
    return *std::find_if(rows.begin(), rows.end(), [&](const StationRow& r) { return r.station == station; });
}

std::vector<site::Act> acts_to(const Works& w, Station to) {
    using Acts = std::vector<site::Act>;
    const site::Act open{"open", "isolator", 0.0}, pull{"pull", "pump", 0.0};
    switch (to) {
        case Station::dead:
        case Station::lit: return array(w) ? Acts{open, pull} : Acts{pull};
        case Station::covered: return array(w) ? Acts{{"cover", "array", 0.0}} : Acts{};
        case Station::shorted: return array(w) ? Acts{{"short", "array", 0.0}} : Acts{};
        case Station::running: return {};
        case Station::shut: return {{"shut", "valve", 0.0}};
        case Station::bled:
            if (array(w)) return {open};
            return mains(w) ? Acts{} : Acts{{"stop", "drive", 0.0}};
        case Station::warm: return {pull};
        case Station::restarted: return mains(w) ? Acts{} : Acts{{"restart", "drive", 0.0}};
        case Station::other:
            if (!w.supply.second.breaker.open) return {{"changeover", "second", 0.0}};
            return {{"changeover", "second", 0.0}, {"close", "second", 0.0}};
        case Station::rolled: return {{"exchange", "u-v", 0.0}, {"exchange", "v-w", 0.0}};
        case Station::renewed: {
            Acts acts;
            for (std::size_t n = 1; n <= w.array.strings.size(); ++n)
                acts.push_back({"renew", fmt::format("s{}", n), 0.0});
            return acts;
        }
        case Station::one_covered: return w.array.strings.size() > 1 ? Acts{{"cover", "s1", 0.0}} : Acts{};
        case Station::lifted: return w.guards.full.fitted ? Acts{{"lift", "float", 0.0}} : Acts{};
        case Station::freed: return w.guards.full.fitted ? Acts{{"free", "float", 0.0}} : Acts{};
    }
    return {};
}

void lead_on(Bench& bench, Station to) {
    Edits edits = bench.edits();
    for (site::Act act : acts_to(bench.site()->works, to)) {
        act.time = bench.time();
        edits.acts.push_back(act);
    }
    bench.edit(edits);
    if (to == Station::warm) return;  // at once
    if (const double s = row_of(to).after_s; s == s && row_of(to).from == Station::running) bench.advance(s);
}

void wait_for_link(Bench& bench) {
    bench.state().x = {};
    if (!mains(bench.site()->works)) bench.state().control.phase = drive::Phase::off;
    bench.edit(bench.edits());
}

Bench at_station(const Scenario& scenario, Edits edits, Station station, double running_s) {
    const StationRow& row = row_of(station);
    if (!row.runs) {
        for (const site::Act& act : acts_to(site::set_up(scenario), Station::dead)) edits.acts.push_back(act);
        Bench bench(scenario, edits);
        wait_for_link(bench);
        if (row.from != station) lead_on(bench, station);
        return bench;
    }
    if (row.from == station && station != Station::restarted)
        for (const site::Act& act : acts_to(site::set_up(scenario), station)) edits.acts.push_back(act);
    Bench bench(scenario, edits);
    bench.advance(station == Station::restarted ? row.after_s : running_s);
    if (station == Station::warm) lead_on(bench, Station::bled);
    if (row.from != station) lead_on(bench, station);
    return bench;
}

}  // namespace sunshaft::bench
