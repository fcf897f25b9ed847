#include "drive/control.hpp"

#include <algorithm>
#include <cmath>

namespace sunshaft::drive {
namespace {

constexpr double smoothing_s = 5e-3;
constexpr double bandwidth = 8.0;                      // rad/s of the link regulator; found by trial on the sites
constexpr double integral_per_s = 2.0;                 // integral over proportional part
constexpr double slack = 0.05, let_go_per_s = 20.0;    // this far below its target, and how fast then
constexpr double least_gain = 0.05, most_gain = 0.15;  // more, and a motor on a light load hunts
constexpr double ripple = 2e-3;  // relative, of the smoothed link voltage: at rest is no nearer than this
// soft start: link above target where the ramp sets the speed alone, where no more
constexpr double clear = 0.17, near = 0.09;
constexpr int patience = 8;   // tracker: periods it waits at most for the link to come to rest
constexpr double seen = 0.5;  // start of a self-commutated motor: of minimum_frequency
// start by back-EMF: of current_limit; of the amplitude, 1/s and at most
constexpr double search_A = 0.35, search_rate = 0.4, search_most = 0.25;

double most(const std::array<double, 3>& a) { return std::max({std::abs(a[0]), std::abs(a[1]), std::abs(a[2])}); }

bool is_six_step(Modulation m) { return m == Modulation::six_step_180 || m == Modulation::six_step_120; }

// What the link passes over since the last step of the tracker.
void follow(ControlState::Swing& swing, double volt, double watt, double dt) {
    if (!(swing.high_V > 0.0)) swing = {watt, watt, volt, volt, volt};
    swing.smooth_W += (watt - swing.smooth_W) * std::min(1.0, dt / smoothing_s);
    swing.low_V = std::min(swing.low_V, volt), swing.high_V = std::max(swing.high_V, volt);
    if (swing.smooth_W > swing.most_W) swing.most_W = swing.smooth_W, swing.best_V = volt;
}

// Where the link is to stand; control.hpp says how.
void track(const DriveSettings& s, ControlState& c, double dt, const Measured& m) {
    if (s.tracker_stuck > 0.0) {
        c.target_V = s.tracker_stuck * c.start_V;
        return;
    }
    if (s.tracker != Tracker::perturb_and_observe) {
        c.target_V = s.tracker == Tracker::constant_voltage ? s.tracker_V : s.tracker_share * c.start_V;
        return;
    }
    const auto wait = [&c] { c.energy = c.volt_s = c.averaging = 0.0; };
    // On the ramp, or at the ceiling with volts to spare: nothing to climb.
    if (c.phase == Phase::soft_start || (c.setting >= 1.0 && m.link_V > c.target_V)) {
        c.tracker_time = c.time;
        c.last_V = 0.0;
        c.swing = {};
        return wait();
    }
    follow(c.swing, c.smooth_V, m.source_W, dt);
    const double waited = c.time - c.tracker_time;
    const bool at_rest = std::abs(c.smooth_V / c.target_V - 1.0) < std::max(0.3 * s.tracker_step, ripple);
    if (waited < 0.5 * s.tracker_period || (!at_rest && waited < patience * s.tracker_period)) return wait();
    c.energy += m.source_W * dt;
    c.volt_s += m.link_V * dt;
    c.averaging += dt;
    if (c.averaging < 0.5 * s.tracker_period) return;
    const double watt = c.energy / c.averaging, volt = c.volt_s / c.averaging;
    const bool swings = waited >= patience * s.tracker_period &&
                        c.swing.high_V - c.swing.low_V > 2 * s.tracker_step * volt &&
                        std::abs(c.swing.best_V - c.target_V) > 0.5 * s.tracker_step * volt;
    // No step seen (the first time, or the link did not follow): on the same way.
    if (swings) c.direction = c.swing.best_V > c.target_V ? 1.0 : -1.0;
    else if (c.last_V > 0.0 && std::abs(volt - c.last_V) > 0.2 * s.tracker_step * volt)
        c.direction = (watt > c.last_W) == (volt > c.last_V) ? 1.0 : -1.0;
    c.target_V = std::clamp(c.target_V * (1.0 + c.direction * s.tracker_step), lowest_target * c.start_V,
                            highest_target * c.start_V);
    c.last_W = watt;
    c.last_V = volt;
    c.tracker_time = c.time;
    c.swing = {};
    wait();
}

// Moves the setting by the relative error of the smoothed link voltage, proportional and integral in velocity form:
// where its ends hold the setting nothing winds up. With the load P following the setting's cube, C v^2 de/dt = -3 P
// dsetting: the gain that makes the bandwidth follows from the drive's own capacitor and the power it takes.
void regulate_link(const DriveSettings& s, ControlState& c, double dt, const Measured& m, double least) {
    c.smooth_V += (m.link_V - c.smooth_V) * std::min(1.0, dt / smoothing_s);
    c.smooth_W += (m.source_W - c.smooth_W) * std::min(1.0, dt / 0.1);
    const double e = c.smooth_V / c.target_V - 1.0;
    const double stored = s.link_F * c.target_V * c.target_V;
    const double gain =
        std::clamp(bandwidth * stored / (3 * std::max(c.smooth_W, 1e-3 * stored)), least_gain, most_gain);
    // Far below the target the array is collapsing: let go quickly.
    double rate = integral_per_s * gain * e + (e < -slack ? let_go_per_s * (e + slack) : 0.0);
    const double ramp = s.ramp / s.frequency;
    // Soft start: the ramp while the array holds its voltage; it fades out as the link comes down, else rotor and water
    // column, which take their power late, pull a weak array over its maximum.
    if (c.phase == Phase::soft_start) rate = std::max(rate, ramp * std::clamp((e - near) / (clear - near), 0.0, 1.0));
    // The ramp limits the integral part only: cutting the ripple's upper half off the other would turn it into a drift
    // downwards.
    const double change = gain * (e - c.error) + std::min(rate, ramp) * dt;
    c.error = e;
    c.setting = std::clamp(c.setting + change, least, 1.0);
}

}  // namespace

double amplitude_for(Modulation m, double v, double link) {
    if (link <= 0.0) return 0.0;
    if (m == Modulation::six_step_180) return std::clamp(v / (0.7796968 * link), 0.0, 1.0);  // sqrt 6 / pi
    if (m == Modulation::six_step_120) return std::clamp(v / (0.6752372 * link), 0.0, 1.0);
    return std::clamp(v / (0.6123724 * link), 0.0, linear_limit(m));  // sqrt 3 / (2 sqrt 2)
}

double asked_volts(const DriveSettings& s, double f) {
    return s.boost_V + (s.nominal_V - s.boost_V) * std::min(1.0, f / s.nominal_Hz);
}

double linear_limit(Modulation m) {
    return m == Modulation::third_harmonic || m == Modulation::space_vector ? 1.1547005383792515 : 1.0;
}

Measured sensed(const DriveSettings& s, Measured m) {
    m.link_V *= s.voltage_gain;
    m.source_W *= s.voltage_gain * s.current_gain;
    for (std::size_t k = 0; k < 3; ++k) {
        m.line_A[k] *= s.current_gain;
        m.line_A2[k] *= s.current_gain * s.current_gain;
    }
    // the mean current by this sample: over turns near 0
    m.line_A2[0] += s.current_offset * (2 * m.line_A[0] + s.current_offset);
    m.line_A[0] += s.current_offset;
    return m;
}

Command update(const DriveSettings& s, bool self_commutated, ControlState& c, double t, const Measured& measured) {
    const double dt = t - c.time;
    c.time = t;
    const Measured m = sensed(s, measured);
    c.link_V = m.link_V;
    const bool was_turning = turning(c.phase);
    if (!supervise(s, self_commutated, c, dt, m)) return {};
    const double step = was_turning ? dt : 0.0;
    if (s.control == Control::fixed) {
        c.setting = 1.0;
        const double amplitude =
            is_six_step(s.modulation) ? (s.modulation == Modulation::six_step_120 ? s.duty : 1.0) : s.index;
        if (self_commutated && s.back_emf) return search(s, c, step, m, amplitude);
        return {true, s.frequency, amplitude};
    }
    const double least = s.minimum_frequency / s.frequency, before = c.setting, rise = s.ramp / s.frequency * step;
    if (s.control == Control::v_f) {
        // Rides through a weak sun: no further up while the link is being pulled down.
        const bool weak = m.link_V < weak_link * c.start_V;
        c.setting = std::clamp(c.setting + (weak ? -2.0 : 1.0) * rise, least, 1.0);
    } else {
        track(s, c, step, m);
        regulate_link(s, c, step, m, least);
    }
    if (self_commutated && s.back_emf && c.search.stage != Search::Stage::found && s.current_limit > 0.0)
        // Until the rotor is found the amplitude goes by the current alone.
        c.setting = std::clamp(before + search_rate * (1.0 - most(m.line_A) / (search_A * s.current_limit)) * step,
                               least, std::max(least, search_most));
    const bool led = std::abs(m.electrical_Hz) >= seen * s.minimum_frequency,
               starting = std::abs(c.turns_Hz) < s.minimum_frequency;
    if (self_commutated && starting && s.current_limit > 0.0 && most(m.line_A) > start_A * s.current_limit)
        c.setting = std::max(least, before - rise);
    // Off the ramp: nothing more to give, the link down to its target, or a weak sun that holds the ramp.
    const bool off_ramp = c.setting >= 1.0 || (s.control == Control::mppt ? c.smooth_V < 1.02 * c.target_V
                                                                          : c.setting - before < 0.5 * rise);
    if (c.phase == Phase::soft_start && !(self_commutated && starting) && step > 0.0 && before > least && off_ramp)
        enter(c, Phase::running, Cause::ramp_done, self_commutated ? m.electrical_Hz : c.setting * s.frequency);
    if (self_commutated) {
        // Speed ceiling: a proportional and integral limit on the amplitude; speed follows it within a tenth of a
        // second.
        const double room = 1.0 - m.electrical_Hz / s.frequency;
        c.ceiling = std::clamp(c.ceiling + 2.0 * room * step, 0.0, 1.0);
        const double setting = std::min(c.setting, std::clamp(c.ceiling + 0.5 * room, 0.0, 1.0));
        const double amplitude = setting * (is_six_step(s.modulation) ? 1.0 : linear_limit(s.modulation));
        if (s.back_emf) return search(s, c, step, m, amplitude);
        if (led) return {true, m.electrical_Hz, amplitude};
        return {true, s.minimum_frequency, amplitude, false};
    }
    const double f = c.setting * s.frequency;
    return {true, f, amplitude_for(s.modulation, asked_volts(s, f), m.link_V)};
}

}  // namespace sunshaft::drive
