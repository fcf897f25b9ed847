#include "drive/control.hpp"

#include <algorithm>
#include <cmath>

namespace sunshaft::drive {
namespace {

constexpr double proportional = 0.6, integral = 1.5;  // of the relative link error, per s; found by trial on the sites
constexpr double smoothing_s = 0.01;

bool is_six_step(Modulation m) { return m == Modulation::six_step_180 || m == Modulation::six_step_120; }

// Amplitude for a line-line fundamental of v rms at a link voltage.
double amplitude_for(Modulation m, double v, double link) {
    if (link <= 0.0) return 0.0;
    if (m == Modulation::six_step_180) return std::clamp(v / (0.7796968 * link), 0.0, 1.0);  // sqrt 6 / pi
    if (m == Modulation::six_step_120) return std::clamp(v / (0.6752372 * link), 0.0, 1.0);
    return std::clamp(v / (0.6123724 * link), 0.0, linear_limit(m));  // sqrt 3 / (2 sqrt 2)
}

void observe(const DriveSettings& s, ControlState& c, double dt, double t, const Measured& m) {
    c.energy += m.link_V * m.source_A * dt;
    c.averaging += dt;
    if (s.tracker_stuck || t - c.tracker_time < s.tracker_period || c.averaging <= 0.0) return;
    const double power = c.energy / c.averaging;
    const bool held_back = c.setting >= 1.0 && m.link_V > c.target_V;  // at the ceiling there is nothing to climb
    if (!held_back) {
        if (power < c.last_power) c.direction = -c.direction;
        c.target_V = std::clamp(c.target_V * (1.0 + c.direction * s.tracker_step), 0.62 * c.start_V, 0.95 * c.start_V);
    }
    c.last_power = power;
    c.energy = c.averaging = 0.0;
    c.tracker_time = t;
}

// Proportional and integral on the relative error of the smoothed link voltage; rises no faster than the ramp.
void regulate_link(const DriveSettings& s, ControlState& c, double dt, const Measured& m, double least) {
    c.smooth_V += (m.link_V - c.smooth_V) * std::min(1.0, dt / smoothing_s);
    const double e = c.smooth_V / c.target_V - 1.0;
    // Far below the target the array is collapsing: let go quickly.
    const double rate = integral * e + (e < -0.1 ? 4.0 * integral * (e + 0.1) : 0.0);
    const double rise = s.ramp / s.frequency * dt;
    c.integral = std::clamp(c.integral + std::min(rate * dt, rise), least, 1.0);
    const double wanted = std::clamp(c.integral + proportional * std::min(e, 0.0), least, 1.0);
    c.setting = std::min(wanted, c.setting + 2.0 * rise);
}

}  // namespace

double linear_limit(Modulation m) {
    return m == Modulation::third_harmonic || m == Modulation::space_vector ? 1.1547005383792515 : 1.0;
}

Command update(const DriveSettings& s, bool self_commutated, ControlState& c, double t, const Measured& measured) {
    const double dt = t - c.time;
    c.time = t;
    Measured m = measured;  // as its own sensors give it
    m.link_V *= s.voltage_gain;
    m.source_A *= s.current_gain;
    for (double& i : m.line_A) i *= s.current_gain;
    m.line_A[0] += s.current_offset;
    const bool was_turning = turning(c.phase);
    if (!supervise(s, self_commutated, c, dt, m)) return {};
    if (s.control == Control::fixed) {
        c.setting = 1.0;
        return {true, s.frequency, is_six_step(s.modulation) ? (s.modulation == Modulation::six_step_120 ? s.duty : 1.0) : s.index};
    }
    const double step = was_turning ? dt : 0.0;
    const double least = s.minimum_frequency / s.frequency, before = c.setting, rise = s.ramp / s.frequency * step;
    if (s.control == Control::v_f) {
        // Rides through a weak sun: no further up while the link is being pulled down.
        const bool weak = m.link_V < 0.7 * c.start_V;
        c.setting = std::clamp(c.setting + (weak ? -2.0 : 1.0) * rise, least, 1.0);
    } else {
        observe(s, c, step, t, m);
        regulate_link(s, c, step, m, least);
    }
    if (c.phase == Phase::soft_start && step > 0.0 && before > least && c.setting - before < 0.5 * rise)
        enter(c, Phase::running, Cause::ramp_done, self_commutated ? m.electrical_Hz : c.setting * s.frequency);
    if (self_commutated) {
        // Speed ceiling: a proportional and integral limit on the amplitude; speed follows it within a tenth of a second.
        const double room = 1.0 - m.electrical_Hz / s.frequency;
        c.ceiling = std::clamp(c.ceiling + 2.0 * room * step, 0.0, 1.0);
        const double setting = std::min(c.setting, std::clamp(c.ceiling + 0.5 * room, 0.0, 1.0));
        return {true, m.electrical_Hz, setting * (is_six_step(s.modulation) ? 1.0 : linear_limit(s.modulation))};
    }
    const double f = c.setting * s.frequency;
    const double volts = s.boost_V + (s.nominal_V - s.boost_V) * std::min(1.0, f / s.nominal_Hz);
    return {true, f, amplitude_for(s.modulation, volts, m.link_V)};
}

}  // namespace sunshaft::drive
