#include "plant/steady.hpp"

#include <fmt/format.h>

#include <Eigen/Eigenvalues>
#include <Eigen/LU>
#include <algorithm>
#include <array>
#include <cmath>

namespace sunshaft::plant {
namespace {

// The states that come back after a turn: all but the rotor's angle, which slips.
constexpr std::array<std::size_t, 7> kept = {i_alpha, i_beta, v_cap, psi_alpha, psi_beta, speed, flow};
constexpr auto size = static_cast<Eigen::Index>(kept.size());
using Vector = Eigen::Matrix<double, size, 1>;
using Matrix = Eigen::Matrix<double, size, size>;

constexpr double near_enough = 2e-6;  // change over a period, of the reference: the noise of the steps is below
constexpr double aside = 2e-3;        // for the differences that make the first Jacobian, of the reference
constexpr int most_rounds = 14;
constexpr double shrinks = 0.9999;  // a multiplier that passes for stable
constexpr double watched_s = 0.12;  // the control has looked at its line currents at least once

// Why there is no period to look for; empty: there is one.
std::string no_period(const site::Site& site, const State& s) {
    const site::Works& w = site.works;
    const auto* cage = std::get_if<motor::Induction>(&w.motor);
    if (w.supply.kind == site::Supply::Kind::mains) return "the mains turn the field";
    if (!cage) return "the rotor leads the field";
    if (cage->cage_asymmetry != 0.0) return "a broken cage beats with the slip";
    if (w.turns.on()) return "bridged turns";
    if (!s.command.running || s.command.frequency == 0.0) return "the output is off";
    const drive::DriveSettings& d = w.drive;
    if (d.control != site::Control::fixed && s.control.setting < 1.0) return "the control still moves the frequency";
    if (d.control == site::Control::mppt && s.control.phase != drive::Phase::ceiling) return "the tracker hunts";
    const double a_turn = d.carrier / std::abs(s.command.frequency);
    const bool carried = d.modulation != site::Modulation::six_step_180 &&
                         d.modulation != site::Modulation::six_step_120 &&
                         d.modulation != site::Modulation::ideal_sine;
    if ((carried || s.command.amplitude < 1.0) && std::abs(a_turn - std::round(a_turn)) > 1e-9)
        return "the carrier is no multiple of the frequency";
    return "";
}

// A turn of the field from a section on, as a map of the kept states.
class Turn {
  public:
    Turn(Plant& plant, const State& section) : plant_(&plant), section_(section), scale_(reference(plant.site())) {
        section_.slow.held = true;
        period = 1.0 / std::abs(section.command.frequency);
    }
    Vector pick(const X& x) const {
        Vector v;
        for (Eigen::Index n = 0; n < size; ++n) v[n] = x[kept[index(n)]] / scale_[kept[index(n)]];
        return v;
    }
    State at(const Vector& v) const {
        State s = section_;
        for (Eigen::Index n = 0; n < size; ++n) s.x[kept[index(n)]] = v[n] * scale_[kept[index(n)]];
        plant_->adopt(s);  // an open phase's current is nothing
        return s;
    }
    // Where a turn leads from there, less where it began.
    Vector miss(const Vector& v) {
        State s = at(v);
        const Vector from = pick(s.x);
        plant_->advance(s, section_.t + period);
        ++run;
        logged = s.control.logged != section_.control.logged;
        return pick(s.x) - from;
    }
    double period = 0.0;
    int run = 0;
    bool logged = false;

