// Pump, well and rising main.
#include <algorithm>
#include <cmath>

#include "site/fault_groups.hpp"

namespace sunshaft::site {
namespace {

Places centrifugal_place(const Works& works) {
    return std::holds_alternative<water::Centrifugal>(works.water.pump) ? Places{"pump"} : Places{};
}
Places cavity_place(const Works& works) {
    return std::holds_alternative<water::ProgressiveCavity>(works.water.pump) ? Places{"pump"} : Places{};
}
Places well_place(const Works& works) { return pump_place(works).empty() ? Places{} : Places{"well"}; }

void wear(Works& w, double share) {
    if (auto* pump = std::get_if<water::Centrifugal>(&w.water.pump)) *pump = water::worn(*pump, share);
    if (auto* pump = std::get_if<water::ProgressiveCavity>(&w.water.pump)) *pump = water::worn(*pump, share);
}

constexpr double shut = 1e-4;       // of a valve: some litres an hour seep through
constexpr double stuck_shut = 1e8;  // K: some litres an hour seep through

}  // namespace

std::vector<FaultRow> water_faults() {
    return {
        {"worn-pump", "pump and water", "worn impellers or element", "of the head or grip lost", 0, 0.95, 0.3,
         pump_place, [](Works& w, const std::string&, double share) { wear(w, share); },
         "Sand or years have opened the clearances: part of the water runs back inside.",
         "Less water at the same speed and sun.",
         "Bucket-and-stopwatch test and the gauge at the wellhead against the pump's curve. Closed-valve head: "
         "centrifugal pump only, for seconds; never on a screw-type pump. Lift and rebuild.",
         screw_caution},
        {"sand", "pump and water", "sand in the pump: wear and drag", "of the head or grip lost", 0, 0.9, 0.3,
         pump_place,
         [](Works& w, const std::string&, double share) {
             wear(w, share);
             // N m, and kg/m3 (at the usual severity six times what a pump is said to bear); common practice, no
             // source
             w.shaft.dry_friction += 2.0 * share;
             w.water.sand += share;
         },
         "The well delivers sand, which wears the pump and brakes it.", "Less water, more current, grit in the tank.",
         "Let a bucket settle. Bucket-and-stopwatch test. Find why the well sands before lifting.", lift_caution},
        {"blocked-intake", "pump and water", "intake screen blocked", "of the intake blocked", 0, 0.995, 0.8,
         pump_place,
         [](Works& w, const std::string&, double share) {
             w.water.intake_loss += water::gate_valve_loss(std::max(1 - share, shut));
             w.water.suction_loss += water::gate_valve_loss(std::max(1 - share, shut));
         },
         "Slime, scale or leaves close the pump's own intake.", "Little water, low pressure at the wellhead, noise.",
         "Gauge at the wellhead while running: low pressure with little flow. Lift and clean.", lift_caution},
        {"outlet-throttled", "pump and water", "valve at the wellhead partly shut, or the rising main blocked above it",
         "of the way closed", 0, 1, 0.7, main_place,
         [](Works& w, const std::string&, double share) { w.water.valve_opening *= 1 - share; },
         "Something after the wellhead holds the water back.", "Little water, high pressure at the wellhead.",
         "Gauge at the wellhead: high pressure with little flow. Open valves, look for the blockage.", burst_caution},
        {"tank-valve-shut", "pump and water", "ball valve of the tank shut or stuck", "", 1, 1, 1, main_place,
         [](Works& w, const std::string&, double) { w.water.valve_opening = 0.0; },
         "The tank's own float valve has closed the rising main while the pump is on.", "Runs, no water, hot pump.",
         "Stop the pump. Look at the tank and its valve. Open it before the next start.", burst_caution},
        {"scaled-main", "pump and water", "rising main narrowed by scale", "of the diameter lost", 0, 0.9, 0.3,
         main_place,
         [](Works& w, const std::string&, double share) {
             w.water.main.diameter *= 1 - share;
             w.water.main.roughness = std::max(w.water.main.roughness, std::min(0.3e-3, 0.03 * w.water.main.diameter));
         },
         "Lime or iron has narrowed the pipe and made it rough.",
         "Less water year by year, high pressure at the wellhead while running.",
         "Gauge at the wellhead while running and stopped: the difference is friction. Lift and replace the pipe.",
         lift_caution},
        {"broken-coupling", "pump and water", "coupling or shaft broken: motor turns alone", "", 1, 1, 1, pump_place,
         [](Works& w, const std::string&, double) { w.water.pump = std::monostate{}; },
         "The motor no longer drives the pump.", "Runs lightly and fast, no water at all.",
         "Clamp: current far below normal on all three lines. Gauge: no pressure while running. Lift.",
         clamp_lift_caution},
        {"coupling-slips", "pump and water", "coupling slips", "of the speed lost", 0.0, 0.9, 0.3, pump_place,
         [](Works& w, const std::string&, double share) { w.shaft.coupling_slip = share; },
         "Worn splines or a loose clamp: the pump falls behind the motor and the difference turns into heat.",
         "Less water at a normal motor sound, filings in the water, a hot coupling.",
         "Bucket-and-stopwatch test, gauge while running, clamp: pressure and current both low at a normal speed. "
         "Lift.",
         clamp_lift_caution},
        {"check-valve-open", "pump and water", "check valve stuck open", "", 1, 1, 1, pump_place,
         [](Works& w, const std::string&, double) {
             w.water.check_valve = false;
             if (w.water.intake_loss >= stuck_shut) w.water.intake_loss -= stuck_shut;  // one or the other
         },
         "Water runs back through the pump when it stops and turns it backwards.",
         "Long wait for water after each start. The shaft turns back after a stop.",
         "Listen at the wellhead after a stop. Dip meter: the level rises as the pipe empties. Lift and replace "
         "the valve.",
         spin_caution},
        {"check-valve-shut", "pump and water", "check valve stuck shut", "", 1, 1, 1, pump_place,
         [](Works& w, const std::string&, double) {
             w.water.check_valve = true;
             if (w.water.intake_loss < stuck_shut) w.water.intake_loss += stuck_shut;
         },
         "The valve above the pump does not open.", "Runs, no water, no more pressure at the wellhead than at rest.",
         "Gauge at the wellhead: the same with the pump running as at rest. Stop the pump and lift.", screw_caution},
        {"low-well", "pump and water", "water table has fallen", "m lower than it was", 0, 100, 10, well_place,
         [](Works& w, const std::string&, double fall) {
             w.water.static_level += fall;
             if (w.water.static_level > w.guards.probe_depth) w.guards.probe_wet = false;
         },
         "The water at rest stands lower than when the pump was chosen.", "Less water, in the end dry-run stops.",
         "Dip meter in the bore, at rest and while pumping. Lower the pump or pump less.", dry_pump},
        {"encrusted-screen", "pump and water", "well screen encrusted", "times its draw-down", 1, 100, 6, well_place,
         [](Works& w, const std::string&, double times) {
             w.water.drawdown *= times;
             w.water.recovery_s *= times;
         },
         "The bore's own screen lets less water in: the level falls deep while pumping.",
         "Good water for some minutes, then less, then dry-run stops.",
         "Dip meter while pumping against the day the bore was tested. Redevelop the bore.", dry_pump},
        {"air-locked", "pump and water", "air in the pump", "of the head lost", 0, 0.95, 0.8, centrifugal_place,
         [](Works& w, const std::string&, double share) {
             auto& pump = std::get<water::Centrifugal>(w.water.pump);
             for (double* coefficient : {&pump.h0, &pump.h1, &pump.p0, &pump.p1, &pump.p2}) *coefficient *= 1 - share;
             w.water.air = std::max(w.water.air, share);
         },
         "Air or gas fills part of the stages: head and power both fall.",
         "Runs lightly with a gurgle, little or no water.",
         "Current and pressure both low. Stop, let it fill, start again. Set it deeper if it comes back.", air_caution},
        {"swollen-stator", "pump and water", "stator rubber swollen: hard to turn", "N m added at the start", 0, 100, 5,
         cavity_place,
         [](Works& w, const std::string&, double torque) {
             auto& pump = std::get<water::ProgressiveCavity>(w.water.pump);
             pump.breakaway += torque;
             pump.running += 0.4 * torque;
         },
         "Warm water or oil has swollen the rubber round the rotor.", "Fails to start or trips, worst after standing.",
         "Wires disconnected at the drive: equal winding ohms. Clamp at a start: high current. Lift and turn by "
         "hand.",
         lift_caution},
    };
}

}  // namespace sunshaft::site
