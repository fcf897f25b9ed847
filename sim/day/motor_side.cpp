#include "day/motor_side.hpp"

#include <type_traits>
#include <variant>

#include "day/side.hpp"

namespace sunshaft::day {

std::unique_ptr<MotorSide> MotorSide::make(const Scenario& scenario, const site::Works& works, double open_V) {
    const std::shared_ptr<site::Site> site = site::compile_motor_side(scenario, works);
    site->source.open_V = site->source.stiff_V = open_V;  // the scale of what holds the shaft (plant/chain.hpp)
    const motor::BridgedTurns& turns = site->works.turns;
    const bool bridged = turns.on() && !site->phases.winding_open(turns.phase);
    return std::visit(
        [&](const auto& m) -> std::unique_ptr<MotorSide> {
            using Machine = std::decay_t<decltype(m)>;
            if (bridged) return sides::Make<motor::Bridged<Machine>>::side(site, {m, turns});
            return sides::Make<Machine>::side(site, m);
        },
        site->works.motor);
}

}  // namespace sunshaft::day
