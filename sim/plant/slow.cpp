#include "plant/slow.hpp"

#include <algorithm>
#include <cmath>

namespace sunshaft::plant {
namespace {

constexpr double burn_degC = 90.0, burn_K = 20.0;  // damage begins; scale
// A pump 0.1 m across and 0.6 m long: steel, and three litres of water. Into still water of 20 degC a wall at 40 gives
// 680 W/m2 K (Churchill and Chu 1975, vertical plate, water's properties at 30 degC); in its stream it is more. What
// resists is the bowls: 3 mm of plastic, 0.22 W/m K (plastics 0.15 to 0.25; no source for either). Over 0.19 m2
// 12 W/K. Bowls of steel would let a hundred through.
constexpr double pump_J_per_K = 20e3, wall_W_per_K = 12.0;
constexpr double water_J_per_kg_K = 4186.0;
constexpr double most_damage = 0.9;
// kg of sand for each m3/s of best flow that take a tenth of a pump's head: 50 mg/L at best flow for 5000 h (common
// practice, no source: makers allow 25 to 50 mg/L for a usual life)
constexpr double sand_kg_per_m3s = 0.05 * 5000 * 3600;

// What else hangs on a pair of guard terminals.
double meter_on(const site::Works& w, const char* one, const char* two) {
    double siemens = 0.0;
    for (const site::MeterLoad& load : w.loads)
        if ((load.red == one && load.black == two) || (load.red == two && load.black == one)) siemens += 1 / load.ohm;
    return siemens > 0.0 ? 1 / siemens : site::open_circuit;
}

double terminal_V(const site::Guard& guard, double sensor_ohm, double meter_ohm) {
    const double circuit = site::Guards::circuit_ohm(guard, sensor_ohm);
    const double siemens = 1 / circuit + 1 / meter_ohm;
    return site::Guards::terminal_V(siemens > 0.0 ? 1 / siemens : site::open_circuit);
}

// Exact for a loss that holds over dt; any dt.
void warm(double& degC, const site::Thermal& body, double joule, double dt) {
    const double rest = body.round_degC + joule / dt * body.K_per_W;
    degC += (degC - rest) * std::expm1(-dt / (body.K_per_W * body.J_per_K));
}

// The loop of bridged turns, which ends as an earth fault or an open winding.
void warm_turns(const site::Works& w, Slow& n, const Energies& booked, double dt) {
    constexpr double copper_share = 0.25, loses_s = 30.0, presses_degC = 320.0, burns_s = 20.0, melts_degC = 1085.0;
    if (!w.turns.on()) {
        n.turns_K = 0.0;
        if (w.turns.share == 0.0) n.turns_burn = 0.0, n.turns_parted = false;  // another motor
        return;
    }
    const double J_per_K = copper_share / 3 * w.turns.share * w.motor_heat.J_per_K;
    n.turns_K = (n.turns_K + booked[in_turns] / J_per_K) / (1.0 + dt / loses_s);
    const double degC = n.winding_degC + n.turns_K;
    n.turns_burn = std::min(1.0, n.turns_burn + std::max(0.0, degC - presses_degC) / 100.0 * dt / burns_s);
    n.turns_parted = n.turns_parted || degC > melts_degC;
}

void warm_splices(const site::Works& w, Slow& n, const Energies& booked, double dt) {
    for (std::size_t k = 0; k < 3; ++k) {
        const site::Joint& joint = w.phases[k].splice;
        warm(n.splice_degC[k], w.splice_heat, joint.open ? 0.0 : joint.ohm * std::max(line_square(booked, k), 0.0), dt);
        const double opens = w.phases[k].splice_opens_degC;
        n.splice_open[k] = n.splice_degC[k] > (n.splice_open[k] ? opens - 25.0 : opens);
    }
}

// Returns what runs over into the tank, m3/s.
double fill_main(const site::Works& w, Slow& n, double flow, double dt) {
    const double missing = n.missing - (flow - n.leak) * dt;
    n.missing = std::clamp(missing, 0.0, w.water.main.area() * w.water.main.length);
    return missing < 0.0 ? -missing / dt : 0.0;
}

void move_water(const site::Works& w, State& s, double flow, double dt) {
    Slow& n = s.slow;
    n.out = fill_main(w, n, flow, dt);
    s.water_level = well(w).level_after(s.water_level, flow - n.leak, dt);
    const double fill = n.tank_fill + (n.out - w.water.tank_use) * dt / w.water.tank.volume;
    n.spilled += std::max(0.0, fill - 1.0) * w.water.tank.volume;
    n.tank_fill = w.water.tank.fill_after(n.tank_fill, n.out, w.water.tank_use, dt);
    n.delivered += n.out * dt;
}

void warm_pump(const site::Works& w, State& s, double flow, double joule, double dt) {
    Slow& n = s.slow;
    const double share = s.x[speed] / w.water.rated_speed;
    const double rubbing = (1 - n.covered) * share * share * pump_J_per_K * (burn_degC - 20.0) / w.water.dry_life_s;
    const double carried =
        w.water.main.density * water_J_per_kg_K * std::abs(flow) * n.covered + wall_W_per_K * n.covered;
    const double cooling = carried / pump_J_per_K, target = w.water.degC;
    // What rubs under water heats the water; what rubs dry is in the pump's dry life already. Implicit in the cooling,
    // which may be fast in a small pump.
    n.pump_degC =
        (n.pump_degC + (std::max(joule, 0.0) * n.covered + rubbing * dt) / pump_J_per_K + cooling * dt * target) /
        (1 + cooling * dt);
    // Sand takes head with what has passed: a tenth of it for sand_kg_per_m3s of sand for each m3/s of best flow.
    if (w.water.sand > 0.0 && w.water.best_flow > 0.0)
        n.damage = std::min(most_damage, n.damage + 0.1 * w.water.sand * std::abs(flow) * n.covered * dt /
                                                        (sand_kg_per_m3s * w.water.best_flow));
    const double burn = std::max(0.0, n.pump_degC - burn_degC) / burn_K / w.water.dry_life_s;
    n.damage = std::min(most_damage, n.damage + burn * dt);
}

// Share of the pump's head that inlet pressure leaves it now.
double lift(const site::Works& w, const State& s) {
    const site::Hydraulics& h = w.water;
    if (h.npsh <= 0.0 || !std::holds_alternative<water::Centrifugal>(h.pump) || s.x[flow] <= 0.0) return 1.0;
    constexpr double atmosphere = 101325.0;
    const double velocity = s.x[flow] / h.main.area(),
                 lost = h.suction_loss * velocity * velocity / (2 * water::gravity);
    const double available = atmosphere / (h.main.density * water::gravity) - h.vapour_head +
                             std::max(0.0, h.pump_depth - s.water_level) - lost;
    const double grip = 1.0 - w.shaft.coupling_slip;
    return water::cavitating(available,
                             water::npsh_required(h.npsh, grip * s.x[speed] / h.rated_speed, s.x[flow] / h.best_flow));
}

}  // namespace

water::Well well(const site::Works& w) {
    return {w.water.static_level,  w.water.drawdown,   w.water.recovery_s,  w.water.bore_depth,
            w.water.bore_diameter, w.water.pump_depth, w.guards.probe_depth};
}

void sense(const site::Site& site, State& s) {
    const site::Works& w = site.works;
    Slow& n = s.slow;
    if (w.water.pump.index() == 0) {
        n.covered = n.lift = 1.0;
    } else {
        const double pipe = w.water.main.area() * w.water.main.length;
        const double above =
            std::max(0.0, 1 - n.missing / pipe - w.water.leak_height) * (s.water_level + w.water.outlet_height);
        // none where the main runs downhill
        n.leak = w.water.leak_area * std::sqrt(2 * water::gravity * std::max(0.0, above));
        n.covered = well(w).intake_covered(s.water_level);
        n.lift += 0.2 * (lift(w, s) - n.lift);
    }
    n.probe_wet = well(w).probe_wet(s.water_level, n.probe_wet);
    n.float_up = w.water.tank.float_up(n.tank_fill, n.float_up);
    site::Guards guards = w.guards;
    guards.probe_wet = n.probe_wet;
    guards.float_up = n.float_up;
    const bool powered = s.control.phase != drive::Phase::off;
    n.dry_V =
        powered && guards.dry.fitted ? terminal_V(guards.dry, guards.probe_ohm(), meter_on(w, "dry.1", "dry.2")) : 0.0;
    n.float_V = powered && guards.full.fitted
                    ? terminal_V(guards.full, guards.float_ohm(), meter_on(w, "float.1", "float.2"))
                    : 0.0;
}

void start_slow(const site::Site& site, State& s) {
    const site::Works& w = site.works;
    s.water_level = w.water.static_level;
    Slow& n = s.slow;
    n.at = s.t;
    n.tank_fill = w.water.tank_fill;
    n.heat_sink_degC = w.heat_sink.round_degC;
    n.winding_degC = site.scenario.motor.winding_temperature_degC;
    n.pump_degC = w.water.degC;
    n.splice_degC.fill(w.splice_heat.round_degC);
    n.probe_wet = w.guards.probe_wet;
    n.float_up = w.guards.float_up;
    sense(site, s);
}

void look_slow(const site::Site& site, State& s) {
    const site::Works& w = site.works;
    Slow& n = s.slow;
    const double dt = s.t - n.at, flow_mean = 0.5 * (n.flow + s.x[flow]);
    n.at = s.t;
    n.flow = s.x[flow];
    const Energies booked = since(s.energy, n.account);
    n.account = s.energy;
    if (!n.held && dt > 0.0) {
        warm(n.heat_sink_degC, w.heat_sink, booked[in_bridge], dt);
        warm(n.winding_degC, w.motor_heat, booked[in_winding] + booked[in_cage] + booked[in_iron], dt);
        warm_turns(w, n, booked, dt);
        warm_splices(w, n, booked, dt);
        if (w.water.pump.index() != 0) {
            warm_pump(w, s, flow_mean, booked[in_pump], dt);
            move_water(w, s, flow_mean, dt);
        }
    } else if (dt > 0.0 && w.water.leak_area > 0.0 && w.water.pump.index() != 0) {
        // Where a hole leaves the water in the main is part of a settled reading. It rests there in seconds, and does
        // so the sooner.
        constexpr double sooner = 20.0;
        (void)fill_main(w, n, flow_mean, sooner * dt);
    }
    sense(site, s);
}

double static_head(const site::Site& site, const State& s) {
    const site::Hydraulics& h = site.works.water;
    const double share = s.slow.missing > 0.0 ? 1 - s.slow.missing / (h.main.area() * h.main.length) : 1.0;
    return (s.water_level + h.outlet_height) * share;
}

}  // namespace sunshaft::plant
