#include "site/site.hpp"

#include <fmt/format.h>

#include <algorithm>
#include <cmath>
#include <stdexcept>

#include "site/cable.hpp"
#include "site/far_off.hpp"
#include "site/fault_groups.hpp"
#include "site/keys.hpp"
#include "site/memo.hpp"
#include "site/wiring.hpp"

namespace sunshaft::site {
namespace {

// Shut is not quite shut: a ten-thousandth, some litres an hour, keeps the flow's equation ordinary.
constexpr double least_opening = 1e-4;

// More than the pump can ever move.
double most_flow(const Hydraulics& h) {
    if (const auto* pump = std::get_if<water::Centrifugal>(&h.pump)) {
        // h0 + h1 Q + h2 Q^2 = 0
        const double root = std::sqrt(std::max(pump->h1 * pump->h1 - 4 * pump->h0 * pump->h2, 0.0));
        return 2.0 * (pump->h1 + root) / (-2 * pump->h2);
    }
    if (const auto* pump = std::get_if<water::ProgressiveCavity>(&h.pump))
        return 100.0 * pump->displacement;  // 6000 rpm
    return 1e-3;
}

// What lies between pump and tank.
void compile_main(Site& site) {
    const Hydraulics& water = site.works.water;
    water::RisingMain main = water.main;
    const double opening = water.valve_shut ? 0.0 : water.valve_opening;
    // The scenario's minor loss holds the open valve already.
    main.minor_loss += water::gate_valve_loss(std::max(opening, least_opening)) - water::gate_valve_loss(1.0);
    site.above_gauge = main;
    site.above_gauge.length = std::max(0.0, main.length - water.pump_depth);
    main.minor_loss += water.intake_loss;
    const double most = most_flow(water);
    static Memo<std::array<double, 7>, water::LossTable> tables(64);
    site.main_loss = *tables(
        {main.length, main.diameter, main.roughness, main.minor_loss, main.density, main.kinematic_viscosity, most},
        [&] { return water::LossTable(main, most); });
}

bool on_mains(const Works& works) { return works.supply.kind == Supply::Kind::mains; }
double leg_ohm(const Works& works) { return on_mains(works) ? works.supply.ohm : works.bridge.on_resistance; }

void become(Works& works, const Scenario& scenario, const Now& now) {
    works.guards.probe_wet = now.probe_wet;
    works.guards.float_up = now.float_up;
    works.guards.powered = now.powered;
    for (std::size_t k = 0; k < 3; ++k)
        if (now.splice_open[k]) works.phases[k].splice = {.ohm = works.phases[k].splice.ohm, .open = true};
    if (works.turns.on()) {
        constexpr double burnt_ohm = 20.0;  // of what is left where turns have burnt through (a guess, no source)
        Phase& phase = works.phases[static_cast<std::size_t>(works.turns.phase)];
        if (now.turns_earthed) in_parallel(phase.earth_leak_ohm, burnt_ohm);
        if (now.turns_parted) works.turns.parted = phase.winding.open = true;
    }
    // Copper, cage and magnets as warm as work has made them, on top of what a fault says.
    const double start = scenario.motor.winding_temperature_degC, warmer = now.winding_degC - start;
    const double ratio = at_temperature(1.0, now.winding_degC) / at_temperature(1.0, start);
    for (Phase& phase : works.phases) phase.winding.ohm *= ratio;
    std::visit([&](auto& m) { m.warm(ratio, warmer); }, works.motor);
}

}  // namespace

Works stand(const Scenario& scenario, const std::vector<Fault>& faults, const std::vector<Act>& acts, const Now* now) {
    Works works = set_up(scenario);
    for (const Fault& fault : faults) apply(works, fault);
    for (const Act& act : acts) apply(works, act);
    if (now) become(works, scenario, *now);
    return works;
}

std::shared_ptr<Site> compile_motor_side(const Scenario& scenario, Works works) {
    auto site = std::make_shared<Site>();
    site->scenario = scenario;
    site->works = std::move(works);
    circuit::Circuit wiring;
    if (!on_mains(site->works)) wire_bridge(site->works, wiring);
    wire_ac(site->works, wiring);
    site->phases = PhaseNetwork(wiring, leg_ohm(site->works));
    compile_main(*site);
    return site;
}

std::shared_ptr<const Site> compile_site(const Scenario& scenario, const std::vector<Fault>& faults,
                                         const std::vector<Act>& acts, const std::vector<MeterLoad>& loads,
                                         const Now* now) {
    auto site = std::make_shared<Site>();
    site->scenario = scenario;
    site->works = stand(scenario, faults, acts, now);
    site->faults = faults;
    site->acts = acts;
    site->works.loads = loads;

    const Works& works = site->works;
    wire_dc(works, site->wiring);
    if (!on_mains(works)) wire_bridge(works, site->wiring);
    wire_ac(works, site->wiring);
    wire_guards(works, site->wiring);
    wire_loads(works, site->wiring);
    try {
        SourceCurves curves(works);
        site->source = std::move(curves.source);
        site->charging = std::move(curves.charging);
    } catch (const std::runtime_error& e) {  // the network finds no solution
        throw BadInput(
            fmt::format("{}: {}{}", scenario.site.name, e.what(), far_off(scenario, {"array", "dc_run", "link"})));
    }
    site->phases = PhaseNetwork(site->wiring, leg_ohm(works));
    compile_main(*site);
    return site;
}

}  // namespace sunshaft::site
