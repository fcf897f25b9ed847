#include "plant/steady.hpp"

#include <fmt/format.h>

#include <Eigen/Eigenvalues>
#include <Eigen/LU>
#include <algorithm>
#include <array>
#include <cmath>
#include <numbers>
#include <tuple>

namespace sunshaft::plant {
namespace {

// The states that come back after a turn: all but the rotor's angle, which slips, or by which the turn is told.
constexpr std::array<std::size_t, 7> kept = {i_alpha, i_beta, v_cap, speed, flow, psi_alpha, psi_beta};
constexpr auto size = static_cast<Eigen::Index>(kept.size());
using Vector = Eigen::Matrix<double, size, 1>;
using Matrix = Eigen::Matrix<double, size, size>;

constexpr double near_enough = 2e-6;  // change over a period, of the reference: the noise of the steps is below
constexpr double aside = 2e-3;        // for the differences that make the first Jacobian, of the reference
constexpr double told_apart = 2e-4;   // a step from which the map's slope can be learnt for all that noise
constexpr int most_rounds = 14;
constexpr double shrinks = 0.9999;  // a multiplier that passes for stable
// Change over the time watched, of the reference. Where the rotor leads, the instant of a commutation is foretold from
// the speed by windows that do not begin alike in every turn; it averages out.
constexpr double stays = 1e-4, stays_led = 2e-3;
constexpr double watched_s = 0.12;  // the control has looked at its line currents at least once

// Why there is no period to look for; empty: there is one.
std::string no_period(const site::Site& site, const State& s) {
    const site::Works& w = site.works;
    const drive::DriveSettings& d = w.drive;
    const bool leads = site::self_commutated(w.motor);
    const auto* cage = std::get_if<motor::Induction>(&w.motor);
    if (w.supply.kind == site::Supply::Kind::mains) return "the mains turn the field";
    if (cage && cage->cage_asymmetry != 0.0) return "a broken cage beats with the slip";
    if (!cage && !leads) return "a motor that follows the field in step";
    if (w.turns.on()) return "bridged turns";
    if (!s.command.running || s.command.frequency == 0.0) return "the output is off";
    // With a rotor that leads, the link's ripple lets the amplitude dip now and then, by less than shows.
    const double full = leads ? 0.999 : 1.0;
    if (d.control != site::Control::fixed && s.control.setting < full) return "the control still moves the output";
    if (leads && (s.command.amplitude < full || !s.command.follow)) return "the control still moves the output";
    const double a_turn = d.carrier / std::abs(s.command.frequency);
    const bool carried = d.modulation != site::Modulation::six_step_180 &&
                         d.modulation != site::Modulation::six_step_120 && d.modulation != site::Modulation::ideal_sine;
    if (leads && carried) return "the carrier does not turn with the rotor";
    if (!leads && (carried || s.command.amplitude < 1.0) && std::abs(a_turn - std::round(a_turn)) > 1e-9)
        return "the carrier is no multiple of the frequency";
    return "";
}

// A turn of the field from a section on, as a map of the kept states. A window of the modulator begins there, so that
// all that follows hangs on the state. A field turned from outside comes back after a time, one that the rotor leads
// where the rotor stands again; there the section lies between two commutations.
class Turn {
  public:
    Turn(Plant& plant, const State& section) : plant_(&plant), section_(section), scale_(reference(plant.site())) {
        section_.slow.held = true;
        leads_ = site::self_commutated(plant.site().works.motor);
        if (!leads_) {
            period = 1.0 / std::abs(section.command.frequency);
            return;
        }
        lay_out(plant, section_);
        plant.advance(section_, 0.5 * (section_.t + section_.window.end));
        section_.window.end = section_.t;
    }
    Vector pick(const X& x) const {
        Vector v = Vector::Zero();
        for (Eigen::Index n = 0; n < in_use(); ++n) v[n] = x[kept[index(n)]] / scale_[kept[index(n)]];
        return v;
    }
    State at(const Vector& v) const {
        State s = section_;
        for (Eigen::Index n = 0; n < in_use(); ++n) s.x[kept[index(n)]] = v[n] * scale_[kept[index(n)]];
        plant_->adopt(s);  // an open phase's current is nothing
        return s;
    }
    void pass(State& s) const {
        if (!leads_) return plant_->advance(s, s.t + period);
        const double from = s.x[theta];
        const auto pace = [&] { return site::pole_pairs(plant_->site().works.motor) * s.x[speed]; };
        plant_->advance(s, s.t + 0.95 * 2 * std::numbers::pi / std::abs(pace()));
        for (int n = 0; n < 12; ++n) {
            const double left = std::remainder(from - s.x[theta], 2 * std::numbers::pi) / pace();
            if (!(left > 1e-13)) break;
            plant_->advance(s, s.t + left);
        }
        s.window.end = s.t;
    }
    // Where a turn leads from there, less where it began.
    Vector miss(const Vector& v) {
        State s = at(v);
        pass(s);
        ++run;
        logged = s.control.logged != section_.control.logged;
        if (leads_) period = s.t - section_.t;
        return pick(s.x) - v;
    }
    const State& section() const { return section_; }
    double period = 0.0;
    int run = 0;
    bool logged = false;

