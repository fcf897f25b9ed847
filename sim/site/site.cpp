#include "site/site.hpp"

#include <algorithm>
#include <cmath>
#include <limits>
#include <numbers>

#include "site/wiring.hpp"

namespace sunshaft::site {
namespace {

// K of a gate valve over its opening: 0.17 open, 0.9 at three quarters, 4.5 at a half, 24 at a quarter (R. H. Perry,
// D. W. Green, "Perry's Chemical Engineers' Handbook", 7th ed. 1997, table 6-4), geometric between, 1/opening^2 below.
// Shut is 1e-4, a leak of some litres an hour. The scenario's minor loss holds the open valve already.
double valve_loss(double opening) {
    constexpr std::array<double, 4> at = {0.25, 0.5, 0.75, 1.0}, K = {24.0, 4.5, 0.9, 0.17};
    opening = std::clamp(opening, 1e-4, 1.0);
    if (opening <= at[0]) return K[0] * (at[0] / opening) * (at[0] / opening) - K[3];
    std::size_t n = 0;
    while (n < 2 && opening > at[n + 1]) ++n;
    const double x = (opening - at[n]) / (at[n + 1] - at[n]);
    return K[n] * std::pow(K[n + 1] / K[n], x) - K[3];
}

// More than the pump can ever move.
double most_flow(const Hydraulics& h) {
    if (const auto* pump = std::get_if<water::Centrifugal>(&h.pump)) {
        // h0 + h1 Q + h2 Q^2 = 0
        const double root = std::sqrt(std::max(pump->h1 * pump->h1 - 4 * pump->h0 * pump->h2, 0.0));
        return 2.0 * (pump->h1 + root) / (-2 * pump->h2);
    }
    if (const auto* pump = std::get_if<water::ProgressiveCavity>(&h.pump)) return 100.0 * pump->displacement;  // 6000 rpm
    return 1e-3;
}

}  // namespace

std::shared_ptr<const Site> compile_site(const Scenario& scenario, const std::vector<Fault>& faults,
                                         const std::vector<Act>& acts) {
    auto site = std::make_shared<Site>();
    site->scenario = scenario;
    site->works = set_up(scenario);
    for (const Fault& fault : faults) apply(site->works, fault);
    for (const Act& act : acts) apply(site->works, act);
    site->faults = faults;
    site->acts = acts;

    const Works& works = site->works;
    const bool mains = works.supply.kind == Supply::Kind::mains;
    wire_dc(works, site->wiring);
    if (!mains) wire_bridge(works, site->wiring);
    wire_ac(works, site->wiring);
    site->source = source_curve(works);
    site->phases = PhaseNetwork(site->wiring, mains ? works.supply.ohm : works.bridge.on_resistance);
    water::RisingMain main = works.water.main;
    main.minor_loss += valve_loss(works.water.valve_opening);
    site->main_loss = water::LossTable(main, most_flow(works.water));
    return site;
}

}  // namespace sunshaft::site
