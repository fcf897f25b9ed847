// The state machine of the drive: control.hpp holds its phases and transitions.
#include <algorithm>
#include <cmath>
#include <limits>

#include "drive/control.hpp"
#include "drive/overload.hpp"

namespace sunshaft::drive {
namespace {

// of the starting voltage: the array gives all it has. If that is less than the rated current it is the sun that is
// missing; a shaft that is held in full sun takes more.
constexpr double starved = 0.9;
constexpr double overload_trip = 1.2;  // of the thermal image
constexpr double stall_current = 2.5;  // times rated
constexpr double stall_share = 0.02;   // of the speed ceiling
constexpr double heat_sink_back = 15;  // K
constexpr double ceiling_back = 0.97;
constexpr double turning_s = 0.5;
constexpr double earth_fault_s = 2.0;
constexpr double soon_s = 30.0;  // who reads a drive that waits longer reads it waiting

double highest(const std::array<double, 3>& a) { return std::max({a[0], a[1], a[2]}); }
double lowest(const std::array<double, 3>& a) { return std::min({a[0], a[1], a[2]}); }

void trip(const DriveSettings& s, ControlState& c, Cause cause, double value) {
    const bool counted = cause != Cause::over_voltage && cause != Cause::heat_sink && cause != Cause::low_insulation;
    if (counted) {
        if (turning(c.phase) && c.time - c.since >= s.trip_forget_s) c.trips = 0;
        ++c.trips;
    }
    c.trip = cause;
    c.retry_at = c.time + s.trip_retry_s;
    enter(c, Phase::tripped, cause, value);
    if (counted && c.trips > s.trip_retries) enter(c, Phase::locked, Cause::too_many_trips, c.trips);
}

// Forgets all that a control without power forgets.
void forget(ControlState& c) {
    ControlState fresh;
    fresh.time = fresh.dark_at = c.time;
    fresh.latches_known_V = c.latches_known_V;
    fresh.latched_V = c.latched_V;
    fresh.log = c.log;
    fresh.logged = c.logged;
    fresh.phase = c.phase;
    c = fresh;
}

// Power of the electronics, charging, and a latched program. False: nothing else is looked at.
bool powered(const DriveSettings& s, ControlState& c, const Measured& m) {
    if (s.latches_V != c.latches_known_V) c.latches_known_V = c.latched_V = s.latches_V;
    const bool lit = c.phase != Phase::off;
    if (!s.on || (s.dropout_V > 0.0 && m.link_V < (lit ? 1.0 : wake_over_dropout) * s.dropout_V)) {
        if (lit) {
            forget(c);
            enter(c, Phase::off, Cause::dark, m.link_V);
        }
        c.dark_at = c.time;
        if (m.link_V < c.latched_V) {
            c.latched_V = 0.0;
            enter(c, Phase::off, Cause::freed, m.link_V);
        }
        return false;
    }
    if (!lit) {
        enter(c, Phase::charging, Cause::powered, m.link_V);
        c.charge_V = m.link_V;
        c.charge_since = c.time;
    }
    if (c.phase == Phase::charging) {
        if (std::abs(m.link_V - c.charge_V) > 0.01 * c.charge_V) {
            c.charge_V = m.link_V;
            c.charge_since = c.time;
        }
        if (c.time - c.charge_since < s.charge_s) return false;
        enter(c, Phase::waiting_for_sun, Cause::charged, m.link_V);
    }
    if (c.latched_V > 0.0) {
        if (c.phase != Phase::latched) enter(c, Phase::latched, Cause::latched, 0.0);
        return false;
    }
    return true;
}

// Rms line currents over whole turns, to the nearest sample: a sixth of a turn too many in 0.1 s is 1 % in six steps.
// Returns true when a new set is there.
bool average(const DriveSettings& s, ControlState& c, double dt, const Measured& m) {
    for (std::size_t k = 0; k < 3; ++k) c.square[k] += m.line_A2[k] * dt;
    c.square_s += dt;
    c.load_J += m.source_W * dt;
    c.sum_A2 += m.sum_A2 * dt;
    const double turn = 1.0 / std::max({c.setting * s.frequency, std::abs(m.electrical_Hz), 1.0});
    if (c.square_s + 0.5 * dt < std::max(3.0, std::ceil(0.1 / turn - 1e-6)) * turn) return false;
    for (std::size_t k = 0; k < 3; ++k) {
        c.line_A[k] = std::sqrt(c.square[k] / c.square_s);
        c.square[k] = 0.0;
    }
    return true;
}

void wait_for_sun(const DriveSettings& s, ControlState& c, const Measured& m) {
    c.short_starts = c.time - c.since < s.low_sun_retry_longest_s ? c.short_starts + 1 : 0;
    c.retry_at = c.time + low_sun_wait(s, c.short_starts);
    enter(c, Phase::waiting_for_sun, Cause::low_sun, m.link_V);
}

// Protections of a turning motor. True: stopped.
bool protect(const DriveSettings& s, bool self_commutated, ControlState& c, double dt, const Measured& m) {
    // no peak is below its rms: one that has come and gone between samples
    double peak = std::sqrt(highest(m.line_A2));
    for (const double i : m.line_A) peak = std::max(peak, std::abs(i));
    c.turns_Hz += (m.electrical_Hz - c.turns_Hz) * std::min(1.0, dt / turning_s);
    if (s.current_limit > 0.0 && peak > s.current_limit) return trip(s, c, Cause::over_current, peak), true;
    if (m.heat_sink_degC > s.heat_sink_limit_degC) return trip(s, c, Cause::heat_sink, m.heat_sink_degC), true;
    if (s.flow_switch > 0.0) {
        const bool flows = s.flow_stuck != 0 ? s.flow_stuck > 0 : m.flow >= s.flow_switch;
        c.no_flow_s = flows ? 0.0 : c.no_flow_s + dt;
        if (c.no_flow_s >= s.flow_delay_s) {
            c.retry_at = c.time + s.dry_retry_s;
            return enter(c, Phase::dry_hold, Cause::no_flow, 0.0), true;
        }
    }
    if (!average(s, c, dt, m)) return false;
    const double span = c.square_s, watt = c.load_J / span, to_earth = std::sqrt(c.sum_A2 / span);
    c.square_s = c.load_J = c.sum_A2 = 0.0;
    const double most = highest(c.line_A), least = lowest(c.line_A);

    if (s.earth_trip_A > 0.0 && to_earth > s.earth_trip_A) return trip(s, c, Cause::earth_fault, to_earth), true;
    const bool lost = s.phase_loss_detection && least < 0.1 * most && most > std::max(0.05, 0.1 * s.motor_A);
    c.lost_s = lost ? c.lost_s + span : 0.0;
    if (lost && c.lost_s >= s.phase_loss_s) return trip(s, c, Cause::phase_loss, least), true;
    if (s.control == Control::fixed) return false;

    const bool still = self_commutated && std::abs(c.turns_Hz) < stall_share * s.frequency;
    const bool heavy = s.motor_A > 0.0 && least > stall_current * s.motor_A;
    c.stall_s = still || heavy ? c.stall_s + span : 0.0;
    const bool weak = most < s.motor_A && m.link_V < starved * c.start_V;
    if (c.stall_s >= s.stall_s && weak) return wait_for_sun(s, c, m), true;
    if (c.stall_s >= s.stall_s) return trip(s, c, Cause::stall, most), true;

    const double share = self_commutated ? c.turns_Hz / s.frequency : c.setting;
    const bool low = s.low_load_W > 0.0 && share >= 0.5 && watt < s.low_load_W * share * share * share;
    c.low_s = low ? c.low_s + span : 0.0;
    if (low && c.low_s >= s.dry_delay_s) {
        c.retry_at = c.time + s.dry_retry_s;
        return enter(c, Phase::dry_hold, Cause::low_load, watt), true;
    }

    if (s.motor_A <= 0.0) return false;
    if (c.heat > overload_trip) return trip(s, c, Cause::motor_overload, most), true;
    return false;
}

bool trip_is_over(const DriveSettings& s, const ControlState& c, const Measured& m) {
    if (c.time < c.retry_at) return false;
    if (c.trip == Cause::heat_sink) return m.heat_sink_degC < s.heat_sink_limit_degC - heat_sink_back;
    if (c.trip == Cause::motor_overload) return c.heat < 0.5 * overload_trip;
    return true;
}

// The guards. True: held.
bool guarded(const DriveSettings& s, ControlState& c, double dt, const Measured& m) {
    c.dry_s = m.dry_open ? c.dry_s + dt : 0.0;
    c.float_s = m.float_open ? c.float_s + dt : 0.0;
    if (c.phase == Phase::dry_hold) {
        if (c.time < c.retry_at || m.dry_open) return true;
        enter(c, Phase::waiting_for_sun, Cause::wet_again, 0.0);
    }
    if (c.phase == Phase::tank_hold) {
        if (m.float_open) c.retry_at = c.time + s.tank_retry_s;
        if (c.time < c.retry_at) return true;
        enter(c, Phase::waiting_for_sun, Cause::tank_has_room, 0.0);
    }
    const bool now = !turning(c.phase);
    if (m.dry_open && (now || c.dry_s >= s.dry_delay_s)) {
        c.retry_at = c.time + s.dry_retry_s;
        enter(c, Phase::dry_hold, Cause::dry, 0.0);
        return true;
    }
    if (m.float_open && (now || c.float_s >= s.tank_delay_s)) {
        c.retry_at = c.time + s.tank_retry_s;
        enter(c, Phase::tank_hold, Cause::tank_full, 0.0);
        return true;
    }
    return false;
}

// The run switch. True: stopped.
bool switched_off(const DriveSettings& s, ControlState& c) {
    if (!s.enabled) {
        if (c.phase != Phase::stopped) enter(c, Phase::stopped, Cause::switched_off, 0.0);
        return true;
    }
    if (c.phase == Phase::stopped) enter(c, Phase::waiting_for_sun, Cause::switched_on, 0.0);
    return false;
}

void begin(const DriveSettings& s, ControlState& c, const Measured& m) {
    c.start_V = c.smooth_V = m.link_V;
    c.target_V = first_target * m.link_V;
    c.error = m.link_V / c.target_V - 1.0;
    c.setting = c.smooth_W = c.last_W = c.last_V = c.energy = c.volt_s = c.averaging = 0.0;
    c.ceiling = 1.0;
    c.direction = -1.0;
    c.tracker_time = c.time;
    c.dry_s = c.float_s = c.stall_s = c.lost_s = c.low_s = c.no_flow_s = c.load_J = c.square_s = c.turns_Hz = 0.0;
    c.sum_A2 = 0.0;
    c.search = {};
    c.swing = {};
    c.square = {};
    enter(c, s.control == Control::fixed ? Phase::running : Phase::soft_start, Cause::sun, m.link_V);
}

}  // namespace

double low_sun_wait(const DriveSettings& s, int short_starts) {
    const double doubled = s.low_sun_retry_s * std::exp2(std::clamp(short_starts - 1, 0, 30));
    return std::min(doubled, std::max(s.low_sun_retry_s, s.low_sun_retry_longest_s));
}

void enter(ControlState& c, Phase phase, Cause cause, double value) {
    if (!(turning(c.phase) && turning(phase))) c.since = c.time;
    c.phase = phase;
    c.log[static_cast<std::size_t>(c.logged) % c.log.size()] = {c.time, phase, cause, value};
    ++c.logged;
}

bool supervise(const DriveSettings& s, bool self_commutated, ControlState& c, double dt, const Measured& m) {
    if (!powered(s, c, m)) return false;
    if (s.motor_A > 0.0) {
        const double load = turning(c.phase) ? highest(c.line_A) / s.motor_A : 0.0;
        c.heat -= (load * load - c.heat) * std::expm1(-dt / s.motor_heating_s);  // exact: a day's steps are long
    }
    if (c.phase == Phase::locked || switched_off(s, c)) return false;
    if (s.overvoltage_V > 0.0 && c.phase != Phase::tripped && m.link_V > s.overvoltage_V)
        trip(s, c, Cause::over_voltage, m.link_V);
    c.earth_s = m.insulation_ohm < s.insulation_trip_ohm ? c.earth_s + dt : 0.0;
    if (c.earth_s >= earth_fault_s && c.phase != Phase::tripped)
        trip(s, c, Cause::low_insulation, 1e-3 * m.insulation_ohm);
    if (c.phase == Phase::tripped) {
        if (c.trip == Cause::over_voltage && m.link_V > 0.95 * s.overvoltage_V) c.retry_at = c.time + s.trip_retry_s;
        if (c.trip == Cause::low_insulation && c.earth_s > 0.0) c.retry_at = c.time + s.trip_retry_s;
        if (!trip_is_over(s, c, m)) return false;
        enter(c, Phase::waiting_for_sun, Cause::retry, c.trips);
    }
    if (turning(c.phase) && protect(s, self_commutated, c, dt, m)) return false;
    if (guarded(s, c, dt, m)) return false;
    if (c.phase == Phase::waiting_for_sun) {
        if (s.control != Control::fixed && (c.time < c.retry_at || m.link_V < s.start_V || m.link_V <= 0.0))
            return false;
        begin(s, c, m);
    } else if (s.control != Control::fixed && m.link_V < collapse * c.start_V) {
        wait_for_sun(s, c, m);
        return false;
    }
    const double speed = self_commutated ? m.electrical_Hz / s.frequency : c.setting;
    if (s.control != Control::fixed) {
        const bool top = speed >= (self_commutated ? 0.99 : 1.0);
        if (top && c.phase != Phase::ceiling) enter(c, Phase::ceiling, Cause::at_ceiling, speed * s.frequency);
        else if (c.phase == Phase::ceiling && speed < ceiling_back)
            enter(c, Phase::running, Cause::below_ceiling, speed * s.frequency);
    }
    return true;
}

bool passing(const DriveSettings& s, const ControlState& c, double link_V) {
    if (c.phase == Phase::charging || c.phase == Phase::soft_start) return true;
    if (c.phase == Phase::waiting_for_sun) return link_V >= s.start_V && link_V > 0.0 && c.retry_at - c.time < soon_s;
    return false;
}

double overload_in_s(const DriveSettings& s, const ControlState& c) {
    if (s.motor_A <= 0.0 || s.control == Control::fixed || !turning(c.phase))
        return std::numeric_limits<double>::infinity();
    const double most = *std::max_element(c.line_A.begin(), c.line_A.end()),
                 load = (most / s.motor_A) * (most / s.motor_A);
    if (load <= overload_trip) return std::numeric_limits<double>::infinity();
    return s.motor_heating_s * std::log((load - std::min(c.heat, overload_trip)) / (load - overload_trip));
}

bool nearly_stalls(const DriveSettings& s, const ControlState& c, double share) {
    return s.motor_A > 0.0 && s.control != Control::fixed && turning(c.phase) &&
           lowest(c.line_A) > (1.0 - share) * stall_current * s.motor_A;
}

void stop_stalled(const DriveSettings& s, ControlState& c) { trip(s, c, Cause::stall, highest(c.line_A)); }

}  // namespace sunshaft::drive