    static void lay_out(Plant& plant, State& s) { plant.advance(s, std::nextafter(s.t, 2 * s.t + 1.0)); }

  private:
    static std::size_t index(Eigen::Index n) { return static_cast<std::size_t>(n); }
    Eigen::Index in_use() const { return leads_ ? size - 2 : size; }  // magnets have no flux of their own to move
    Plant* plant_;
    State section_;
    X scale_;
    bool leads_ = false;
};

// Newton's method on a turn's map, with its Jacobian as it is learnt.
class Shooting {
  public:
    Matrix slope;  // of miss(): the map's Jacobian less one
    bool known = false;
    Vector x, r;
    double off = 0.0;

    // False: the control did something else meanwhile.
    bool converge(Turn& turn) {
        x = turn.pick(turn.section().x);
        r = turn.miss(x);
        if (!known) differences(turn);
        bool fresh = !known;
        known = true;
        off = r.lpNorm<Eigen::Infinity>();
        for (int round = 0; round < most_rounds && off > near_enough; ++round) {
            const Vector step = slope.fullPivLu().solve(-r);
            if (!step.allFinite()) break;
            // A long way the map bends: no farther than a fifth of a reference at once.
            const double length = step.lpNorm<Eigen::Infinity>(), share = std::min(1.0, 0.2 / length);
            const Vector taken = share * step, there = turn.miss(x + taken);
            if (turn.logged) return false;
            const double now = there.lpNorm<Eigen::Infinity>();
            if (taken.lpNorm<Eigen::Infinity>() > told_apart)
                slope += (there - r - slope * taken) * taken.transpose() / taken.squaredNorm();
            x += taken, r = there;
            // Close by, where the noise of the steps blurs what is gained, a further round costs less than a new
            // Jacobian.
            const bool better = now < 0.5 * off || share < 1.0 || now < 30 * near_enough;
            off = now;
            if (better || off <= near_enough) continue;
            if (fresh) fresh = false;  // once more with what was learnt, then from differences again
            else differences(turn), fresh = true;
        }
        return true;
    }
    double multiplier() const { return (slope + Matrix::Identity()).eigenvalues().cwiseAbs().maxCoeff(); }
    void differences(Turn& turn) {
        for (Eigen::Index n = 0; n < size; ++n) {
            Vector beside = x;
            beside[n] += aside;
            slope.col(n) = (turn.miss(beside) - r) / aside;
        }
    }
};

}  // namespace

bool about_to_stop(const drive::ControlState& c) {
    return c.dry_s > 0.0 || c.float_s > 0.0 || c.stall_s > 0.0 || c.lost_s > 0.0 || c.low_s > 0.0;
}

Periodic periodic(Plant& plant, State& state, const Periodic* neighbour) {
    Periodic result;
    result.reason = no_period(plant.site(), state);
    if (!result.reason.empty()) return result;
    State section = state;
    section.slow.held = true;
    Shooting shooting;
    shooting.known = neighbour && neighbour->jacobian.size() == static_cast<std::size_t>(size * size);
    if (shooting.known)
        shooting.slope = Eigen::Map<const Matrix>(neighbour->jacobian.data()).transpose() - Matrix::Identity();
    // To where a window begins, and a turn on: what the change itself brought dies away.
    plant.advance(section, section.window.end);
    plant.advance(section, section.t + 1.0 / std::abs(section.command.frequency));
    if (section.t < section.window.end) plant.advance(section, section.window.end);
    // What the control remembers moves on only between the rounds: from where the last one led.
    constexpr int most_sections = 4;
    for (int round = 0; round < most_sections; ++round) {
        result.reason = no_period(plant.site(), section);
        if (!result.reason.empty()) return result;
        Turn turn(plant, section);
        const bool same = shooting.converge(turn);
        result.period = turn.period;
        result.turns_run += turn.run;
        result.off = shooting.off;
        if (!same) result.reason = "on the way there the control did something else";
        else if (shooting.off > near_enough)
            result.reason = fmt::format("no periodic state near: a turn still changes it by {:.1g}", shooting.off);
        if (!result.reason.empty()) return result;
        result.multiplier = shooting.multiplier();
        if (result.multiplier > shrinks) {  // which what was learnt on the way may only feign
            const int before = turn.run;
            shooting.differences(turn);
            result.turns_run += turn.run - before;
            result.multiplier = shooting.multiplier();
        }
        const Matrix map = shooting.slope + Matrix::Identity();
        result.jacobian.resize(static_cast<std::size_t>(size * size));
        Eigen::Map<Matrix>(result.jacobian.data()) = map.transpose();
        if (result.multiplier > shrinks) {
            result.reason = fmt::format(
                "the periodic state there is unstable: what is beside it grows {:.4f} fold a turn", result.multiplier);
            return result;
        }
        // Some turns to see that it stays, that the slow looks of the control pass, and nothing is being counted.
        State found = turn.at(shooting.x);
        const int turns = static_cast<int>(std::ceil(watched_s / turn.period));
        for (int n = 0; n < turns; ++n) turn.pass(found);
        result.turns_run += turns;
        const double drift = (turn.pick(found.x) - shooting.x).lpNorm<Eigen::Infinity>();
        if (found.control.logged != section.control.logged || about_to_stop(found.control)) {
            result.reason = "it does not stay there: the control is about to do something else";
            return result;
        }
        if (drift <= (site::self_commutated(plant.site().works.motor) ? stays_led : stays)) {
            found.slow.held = state.slow.held;
            state = found;
            result.found = true;
            return result;
        }
        result.reason = fmt::format("it does not stay there: {:.1g} off after {} turns", drift, turns);
        section = found;
    }
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

// Largest change from one window to the next, of the larger of value and a tenth of the reference.
double change(const Means& a, const Means& b, const X& ref) {
    double worst = 0.0;
    const auto look = [&](double x, double y, double scale) {
        worst = std::max(worst, std::abs(x - y) / std::max({std::abs(x), std::abs(y), 0.1 * scale}));
    };
    for (std::size_t k = 0; k < 3; ++k) {
        look(a.line_rms[k], b.line_rms[k], ref[v_cap]);
        look(a.current_rms[k], b.current_rms[k], ref[i_alpha]);
    }
    look(a.link, b.link, ref[v_cap]);
    look(a.speed, b.speed, ref[speed]);
    look(a.flow, b.flow, ref[flow]);
    return worst;
}

}  // namespace

bool runs_on(Plant& plant, State& state) {
    constexpr double window_s = 0.5, same = 1e-4;
    constexpr int most_windows = 10;
    if (!state.command.running || state.control.setting < 1.0) return false;
    const X ref = reference(plant.site());
    State s = state;
    s.slow.held = true;
    Means last = plant.average_turns(s, window_s);
    double before = 1.0;
    for (int n = 0; n < most_windows; ++n) {
        const Means now = plant.average_turns(s, window_s);
        const double moved = change(last, now, ref);
        if (about_to_stop(s.control) || s.control.logged != state.control.logged || s.control.setting < 0.99)
            return false;
        // Two in a row, and shrinking: it is where it will be.
        if (moved < same && before < 2 * same) {
            s.slow.held = state.slow.held;
            state = s;
            return true;
        }
        before = moved, last = now;
    }
    return false;
}

bool from_above(const site::SourceCurve& source, double link_V) {
    const auto &v = source.grid(), &i = source.currents();
    for (std::size_t n = 1; n + 1 < v.size(); ++n)
        if (v[n] > link_V && v[n] * i[n] > v[n - 1] * i[n - 1] && v[n] * i[n] >= v[n + 1] * i[n + 1]) return false;
    return true;
}

bool hunting(Plant& plant, State& state) {
    const site::Site& site = plant.site();
    const drive::DriveSettings& d = site.works.drive;
    const double best = site.source.max_power_V;
    if (d.control != site::Control::mppt || d.tracker != drive::Tracker::perturb_and_observe || d.tracker_stuck > 0.0 ||
        !(best > 0.0) || !state.command.running)
        return false;
    const double lowest = drive::lowest_target * state.control.start_V,
                 highest = drive::highest_target * state.control.start_V;
    if (best < lowest || best > highest || !from_above(site.source, best * 1.001)) return false;
    State s = state;
    s.slow.held = true;
    s.control.target_V = best;
    s.control.last_V = s.control.energy = s.control.volt_s = s.control.averaging = 0.0;
    s.control.tracker_time = s.t;
    const long logged = s.control.logged;
    plant.advance(s, s.t + 1.5);
    const double span = std::max(1.0, 4 * d.tracker_period);
    const Means one = plant.average_turns(s, span), two = plant.average_turns(s, span);
    const X ref = reference(site);
    const double slack = d.tracker_step;
    const bool steady = std::abs(two.link - one.link) < slack * one.link &&
                        std::abs(two.speed - one.speed) < slack * std::max(std::abs(one.speed), 0.1 * ref[speed]) &&
                        std::abs(two.flow - one.flow) < 2 * slack * std::max(std::abs(one.flow), 0.1 * ref[flow]);
    // A tracker at its best point: neither at an end of its range nor lifted off by an output that has volts to spare.
    const bool there = std::abs(s.control.target_V / best - 1.0) < 4 * slack &&
                       std::abs(two.link / s.control.target_V - 1.0) < 2 * slack && s.control.setting < 1.0;
    if (!steady || !there || about_to_stop(s.control) || s.control.logged > logged + 1 ||
        s.control.phase != drive::Phase::running)
        return false;
    s.slow.held = state.slow.held;
    state = s;
    return true;
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
                          d.current_gain, d.current_offset, d.commutation_offset, d.dead_time_extra, d.latches_V,
                          d.tracker, d.tracker_V, d.tracker_share, d.low_load_W);
    };
    return all(a) == all(b) && more(a) == more(b);
}

