// An edit recompiles what it touched: whatever was compiled before, a site is bit for bit the one compiled from
// nothing.
#include <cstring>

#include "catch_shim.hpp"
#include "site/faults.hpp"
#include "site/keys.hpp"
#include "site/load.hpp"
#include "site/site.hpp"

using namespace sunshaft;
using namespace sunshaft::site;

namespace {

bool same_bits(double a, double b) { return std::memcmp(&a, &b, sizeof a) == 0; }
bool same_bits(const std::vector<double>& a, const std::vector<double>& b) {
    return a.size() == b.size() && std::memcmp(a.data(), b.data(), a.size() * sizeof(double)) == 0;
}

// All that anybody can ask of a curve, at voltages on both sides of what the table covers.
void check_same(const SourceCurve& kept, const SourceCurve& whole, const circuit::Circuit& wiring) {
    CHECK(kept.stiff == whole.stiff);
    CHECK(same_bits(kept.open_V, whole.open_V));
    CHECK(same_bits(kept.max_power_W, whole.max_power_W));
    CHECK(same_bits(kept.grid(), whole.grid()));
    CHECK(same_bits(kept.currents(), whole.currents()));
    bool same = true;
    for (double w = -20.0; w < 600.0; w += 3.7)
        same = same && same_bits(kept.net(w).i, whole.net(w).i) && same_bits(kept.net(w).slope, whole.net(w).slope) &&
               same_bits(kept.run_loss_at(w), whole.run_loss_at(w)) &&
               same_bits(kept.source_current_at(w, 1.0), whole.source_current_at(w, 1.0));
    CHECK(same);
    for (circuit::Node n = 0; n < wiring.nodes(); ++n) {
        const int column = kept.column(wiring.name(n));
        REQUIRE(column == whole.column(wiring.name(n)));
        if (column < 0) continue;
        same = same && kept.island(column) == whole.island(column);
        for (const double v : {0.0, 61.3, 240.0})
            same = same && same_bits(kept.node_voltage(column, v), whole.node_voltage(column, v));
    }
    CHECK(same);
}

}  // namespace

TEST_CASE("a site compiled after others is the one compiled from nothing, over the whole catalogue") {
    for (const char* name : {"stone-fold", "river-meadow", "hill-orchard", "terrace-pwm", "bench-rig"}) {
        const Scenario scenario = load_scenario(find_scenario(name));
        const Works healthy = set_up(scenario);
        const auto compare = [&](const std::vector<Fault>& faults, const std::vector<MeterLoad>& loads,
                                 const Now* now) {
            const auto site = compile_site(scenario, faults, {}, loads, now);
            const SourceCurve whole = source_curve(site->works);
            check_same(site->source, whole, site->wiring);
            check_same(site->charging, charging_curve(whole, site->works), site->wiring);
        };
        const bool array = healthy.supply.kind == Supply::Kind::array;
        Now now;
        now.powered = true;
        std::size_t count = 0;
        for (const FaultRow& row : fault_catalogue()) {
            const auto places = row.places(healthy);
            if (places.empty()) continue;
            // each place on one site, in turn on the others
            const std::string& place = places[count++ % places.size()];
            INFO(name << ": " << row.kind << "@" << place);
            compare({{row.kind, place, row.usual, 0.0}}, {}, count % 2 ? &now : nullptr);
        }
        INFO(name << ": health, and a meter on it");
        compare({}, {}, nullptr);
        if (!array) continue;
        compare({}, {{"s1+", "frame", 1e7}}, &now);
        compare({}, {{"lead.u", "lead.v", 1e7}}, &now);
        if (healthy.guards.dry.fitted) compare({}, {{"dry.1", "dry.2", 1e7}}, &now);
        if (healthy.guards.dry.fitted) compare({}, {{"dry.1", "dc+", 1e7}}, &now);
        compare({}, {}, nullptr);
    }
}
