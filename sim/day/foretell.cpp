#include "day/foretell.hpp"

#include <algorithm>
#include <cmath>
#include <utility>

#include "day/operating.hpp"
#include "plant/steady.hpp"

namespace sunshaft::day {
namespace {

// Whether a start gets as far as to turn the output on: drive/control.hpp, from rest.
bool may_start(const site::Works& w, double link_V) {
    const drive::DriveSettings& d = w.drive;
    const double seen = link_V * d.voltage_gain;
    if (!d.enabled || !d.on || d.latches_V > 0.0 || d.control == drive::Control::fixed) return false;
    if (w.guards.says_dry() || w.guards.says_full() || d.low_load_W > 0.0) return false;
    if (d.overvoltage_V > 0.0 && seen > d.overvoltage_V) return false;
    return seen > 0.0 && seen >= d.start_V && seen >= drive::wake_over_dropout * d.dropout_V &&
           std::isfinite(w.link.precharge_ohm) && w.link.precharge_ohm < site::open_above_ohm;
}

// Whether the lines carry so unlike that a rotor which leads may rock in place of starting: the averages know how it
// turns, not how it begins.
bool lines_alike(const site::Works& w) {
    constexpr double times = 3.0;  // held against starts on the shipped sites: 5 fold ran, 18 fold tripped
    double least = 1e300, most = 0.0;
    for (std::size_t k = 0; k < 3; ++k) {
        const double ohm = w.phases[k].through();
        least = std::min(least, ohm), most = std::max(most, ohm);
        const drive::LegParts& leg = w.bridge.legs[k];
        if (leg.upper != drive::Device::good || leg.lower != drive::Device::good) return false;
    }
    return most < times * least;
}

// A field that turns past a shaft at rest, and water that no pump holds up stays where it is.
bool may_stand(const site::Works& w) { return !site::self_commutated(w.motor) && w.water.check_valve; }

// Such a cage swings to and fro for seconds: a start is shorter than the way to where no turn differs from the next.
bool broken_cage(const site::Works& w) {
    return std::visit(
        [](const auto& machine) {
            if constexpr (requires { machine.cage_asymmetry; }) return machine.cage_asymmetry > 0.0;
            else return false;
        },
        w.motor);
}

double largest(const Turn& t) { return std::sqrt(std::max({t[square_u], t[square_v], t[square_w]})); }

// The ceiling of a motor that leads limits its amplitude, whatever the tracker would give (drive/control.cpp).
bool at_ceiling(const site::Works& w, const Operating& o) {
    return site::self_commutated(w.motor) && o.field_Hz > 0.999 * w.drive.frequency;
}

// Currents and flux find their place while link, shaft and water are held where they will be: what the change itself
// brings would else draw a weak sun's link down, and take seconds to die away.
void let_currents_settle(plant::Plant& plant, plant::State& s) {
    using namespace plant;
    constexpr double passes_s = 0.15, slowest_Hz = 2.0;
    const double f = std::max(fundamental(plant, s), slowest_Hz), turn_s = 1.0 / f;
    const State there = s;
    const bool held = std::exchange(s.slow.held, true);
    for (double passed = 0.0; passed < passes_s; passed += turn_s) {
        plant.advance(s, s.t + turn_s);
        for (const std::size_t n : {v_cap, speed, flow}) s.x[n] = there.x[n];
        s.turning = there.turning;
        const double now = s.control.time, begun = s.control.tracker_time;
        s.control = there.control;
        s.control.time = now, s.control.tracker_time = begun;
    }
    s.slow.held = held;
}

// The neighbour's state at the operating point.
plant::State put_there(const Operating& o, const Wanted& wanted, plant::Plant& plant, const plant::State& fresh,
                       const site::Site& neighbour, const plant::State& running) {
    using namespace plant;
    const site::Works& w = plant.site().works;
    const double gain = w.drive.voltage_gain;
    State s = fresh;
    take_up(plant, s, neighbour, running);
    drive::ControlState& c = s.control;
    c.start_V = wanted.start_V;
    c.target_V = wanted.target_V;
    c.setting = std::clamp(o.setting, 0.0, 1.0);
    if (at_ceiling(w, o)) {
        c.phase = drive::Phase::ceiling;
        c.ceiling = std::exchange(c.setting, 1.0);
    } else if (site::self_commutated(w.motor)) {
        if (c.phase == drive::Phase::ceiling) c.phase = drive::Phase::running;
        c.ceiling = 1.0;
    }
    c.link_V = c.smooth_V = gain * o.link_V;
    c.smooth_W = o.dc_W;
    c.error = c.smooth_V / c.target_V - 1.0;
    c.last_V = c.energy = c.volt_s = c.averaging = 0.0;
    c.tracker_time = s.t;
    // Flux goes with volts per hertz, currents as the lines say, both in the way they stood to the field.
    const double flux = (o.amplitude * o.link_V / o.field_Hz) /
                        (running.command.amplitude * running.x[v_cap] / std::abs(running.command.frequency));
    double square = 0.0;
    for (const double a : running.control.line_A) square = std::max(square, a * a);
    const double amps = square > 0.0 ? largest(o.turn) / std::sqrt(square) : 1.0;
    const double way = o.speed * running.x[speed] < 0.0 ? -1.0 : 1.0;
    s.x[v_cap] = o.link_V;
    s.x[i_alpha] *= amps, s.x[i_beta] *= amps * way;
    if (!site::self_commutated(w.motor)) {
        for (const std::size_t n : {psi_alpha, outer_alpha}) s.x[n] *= flux;
        for (const std::size_t n : {psi_beta, outer_beta}) s.x[n] *= flux * way;
    }
    s.x[speed] = o.speed;
    s.x[flow] = o.flow;
    s.turning = static_cast<std::int8_t>(o.standing ? 0 : o.speed < 0.0 ? -1 : 1);
    plant.adopt(s);
    let_currents_settle(plant, s);
    plant.adopt(s);
    plant.open_account(s);
    s.slow.account = s.sampled = s.energy;
    return s;
}

}  // namespace

Foretold foretell(const Scenario& scenario, const std::vector<site::Fault>& faults, plant::Plant& plant,
                  const plant::State& fresh, const site::Site& neighbour, const plant::State& running) {
    using namespace plant;
    Foretold out;
    const site::Works& w = plant.site().works;
    const auto not_so = [&out](const char* why) {
        out.reason = why;
        return out;
    };
    if (w.supply.kind != site::Supply::Kind::array || !running.command.running)
        return not_so("no array, or no example");
    if (broken_cage(w)) return not_so("a broken cage");
    if (site::self_commutated(w.motor) && !lines_alike(w)) return not_so("a rotor that leads, on lines unlike");
    Averager averager(scenario, faults);
    averager.follow(fresh);
    const Curve curve = averager.curve(w.array.sunlight(), w.array.module_degC);
    const double idle_V = averager.idle_V(curve), gain = w.drive.voltage_gain;
    if (!may_start(w, idle_V)) return not_so("the drive does not begin");
    Wanted wanted;
    wanted.start_V = gain * idle_V;
    out.target_V = averager.tracked_V(curve, drive::first_target * idle_V, wanted.start_V);
    wanted.target_V = gain * out.target_V;
    wanted.turns = averager.breaks_away(curve, wanted);
    if (!wanted.turns && !may_stand(w)) return not_so("the shaft does not break away");
    Operating o = averager.at(curve, wanted);
    if (o.starved) return not_so("the array collapses");
    if (!o.turning || o.standing == wanted.turns || !(largest(o.turn) > 0.0)) return not_so("the shaft stands");
    // A line current near the limit went over it at the start.
    constexpr double near_limit = 0.8;
    if (const double limit = near_limit * w.drive.current_limit; limit > 0.0 && o.turn[peak_square] > limit * limit)
        return not_so("more current than the drive allows");

    if (o.standing) {  // as far up the ramp as the array bears
        o.setting = o.field_Hz / w.drive.frequency;
        if (w.drive.control != drive::Control::mppt && o.link_V < drive::weak_link * idle_V)
            return not_so("a ramp that does not end");
        o.amplitude =
            drive::amplitude_for(w.drive.modulation, drive::asked_volts(w.drive, o.field_Hz), gain * o.link_V);
    }
    out.full = o.setting > 0.999 || at_ceiling(w, o);
    out.state = put_there(o, wanted, plant, fresh, neighbour, running);
    out.runs = true;
    return out;
}

}  // namespace sunshaft::day
