#include "plant/run.hpp"

#include <algorithm>
#include <cmath>
#include <numbers>
#include <utility>

#include "plant/advance.hpp"

namespace sunshaft::plant {

namespace {
// A driver for each motor there is, and each with bridged turns.
template <class Motor>
struct Each;
template <class... Machines>
struct Each<std::variant<Machines...>> {
    using Drivers = std::variant<Driver<Machines>..., Driver<motor::Bridged<Machines>>...>;
};
using Drivers = Each<site::Motor>::Drivers;

Drivers make(const site::Site& site, const Options& options) {
    const motor::BridgedTurns& turns = site.works.turns;
    // a winding that is open carries nothing past its bridge
    const bool bridged = turns.on() && !site.phases.winding_open(turns.phase);
    return std::visit(
        [&](const auto& m) -> Drivers {
            using Machine = std::decay_t<decltype(m)>;
            if (bridged) return Driver<motor::Bridged<Machine>>(site, {m, turns}, options);
            return Driver<Machine>(site, m, options);
        },
        site.works.motor);
}
}  // namespace

struct Plant::Impl {
    Drivers driver;
    template <class Sink>
    void advance(State& state, double until, Sink& sink) {
        std::visit([&]<class Machine>(Driver<Machine>& d) { Advance<Machine>::on(d, state, until, sink); }, driver);
    }
};

// What a step may be wrong by, and a piece may bend, of which the statistics lose the square.
Options options_for(const site::Site& site) {
    Options o;
    o.piece *= std::sqrt(site.scenario.solver.tolerance / o.relative);
    o.relative = site.scenario.solver.tolerance;
    return o;
}

Plant::Plant(std::shared_ptr<const site::Site> site)  // NOLINT(performance-unnecessary-value-param): both need it
    : Plant(site, options_for(*site)) {}
Plant::Plant(std::shared_ptr<const site::Site> site, const Options& options)
    : site_(std::move(site)), impl_(new Impl{make(*site_, options)}) {}
Plant::~Plant() = default;
Plant::Plant(Plant&&) noexcept = default;
Plant::Plant(const Plant& other) : site_(other.site_), impl_(new Impl(*other.impl_)) {}

X reference(const site::Site& site) {
    const site::Works& w = site.works;
    X r{};
    const double v = w.supply.kind == site::Supply::Kind::mains ? std::sqrt(2.0) * w.supply.voltage
                     : site.source.stiff                        ? site.source.stiff_V
                                                                : std::max(site.source.open_V, 1.0);
    const double f = std::max(1.0, w.drive.frequency);
    const motor::Scale scale =
        std::visit([&](const auto& m) { return m.scale(v, f, w.phases[0].winding.ohm); }, w.motor);
    r[speed] = scale.speed;
    r[i_alpha] = r[i_beta] = scale.current;
    r[v_cap] = v;
    r[psi_alpha] = r[psi_beta] = r[outer_alpha] = r[outer_beta] = scale.flux;
    r[theta] = 1.0;
    r[flow] = 1e-3;
    r[i_turns] = scale.current;
    return r;
}

State Plant::start() const {
    State s;
    const site::Works& w = site_->works;
    s.x[v_cap] = site_->source.stiff ? site_->source.stiff_V : site_->source.open_V;
    if (std::isfinite(w.shaft.held_speed)) s.x[speed] = w.shaft.held_speed;
    start_slow(*site_, s);
    s.window.end = 0.0;
    return s;
}

void Plant::adopt(State& s) {
    if (site_->source.stiff) s.x[v_cap] = site_->source.stiff_V;
    if (std::isfinite(site_->works.shaft.held_speed)) s.x[speed] = site_->works.shaft.held_speed;
    if (site_->works.water.pump.index() == 0) s.x[flow] = 0.0;  // nothing lifts water any more
    std::visit([&](auto& d) { d.adopt(s); }, impl_->driver);
}

void Plant::advance(State& state, double until) {
    NoSink sink;
    impl_->advance(state, until, sink);
}
void Plant::advance(State& state, double until, Recorder& recorder) { impl_->advance(state, until, recorder); }

void Plant::step(State& state, double longest, Recorder& recorder) {
    const double from = state.t;
    double stop = from + longest;
    if (from >= state.window.end) {  // a new window begins at once: let it be laid out
        advance(state, std::nextafter(from, from + 1.0), recorder);
    }
    for (int n = state.next_edge; n < state.window.count; ++n) {
        const double t = state.window.edges[static_cast<std::size_t>(n)].t;
        if (t > state.t + 1e-12) {
            stop = std::min(stop, t);
            break;
        }
    }
    stop = std::min(stop, state.window.end);
    advance(state, std::max(stop, std::nextafter(state.t, state.t + 1.0)), recorder);
}

Instant Plant::look(const State& s) const {
    Instant n;
    n.t = s.t;
    n.control = s.control;
    n.slow = s.slow;
    n.water_level = s.water_level;
    n.static_head = static_head(*site_, s);
    n.command = s.command;
    n.electrical_Hz = fundamental(*this, s);
    std::visit(
        [&](const auto& d) {
            const auto c = d.chain_at(s);
            n.nodes = c.nodes(s.x, s.t);
            n.torque = c.torque(s.x);
            n.load = c.load_torque(s.x);
            n.head = c.pump_head(s.x);
            c.powers(s.x, s.t, n.power);
            n.flux = c.field(s.x);
            const double f = n.electrical_Hz;
            n.slip = c.machine.self_commutated || f <= 0.0
                         ? std::numeric_limits<double>::quiet_NaN()
                         : 1.0 - c.machine.pole_pairs * s.x[speed] / (2 * std::numbers::pi * f);
        },
        impl_->driver);
    n.speed = s.x[speed];
    n.flow = s.x[flow];
    n.current = {s.x[i_alpha], s.x[i_beta]};
    return n;
}

std::vector<double> Plant::read(const State& s, const std::vector<Signal>& signals) const {
    std::vector<double> out;
    out.reserve(signals.size());
    std::visit(
        [&](const auto& d) {
            const auto c = d.chain_at(s);
            const Eyes eyes(c, s.x, s.t);
            for (const Signal& signal : signals) out.push_back(eyes(signal));
        },
        impl_->driver);
    return out;
}

double Plant::stored(const State& s) const {
    return std::visit([&](const auto& d) { return d.chain_at(s).stored(s.x); }, impl_->driver);
}

void Plant::open_account(State& s) const {
    // Those who look at the account from time to time go on with what they have not seen yet.
    s.sampled = since(s.sampled, s.energy);
    s.slow.account = since(s.slow.account, s.energy);
    s.energy.fill(0.0);
    s.energy_start = s.t;
    s.stored_at_start = stored(s);
}

double Plant::energy_gap(const State& s) const {
    const double kept = stored(s) - s.stored_at_start;
    double out = kept, turned_over = std::max(1e-3, std::abs(kept));
    for (std::size_t n = 0; n < energy_size; ++n) {
        if (n != in_splice) turned_over = std::max(turned_over, std::abs(s.energy[n]));
        if (n != from_supply && n != in_splice) out += s.energy[n];
    }
    return (s.energy[from_supply] - out) / turned_over;
}

double fundamental(const Plant& plant, const State& s) {
    const site::Works& w = plant.site().works;
    if (w.supply.kind == site::Supply::Kind::mains) return w.supply.frequency;
    if (site::self_commutated(w.motor))
        return site::pole_pairs(w.motor) * std::abs(s.x[speed]) / (2 * std::numbers::pi);
    return s.command.running ? std::abs(s.command.frequency) : 0.0;
}

Means Plant::average(State& state, double seconds) {
    Summer sum;
    impl_->advance(state, state.t + seconds, sum);
    return sum.finish();
}

namespace {
// Seconds of `turns` whole turns are not known beforehand when the rotor leads: run, see how far it came, run the rest.
// A rotor that runs down meanwhile never gets there: after twice the time it would have taken the window ends where it
// is.
template <class Sink>
void whole_turns(Plant& plant, State& state, double seconds, Sink&& run) {
    const double f = fundamental(plant, state);
    if (f < 1.0) return run(std::max(seconds, 0.1));
    const double turns = std::max(1.0, std::ceil(seconds * f - 1e-9));
    const site::Motor& motor = plant.site().works.motor;
    if (!site::self_commutated(motor)) return run(turns / f);
    double left = 2 * std::numbers::pi * turns, last = state.x[theta];
    const double until = state.t + 2 * turns / f;
    while (left > 1e-9 && state.t < until) {
        const double before = state.t, pace = site::pole_pairs(motor) * state.x[speed], wait = until - before;
        // Short of half a turn, so that the angle's remainder tells how far it came: from a radian back to five on.
        run(std::abs(pace) * wait > std::min(left, 2.5) ? std::min(left, 2.5) / std::abs(pace) : wait);
        if (!(state.t > before)) return;
        // water running back turns it backwards
        double moved = pace >= 0.0 ? state.x[theta] - last : last - state.x[theta];
        moved -= 2 * std::numbers::pi * std::floor((moved + 1.0) / (2 * std::numbers::pi));
        last = state.x[theta];
        left -= moved;
    }
}
}  // namespace

Means Plant::average_turns(State& state, double seconds) {
    Summer sum;
    whole_turns(*this, state, seconds, [&](double s) { impl_->advance(state, state.t + s, sum); });
    return sum.finish();
}

void Plant::advance_turns(State& state, double seconds, Recorder& recorder) {
    whole_turns(*this, state, seconds, [&](double s) { advance(state, state.t + s, recorder); });
}

namespace {
constexpr double rest_within = 1e-4;   // of the larger of value and reference
constexpr double rest_noise = 2e-6;    // changes as small as this tell nothing about what is still to come
constexpr long most_work = 8'000'000;  // steps, some seconds of time

// Of a value at three times one lag apart: whether it is where it will be. What goes to its end as a geometric series
// with the ratio r of successive changes has |last change| r / (1 - r) still to go: a slow one moves little from one
// time to the next, and far in the end (A. C. Aitken, Proc. R. Soc. Edinburgh 46 (1926) 289).
bool at_rest(double first, double second, double third, double reference) {
    const double scale = std::max(std::abs(third), reference);
    const double before = second - first, last = third - second;
    if (std::abs(last) > rest_within * scale) return false;
    if (std::abs(last) <= rest_noise * scale && std::abs(before) <= 2 * rest_noise * scale) return true;
    if (last * before <= 0.0) return true;  // swings about its end
    return std::abs(last) < std::abs(before) && last * last <= rest_within * scale * std::abs(before - last);
}
}  // namespace

Settled settle(Plant& plant, State& state, double longest, const std::function<bool(double)>& progress) {
    Settled result;
    const X ref = reference(plant.site());
    const site::Works& w = plant.site().works;
    const bool hunting = w.drive.control == site::Control::mppt, mains = w.supply.kind == site::Supply::Kind::mains;
    const double start = state.t;
    const long work = state.steps + state.events;
    struct Hold {  // well, tank and temperatures stand still meanwhile
        Slow& slow;
        const bool before = std::exchange(slow.held, true);
        ~Hold() { slow.held = before; }
    } hold{state.slow};
    std::vector<Means> windows;
    // one window before: a single agreement may be a swing's turning point
    bool was_same = false, was_link_same = false;
    while (state.t - start < longest && state.steps + state.events - work < most_work) {
        const double f = fundamental(plant, state);
        windows.push_back(plant.average_turns(state, hunting ? std::max(1.0, 4 * w.drive.tracker_period) : 0.1));
        const double f_after = fundamental(plant, state);
        const Means& now = windows.back();
        result.last = now;
        // Compared over a sixth of the time so far: what takes seconds shows over seconds.
        const std::size_t count = windows.size(), lag = 1 + count / 6;
        const double seen_V = now.link * w.drive.voltage_gain;
        if (count > 2 * lag && state.t - start > 0.3 && (mains || !drive::passing(w.drive, state.control, seen_V))) {
            const Means &one = windows[count - 1 - 2 * lag], &two = windows[count - 1 - lag];
            bool same = std::abs(f_after - f) <= 1e-3 * std::max(f, 1.0) || hunting;
            for (std::size_t k = 0; k < 3 && same; ++k) {
                same = at_rest(one.line_rms[k], two.line_rms[k], now.line_rms[k], 0.01 * ref[v_cap]) &&
                       at_rest(one.current_rms[k], two.current_rms[k], now.current_rms[k], ref[i_alpha]) &&
                       at_rest(one.current_mean[k], two.current_mean[k], now.current_mean[k], ref[i_alpha]);
            }
            same = same && at_rest(one.speed, two.speed, now.speed, 0.1 * ref[speed]) &&
                   at_rest(one.flow, two.flow, now.flow, 0.1 * ref[flow]);
            const bool link_same = at_rest(one.link, two.link, now.link, 0.01 * ref[v_cap]);
            const double fed = w.supply.kind == site::Supply::Kind::array ? plant.look(state).nodes.source_i : 1.0;
            result.discharging =
                same && now.link < two.link && !state.command.running && std::abs(fed) < 1e-3 * ref[i_alpha];
            result.settled = same && link_same && was_same && was_link_same;
            if (result.settled) break;
            was_same = same, was_link_same = link_same;
        }
        if (progress && !progress((state.t - start) / longest)) break;
    }
    result.discharging = result.discharging && !result.settled;
    result.settled = result.settled || result.discharging;
    result.seconds = state.t - start;
    return result;
}

}  // namespace sunshaft::plant
