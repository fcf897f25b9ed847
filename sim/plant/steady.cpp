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
    if (std::holds_alternative<motor::DoubleCage>(w.motor)) return "two cages";
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
        const double from = s.x[theta], last = s.t + patience * 2 * std::numbers::pi / std::abs(pace(section_));
        const auto go = [&](double seconds) { plant_->advance(s, std::min(s.t + seconds, last)); };
        go(0.95 * 2 * std::numbers::pi / std::abs(pace(s)));
        for (int n = 0; n < 12; ++n) {
            const double left = std::remainder(from - s.x[theta], 2 * std::numbers::pi) / pace(s);
            if (!(left > 1e-13)) break;
            go(left);
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
    // A guess at which the rotor all but stands has no turn: one this much longer than the section's ends where it is.
    static constexpr double patience = 4.0;
    double pace(const State& s) const { return site::pole_pairs(plant_->site().works.motor) * s.x[speed]; }
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

namespace {

// Of what change() looks at.
Means mean(const std::vector<Means>& windows) {
    Means sum{};
    const double share = 1.0 / static_cast<double>(windows.size());
    for (const Means& m : windows) {
        for (std::size_t k = 0; k < 3; ++k)
            sum.line_rms[k] += share * m.line_rms[k], sum.current_rms[k] += share * m.current_rms[k];
        sum.link += share * m.link, sum.speed += share * m.speed, sum.flow += share * m.flow;
    }
    return sum;
}

}  // namespace

Stays runs_on(Plant& plant, State& state) {
    constexpr double window_s = 0.5, same = 1e-4, comes_and_goes = 5e-3;
    constexpr int most_windows = 10;
    if (!state.command.running || state.control.setting < 1.0) return Stays::no;
    const X ref = reference(plant.site());
    State s = state;
    s.slow.held = true;
    std::vector<Means> windows = {plant.average_turns(s, window_s)};
    const auto accept = [&](Stays how) {
        s.slow.held = state.slow.held;
        state = s;
        return how;
    };
    double before = 1.0;
    for (int n = 0; n < most_windows; ++n) {
        windows.push_back(plant.average_turns(s, window_s));
        const double moved = change(windows[windows.size() - 2], windows.back(), ref);
        if (about_to_stop(s.control) || s.control.logged != state.control.logged || s.control.setting < 0.99)
            return Stays::no;
        // Two in a row, and shrinking: it is where it will be.
        if (moved < same && before < 2 * same) return accept(Stays::even);
        before = moved;
    }
    // What beats with the slip is the same on the mean of some seconds.
    const auto half = windows.begin() + most_windows / 2 + 1;
    const Means one = mean({windows.begin() + 1, half}), two = mean({half, windows.end()});
    return change(one, two, ref) < comes_and_goes ? accept(Stays::beats) : Stays::no;
}

bool from_above(const site::SourceCurve& source, double link_V) {
    const auto &v = source.grid(), &i = source.currents();
    for (std::size_t n = 1; n + 1 < v.size(); ++n)
        if (v[n] > link_V && v[n] * i[n] > v[n - 1] * i[n - 1] && v[n] * i[n] >= v[n + 1] * i[n + 1]) return false;
    return true;
}

namespace {

bool within(const Means& a, const Means& b, double slack, const X& ref) {
    return std::abs(b.link - a.link) < slack * a.link &&
           std::abs(b.speed - a.speed) < slack * std::max(std::abs(a.speed), 0.1 * ref[speed]) &&
           std::abs(b.flow - a.flow) < 2 * slack * std::max(std::abs(a.flow), 0.1 * ref[flow]);
}

// A link held at one voltage: windows until three in a row are alike, or, where it swings about there, until the later
// half of them says what the earlier one does, step being how nearly. While it still comes nearer to where it is held
// (at_V; 0: nobody says) it is given some time more. last: the mean of what was compared.
Stays comes_to_rest(Plant& plant, State& s, double step, double at_V, Means& last) {
    constexpr double window_s = 0.2, in_a_row = 0.2, nearer = 0.8;
    constexpr int most = 16, settles = 6, rounds = 3;
    const X ref = reference(plant.site());
    for (int round = 0; round < rounds; ++round) {
        std::vector<Means> windows = {plant.average_turns(s, window_s)};
        for (int n = 1, alike = 0; n < most; ++n) {
            windows.push_back(plant.average_turns(s, window_s));
            if (about_to_stop(s.control) || !drive::turning(s.control.phase)) return Stays::no;
            last = windows.back();
            alike = within(windows[windows.size() - 2], last, in_a_row * step, ref) ? alike + 1 : 0;
            if (alike == 2) return Stays::even;
        }
        const auto half = windows.begin() + settles + (most - settles) / 2;
        const Means one = mean({windows.begin() + settles, half}), newest = last;
        last = mean({half, windows.end()});
        last.link_min = newest.link_min, last.link_max = newest.link_max;
        if (within(one, last, step, ref)) return Stays::beats;
        if (!(at_V > 0.0 && std::abs(last.link - at_V) < nearer * std::abs(one.link - at_V))) break;
    }
    return Stays::no;
}

// A link that ripples far up and down the array's curve has its best place elsewhere than one that stands still: up or
// down, as long as a step of the tracker brings more in. at_V: of the target, true.
void climb(Plant& plant, State& s, double step, Stays& how, Means& last, double& at_V) {
    constexpr double looks_s = 0.6, ripples = 0.04;
    constexpr int most_steps = 6;
    if (last.link_max - last.link_min < ripples * last.link) return;
    const auto brings = [&](State& there) {
        const double t = there.t, before = there.energy[from_supply] - there.energy[in_dc_run];
        plant.average_turns(there, looks_s);
        return (there.energy[from_supply] - there.energy[in_dc_run] - before) / (there.t - t);
    };
    double watt = brings(s);
    for (const double way : {1.0 - step, 1.0 + step}) {
        bool moved = false;
        for (int n = 0; n < most_steps; ++n) {
            State aside = s;
            aside.control.target_V *= way;
            Means there;
            const Stays stays = comes_to_rest(plant, aside, step, way * at_V, there);
            if (stays == Stays::no) break;
            const double more = brings(aside);
            if (!(more > watt)) break;
            s = aside, how = stays, last = there, watt = more, at_V *= way, moved = true;
        }
        if (moved) return;
    }
}

}  // namespace

Stays regulated(Plant& plant, State& state, double at_V) {
    const drive::DriveSettings& d = plant.site().works.drive;
    const bool tracks = d.control == site::Control::mppt;
    if (d.control == site::Control::fixed || (tracks && !(at_V > 0.0)) || !state.command.running) return Stays::no;
    const double step = d.tracker_step;
    State s = state;
    s.slow.held = true;
    s.control.last_V = s.control.energy = s.control.volt_s = s.control.averaging = 0.0;
    // The tracker stands still meanwhile: about its voltage it goes to and fro by a step or two, for ever.
    constexpr double never = 1e9;
    s.control.tracker_time = s.t + never;
    const long logged = s.control.logged;
    if (tracks) s.control.target_V = at_V * d.voltage_gain;
    Means last;
    Stays how = comes_to_rest(plant, s, step, tracks ? at_V : 0.0, last);
    const auto off = [&] { return tracks ? last.link / at_V : 1.0; };
    // A link with ripple rests beside its target: a tracker that climbs looks at the power, and moves its target until
    // the link lies right.
    const bool climbs = tracks && d.tracker == site::Tracker::perturb_and_observe && d.tracker_stuck == 0.0;
    constexpr int most_targets = 3;
    for (int n = 0; climbs && how != Stays::no && n < most_targets && std::abs(off() - 1.0) > 0.3 * step; ++n) {
        s.control.target_V /= off();
        how = comes_to_rest(plant, s, step, at_V, last);
    }
    if (climbs && how != Stays::no) climb(plant, s, step, how, last, at_V);
    if (std::abs(off() - 1.0) > (climbs ? step : 2 * step)) return Stays::no;
    // Not lifted off by an output that has volts to spare.
    if (how == Stays::no || s.control.setting >= 1.0 || s.control.logged > logged + 1) return Stays::no;
    s.control.tracker_time = s.t;
    s.slow.held = state.slow.held;
    state = s;
    return how;
}

bool Patience::operator()(double) {
    for (const drive::LogEntry& e : drive::log_since(state_->control, seen_))
        if (e.cause == drive::Cause::sun) starts_.push_back({e.t, e.value, state_->control.trips});
    seen_ = state_->control.logged;
    if (failed_again()) return false;
    const bool none = no_trend();
    const bool steps = site_->works.drive.control == site::Control::mppt &&
                       (state_->control.phase == drive::Phase::running || touches_);
    hunts = none && steps;
    swings = none && !steps;
    return !none;
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

bool Patience::no_trend() {
    constexpr double apart_s = 1.0;
    if (!samples_.empty() && state_->t - samples_.back().t < 0.99 * apart_s) return false;
    samples_.push_back({state_->t, state_->energy[from_supply], state_->energy[lifted], state_->control.target_V,
                        state_->control.logged});
    // A swing that takes as long as a half is a trend of the short one.
    return even(6, 0.2) || even(20, 0.5);
}

// Over the last looks neither half brought more in or more out than the other: than one step of a tracker brings, whose
// target has come nowhere meanwhile.
bool Patience::even(std::size_t looks, double of_a_step) {
    const site::Works& w = site_->works;
    const drive::ControlState& c = state_->control;
    const std::size_t half = looks / 2;
    if (samples_.size() < looks + 1 || !drive::turning(c.phase) || c.phase == drive::Phase::soft_start) return false;
    const Sample* s = samples_.data() + samples_.size() - looks - 1;
    // An array that just reaches the ceiling goes up to it and down again for ever, as its tracker has it.
    const auto of_the_ceiling = [](const drive::LogEntry& e) {
        return e.cause == drive::Cause::at_ceiling || e.cause == drive::Cause::below_ceiling;
    };
    const auto since = drive::log_since(c, s[0].logged);
    if (!std::all_of(since.begin(), since.end(), of_the_ceiling)) return false;
    touches_ = !since.empty();
    const bool steps = w.drive.control == site::Control::mppt && (c.phase == drive::Phase::running || touches_);
    const double share = touches_ ? 0.5 * w.drive.tracker_step : steps ? of_a_step * w.drive.tracker_step : 1e-3;
    constexpr double little = 0.1;  // of what is brought in: so little lifted counts no more
    const auto rate = [&](std::size_t from, double Sample::*of) {
        return (s[from + half].*of - s[from].*of) / (s[from + half].t - s[from].t);
    };
    const double fed = little * std::abs(rate(half, &Sample::supply_J));
    for (double Sample::*of : {&Sample::supply_J, &Sample::lifted_J}) {
        const double one = rate(0, of), two = rate(half, of);
        if (std::abs(two - one) > share * std::max({std::abs(one), std::abs(two), fed})) return false;
    }
    if (!steps) return true;
    double first = 0.0, second = 0.0;
    for (std::size_t n = 1; n <= half; ++n) first += s[n].target_V, second += s[n + half].target_V;
    return std::abs(second / first - 1.0) < w.drive.tracker_step;
}

}  // namespace sunshaft::plant