bool like(double a, double b, double share) {
    return a == b || std::abs(a - b) <= share * std::max(std::abs(a), std::abs(b));
}

// Whether it turns with about as much torque at the same currents.
bool motors_alike(const site::Motor& a, const site::Motor& b) {
    constexpr double share = 0.3;
    if (const auto* m = std::get_if<motor::Induction>(&a), *n = std::get_if<motor::Induction>(&b); m && n)
        return m->pole_pairs == n->pole_pairs && like(m->Lm, n->Lm, share) && like(m->Rr, n->Rr, share) &&
               like(m->Lls, n->Lls, share) && like(m->Llr, n->Llr, share) && n->cage_asymmetry == m->cage_asymmetry &&
               m->saturation == n->saturation;
    if (const auto* m = std::get_if<motor::PermanentMagnet>(&a), *n = std::get_if<motor::PermanentMagnet>(&b); m && n)
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
    // Held against starts on the shipped sites up to here; far beyond, a phase is as good as lost.
    constexpr double share = 1.2, none = site::open_above_ohm;
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

bool sources_alike(const site::Site& a, const site::Site& b) {
    if (b.works.supply.kind != a.works.supply.kind) return false;
    if (b.source.stiff || a.source.stiff)
        return a.source.stiff == b.source.stiff && a.source.stiff_V == b.source.stiff_V;
    const site::Works& w = b.works;
    constexpr double spare = 1.05;
    const double open = b.source.open_V;
    if (open < spare * w.drive.start_V || open < spare * drive::wake_over_dropout * w.drive.dropout_V) return false;
    if (w.drive.overvoltage_V > 0.0 && spare * open > w.drive.overvoltage_V && open > a.source.open_V * 1.001)
        return false;
    return w.link.precharge_ohm <= 2 * a.works.link.precharge_ohm && like(w.link.farad, a.works.link.farad, 0.5) &&
           like(open, a.source.open_V, 0.1) && b.source.max_power_W > 0.5 * a.source.max_power_W;
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

// Over six looks the tracker's target has come nowhere, and neither half of them
// brought more in or more out than the other by more than one of its steps brings.
bool Patience::no_trend() {
    const site::Works& w = site_->works;
    const drive::ControlState& c = state_->control;
    if (w.drive.control != site::Control::mppt) return false;
    samples_.push_back({state_->t, state_->energy[from_supply], state_->energy[lifted], c.target_V, c.logged});
    constexpr std::size_t looks = 6, half = looks / 2;
    if (samples_.size() < looks + 1) return false;
    const Sample* s = samples_.data() + samples_.size() - looks - 1;
    if (s[0].logged != s[looks].logged || c.phase != drive::Phase::running) return false;
    const auto rate = [&](std::size_t from, double Sample::*of) {
        return (s[from + half].*of - s[from].*of) / (s[from + half].t - s[from].t);
    };
    const double even = 0.2 * w.drive.tracker_step;
    for (double Sample::*of : {&Sample::supply_J, &Sample::lifted_J}) {
        const double one = rate(0, of), two = rate(half, of);
        if (std::abs(two - one) > even * std::max(std::abs(one), std::abs(two))) return false;
    }
    double first = 0.0, second = 0.0;
    for (std::size_t n = 1; n <= half; ++n) first += s[n].target_V, second += s[n + half].target_V;
    return std::abs(second / first - 1.0) < w.drive.tracker_step;
}

}  // namespace sunshaft::plant