  private:
    static std::size_t index(Eigen::Index n) { return static_cast<std::size_t>(n); }
    Plant* plant_;
    State section_;
    X scale_;
};

}  // namespace

bool about_to_stop(const drive::ControlState& c) {
    return c.dry_s > 0.0 || c.float_s > 0.0 || c.stall_s > 0.0 || c.lost_s > 0.0;
}

Periodic periodic(Plant& plant, State& state, const Periodic* neighbour) {
    Periodic result;
    result.reason = no_period(plant.site(), state);
    if (!result.reason.empty()) return result;
    State section = state;
    section.slow.held = true;
    // To where a window begins, and a turn on: what the change itself brought dies away.
    plant.advance(section, section.window.end);
    plant.advance(section, section.t + 1.0 / std::abs(section.command.frequency));
    if (section.t < section.window.end) plant.advance(section, section.window.end);
    result.reason = no_period(plant.site(), section);
    if (!result.reason.empty()) return result;

    Turn turn(plant, section);
    result.period = turn.period;
    Vector x = turn.pick(section.x), r = turn.miss(x);
    Matrix slope;  // of miss(): the map's Jacobian less one
    bool fresh = false;
    const auto differences = [&] {
        for (Eigen::Index n = 0; n < size; ++n) {
            Vector beside = x;
            beside[n] += aside;
            slope.col(n) = (turn.miss(beside) - r) / aside;
        }
        fresh = true;
    };
    if (neighbour && neighbour->jacobian.size() == static_cast<std::size_t>(size * size))
        slope = Eigen::Map<const Matrix>(neighbour->jacobian.data()).transpose() - Matrix::Identity();
    else differences();
    double off = r.lpNorm<Eigen::Infinity>();
    for (int round = 0; round < most_rounds && off > near_enough; ++round) {
        const Vector step = slope.fullPivLu().solve(-r);
        if (!step.allFinite()) break;
        // A long way the map bends: no farther than a fifth of a reference at once.
        const double length = step.lpNorm<Eigen::Infinity>(), share = std::min(1.0, 0.2 / length);
        const Vector taken = share * step, next = x + taken;
        const Vector there = turn.miss(next);
        if (turn.logged) {
            result.reason = "on the way there the control did something else";
            return result;
        }
        const double now = there.lpNorm<Eigen::Infinity>();
        slope += (there - r - slope * taken) * taken.transpose() / taken.squaredNorm();
        x = next, r = there;
        const bool better = now < 0.5 * off || share < 1.0;
        off = now;
        if (!better && off > near_enough) {
            if (fresh) fresh = false;  // once more with what was learnt, then from differences again
            else differences();
        }
    }
    result.turns_run = turn.run;
    result.off = off;
    if (off > near_enough) {
        result.reason = fmt::format("no periodic state near: a turn still changes it by {:.1g}", off);
        return result;
    }
    const Matrix map = slope + Matrix::Identity();
    result.jacobian.resize(static_cast<std::size_t>(size * size));
    Eigen::Map<Matrix>(result.jacobian.data()) = map.transpose();
    result.multiplier = map.eigenvalues().cwiseAbs().maxCoeff();
    if (result.multiplier > shrinks) {
        result.reason = fmt::format("the periodic state there is unstable: what is beside it grows {:.4f} fold a turn",
                                    result.multiplier);
        return result;
    }
    // Some turns to see that it stays, that the slow looks of the control pass, and nothing is being counted.
    State found = turn.at(x);
    const double turns = std::ceil(watched_s / turn.period);
    plant.advance(found, found.t + turns * turn.period);
    result.turns_run += static_cast<int>(turns);
    const double drift = (turn.pick(found.x) - x).lpNorm<Eigen::Infinity>();
    if (drift > 50 * near_enough || found.control.logged != section.control.logged || about_to_stop(found.control)) {
        result.reason = "it does not stay there";
        return result;
    }
    found.slow.held = state.slow.held;
    state = found;
    result.found = true;
    return result;
}

void take_up(Plant& plant, State& state, const site::Site& neighbour, const State& running) {
    State s = running;
    s.slow = state.slow;
    s.slow.at = running.slow.at;
    s.water_level = state.water_level;
    s.x[i_turns] = 0.0;
    if (neighbour.source.open_V > 0.0) {
        const double ratio = plant.site().source.open_V / neighbour.source.open_V;
        s.control.start_V *= ratio;
        s.control.target_V *= ratio;
    }
    s.control.latched_V = state.control.latched_V;
    s.control.latches_known_V = state.control.latches_known_V;
    plant.adopt(s);
    plant.open_account(s);
    s.slow.account = s.sampled = s.energy;
    state = s;
}

namespace {

bool same_drive(const drive::DriveSettings& a, const drive::DriveSettings& b) {
    const auto all = [](const drive::DriveSettings& d) {
        return std::tuple(d.modulation, d.control, d.frequency, d.minimum_frequency, d.ramp, d.carrier, d.index, d.duty,
                          d.nominal_V, d.nominal_Hz, d.boost_V, d.dead_time, d.current_limit, d.start_V,
                          d.tracker_period, d.tracker_step, d.phase_loss_detection, d.tracker_stuck, d.enabled, d.on);
    };
    const auto more = [](const drive::DriveSettings& d) {
        return std::tuple(d.link_F, d.overvoltage_V, d.dropout_V, d.motor_A, d.motor_heating_s, d.heat_sink_limit_degC,
                          d.charge_s, d.low_sun_retry_s, d.dry_delay_s, d.dry_retry_s, d.tank_delay_s, d.tank_retry_s,
                          d.stall_s, d.phase_loss_s, d.trip_retry_s, d.trip_forget_s, d.trip_retries, d.voltage_gain,
                          d.current_gain, d.current_offset, d.commutation_offset, d.dead_time_extra, d.latches_V);
    };
    return all(a) == all(b) && more(a) == more(b);
}

bool like(double a, double b, double share) {
    return a == b || std::abs(a - b) <= share * std::max(std::abs(a), std::abs(b));
}

// Whether it turns with about as much torque at the same currents.
bool motors_alike(const site::Motor& a, const site::Motor& b) {
    constexpr double share = 0.3;
    if (const auto *m = std::get_if<motor::Induction>(&a), *n = std::get_if<motor::Induction>(&b); m && n)
        return m->pole_pairs == n->pole_pairs && like(m->Lm, n->Lm, share) && like(m->Rr, n->Rr, share) &&
               like(m->Lls, n->Lls, share) && like(m->Llr, n->Llr, share) && n->cage_asymmetry == m->cage_asymmetry &&
               m->saturation == n->saturation;
    if (const auto *m = std::get_if<motor::PermanentMagnet>(&a), *n = std::get_if<motor::PermanentMagnet>(&b); m && n)
        return m->pole_pairs == n->pole_pairs && like(m->flux, n->flux, 0.1) && like(m->Ld, n->Ld, share) &&
               like(m->Lq, n->Lq, share) && m->trapezoidal == n->trapezoidal;
    return false;
}

// Torque that has to be overcome before it turns, N m; and m that stand against it.
double breaks_away(const site::Works& w) {
    const double bearing = std::isnan(w.shaft.breakaway) ? 0.0 : w.shaft.breakaway;
    const double pump = std::visit(
        [](const auto& p) {
            if constexpr (requires { p.breakaway; }) return p.breakaway;
            else return 0.0;
        },
        w.water.pump);
    return bearing + pump + w.shaft.dry_friction + w.shaft.load_torque;
}

bool phases_alike(const site::Works& a, const site::Works& b) {
    constexpr double share = 0.25, none = site::open_above_ohm;
    for (std::size_t k = 0; k < 3; ++k) {
        const site::Phase &p = a.phases[k], &q = b.phases[k];
        const auto ohm = [](const site::Phase& x) {
            return x.terminal.through() + x.cable.through() + x.splice.through() + x.winding.through();
        };
        if (!(std::abs(ohm(q) - ohm(p)) <= share * ohm(p))) return false;
        if (q.earth_leak_ohm < none || q.between_leak_ohm < none || q.earth_cell_ohm < none) return false;
    }
    return a.core_at == b.core_at && !a.turns.on() && !b.turns.on();
}

// Largest rises of power along the source's curve.
int maxima(const site::SourceCurve& source) {
    const auto &v = source.grid(), &i = source.currents();
    int count = 0;
    for (std::size_t n = 1; n + 1 < v.size(); ++n)
        if (v[n] > 0.0 && v[n] * i[n] > v[n - 1] * i[n - 1] && v[n] * i[n] >= v[n + 1] * i[n + 1]) ++count;
    return count;
}

bool sources_alike(const site::Site& a, const site::Site& b) {
    if (b.works.supply.kind != a.works.supply.kind) return false;
    if (b.source.stiff || a.source.stiff) return a.source.stiff == b.source.stiff && a.source.stiff_V == b.source.stiff_V;
    const site::Works& w = b.works;
    constexpr double spare = 1.05;
    const double open = b.source.open_V;
    if (open < spare * w.drive.start_V || open < spare * drive::wake_over_dropout * w.drive.dropout_V) return false;
    if (w.drive.overvoltage_V > 0.0 && spare * open > w.drive.overvoltage_V &&
        open > a.source.open_V * 1.001)
        return false;
    return w.link.precharge_ohm <= 2 * a.works.link.precharge_ohm && like(w.link.farad, a.works.link.farad, 0.5) &&
           like(open, a.source.open_V, 0.1) && b.source.max_power_W > 0.85 * a.source.max_power_W && maxima(b.source) <= 1;
}

}  // namespace

bool starts_alike(const site::Site& runs, const site::Site& asked) {
    const site::Works &a = runs.works, &b = asked.works;
    for (std::size_t k = 0; k < 3; ++k)
        for (const drive::LegParts* leg : {&a.bridge.legs[k], &b.bridge.legs[k]})
            if (leg->upper != drive::Device::good || leg->lower != drive::Device::good) return false;
    const bool pumps = a.water.pump.index() == b.water.pump.index() && a.water.check_valve == b.water.check_valve;
    const bool guards = a.guards.says_dry() == b.guards.says_dry() && a.guards.says_full() == b.guards.says_full();
    const bool shaft = std::isnan(a.shaft.held_speed) && std::isnan(b.shaft.held_speed) &&
                       a.shaft.coupling_slip == b.shaft.coupling_slip && like(a.shaft.inertia, b.shaft.inertia, 0.3);
    return a.drive.control != site::Control::fixed && pumps && guards && shaft && same_drive(a.drive, b.drive) &&
           motors_alike(a.motor, b.motor) && breaks_away(b) <= 1.001 * breaks_away(a) && phases_alike(a, b) &&
           sources_alike(runs, asked);
}

bool Patience::operator()(double) {
    for (const drive::LogEntry& e : drive::log_since(state_->control, seen_))
        if (e.cause == drive::Cause::sun) starts_.push_back({e.t, e.value, state_->control.trips});
    seen_ = state_->control.logged;
    if (failed_again()) return false;
    hunts = no_trend();
    return !hunts;
}

// A start from the same volts as the one before, the shaft and the water having come to rest between them, with no trip
// counted that leads to a lock-out: all that follows is known.
bool Patience::failed_again() {
    const drive::ControlState& c = state_->control;
    if (!drive::turning(c.phase)) {
        const double still = 1e-3 * reference(*site_)[speed];
        rested_ = rested_ || (std::abs(state_->x[speed]) < still && std::abs(state_->x[flow]) < 1e-5);
        return false;
    }
    const bool again = rested_ && starts_.size() > 1;
    if (!again) return false;
    const Start &one = starts_[starts_.size() - 2], &two = starts_.back();
    rested_ = false;
    if (one.trips != two.trips || std::abs(one.volt - two.volt) > 5e-3 * one.volt) return false;
    cycle = two.t - one.t;
    return true;
}

// Over twelve looks the tracker's target has turned back more than once and come nowhere, and neither half of them
// brought more in or more out than the other by more than one of its steps brings.
bool Patience::no_trend() {
    const site::Works& w = site_->works;
    const drive::ControlState& c = state_->control;
    if (w.drive.control != site::Control::mppt) return false;
    samples_.push_back({state_->t, state_->energy[from_supply], state_->energy[lifted], c.target_V, c.logged});
    constexpr std::size_t looks = 12, half = looks / 2;
    if (samples_.size() < looks + 1) return false;
    const Sample* s = samples_.data() + samples_.size() - looks - 1;
    if (s[0].logged != s[looks].logged || c.phase != drive::Phase::running) return false;
    const auto rate = [&](std::size_t from, double Sample::* of) {
        return (s[from + half].*of - s[from].*of) / (s[from + half].t - s[from].t);
    };
    const double even = 0.2 * w.drive.tracker_step;
    for (double Sample::* of : {&Sample::supply_J, &Sample::lifted_J}) {
        const double one = rate(0, of), two = rate(half, of);
        if (std::abs(two - one) > even * std::max(std::abs(one), std::abs(two))) return false;
    }
    double first = 0.0, second = 0.0;
    for (std::size_t n = 1; n <= half; ++n) first += s[n].target_V, second += s[n + half].target_V;
    return std::abs(second / first - 1.0) < w.drive.tracker_step;
}

}  // namespace sunshaft::plant
