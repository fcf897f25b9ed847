// Implementation of driver.hpp: windows, switching, leg modes.
#pragma once

#include <fmt/format.h>

#include <numbers>

namespace sunshaft::plant {

template <class Machine>
Driver<Machine>::Driver(const site::Site& site, const Machine& machine, const Options& options)
    : chain(site, machine),
      options_(options),
      reference_(reference(site)),
      block_(*chain.compiled()),
      no_current_(2e-5 * reference_[i_alpha]) {
    // The link's ripple is often a hundredth of its voltage and still something a meter shows: the tolerances of the
    // link follow what the reference current makes of it, through the capacitor over a sixth of a period or the
    // source's resistance. Pieces show it; steps may be coarser, since a link that is off goes back by itself.
    X scale = reference_;
    if (!site.source.stiff) {
        const double source = 1.0 / std::max(1e-9, -site.source.net_slope(0.9 * site.source.open_V));
        const double capacitor = 1.0 / (6 * std::max(1.0, site.works.drive.frequency) * site.source.farad);
        const double ripple = reference_[i_alpha] * (site.source.esr + std::min(source, capacitor));
        scale[v_cap] = std::clamp(2 * ripple, 0.01 * scale[v_cap], scale[v_cap]);
    }
    look_through(site.works.core_at);
    senses_ = Senses::of(site);
    for (std::size_t n = 0; n < state_size; ++n) dense_weight_[n] = 1.0 / (options.relative * scale[n]);
    dense_weight_[v_cap] *= 0.25;
    for (const std::size_t n : {i_alpha, i_beta, v_cap}) piece_weight_[n] = 1.0 / (options.piece * scale[n]);
    // The error measure of ros2w is that of its embedded first-order method, h^2/2 x'': far above the error of the
    // result, of which a fifth is a safe guess, and four times the bend of the curve over the step, which becomes one
    // piece. Built from the damped stages, it stays meaningful where the start derivative of a stiff mode says nothing.
    for (std::size_t n = 0; n < state_size; ++n)
        short_weight_[n] = std::max(0.2 * dense_weight_[n], 0.25 * piece_weight_[n]);
    reach_ = {series_reach(2), series_reach(3), series_reach(4), series_reach(6), series_reach(10)};
    source_band_ = 1e-3 * reference_[v_cap] * std::sqrt(options.relative / 4e-4);
}

// cos(view - j 120 deg) has to be what stands at drive terminal j: cos(theta - core_at[j] 120 deg).
template <class Machine>
void Driver<Machine>::look_through(const std::array<int, 3>& core_at) {
    const bool even = (core_at[1] - core_at[0] + 3) % 3 == 1;
    view_sense_ = even ? 1.0 : -1.0;
    view_shift_ = -view_sense_ * core_at[0] * 2 * std::numbers::pi / 3;
}

template <class Machine>
void Driver<Machine>::begin_window(State& s) {
    const site::Works& w = chain.site.works;
    s.x[theta] -= 2 * std::numbers::pi * std::floor(s.x[theta] / (2 * std::numbers::pi));
    s.window_start = s.t;
    s.next_edge = 0;
    load_until_ = s.t;
    if (s.t - allowed_from_ >= 5e-3) allow_steps(s);
    if (s.t - s.slow.at >= slow_period) {
        look_slow(chain.site, s);
        chain.follow(s);
    }
    if (w.supply.kind == site::Supply::Kind::mains) {
        s.window = {};
        s.window.end = s.t + 5e-3;
        chain.sine = {
            true, true, 0.0, 2 * std::numbers::pi * w.supply.frequency, 0.0, std::sqrt(2.0 / 3.0) * w.supply.voltage};
        s.legs = {drive::Leg::upper, drive::Leg::upper, drive::Leg::upper};
        chain.set_legs(s.legs);
        chain.project(s.x);
        return;
    }
    const Point p = chain.point(s.t, s.x);
    drive::Measured m;
    m.link_V = p.link;
    const motor::Vec3 windings = motor::phases({s.x[i_alpha], s.x[i_beta]}), legs = chain.leg_currents(p);
    const Energies booked = since(s.energy, s.sampled);
    const double span = s.t - s.sampled_at;
    for (std::size_t k = 0; k < 3; ++k) {
        const auto core = static_cast<std::size_t>(w.core_at[k]);
        m.line_A[k] = chain.sine.on ? windings[core] : legs[k];
        m.line_A2[k] = span > 1e-9 ? std::max(0.0, line_square(booked, core) + booked[square_beside_u + k]) / span
                                   : m.line_A[k] * m.line_A[k];
    }
    m.source_W = span > 1e-9 ? (booked[from_supply] - booked[in_dc_run]) / span : 0.0;
    s.sampled = s.energy;
    s.sampled_at = s.t;
    const double seen_speed = view_sense_ * chain.machine.pole_pairs * s.x[speed];  // electrical rad/s
    m.electrical_Hz = seen_speed / (2 * std::numbers::pi);
    m.heat_sink_degC = s.slow.heat_sink_degC;
    m.flow = s.x[flow];
    m.dry_open = site::Guards::reads_open(s.slow.dry_V);
    m.float_open = site::Guards::reads_open(s.slow.float_V);
    constexpr bool follow = Machine::self_commutated;
    if (senses_) [[unlikely]] {
        senses_->sample(s, m);
        if (senses_->listens()) m.emf_V = senses_->emf(chain, s, p, span);
    }
    const double image = s.control.heat;
    s.command = drive::update(w.drive, follow, s.control, s.t, m);
    if (s.slow.held) s.control.heat = image;  // temperatures stand still, the drive's image of one too
    chain.follow(s);
    const drive::Rotor rotor{follow && s.command.follow,
                             view_sense_ * s.x[theta] + view_shift_ + w.drive.commutation_offset, seen_speed};
    drive::next_window(w.drive, s.modulator, s.t, s.command, rotor, s.window);
    chain.sine = {};
    if (s.window.sine) {
        chain.sine = {true, false, s.window.angle0, s.window.omega, s.t, s.window.amplitude};
        s.legs = {drive::Leg::upper, drive::Leg::upper, drive::Leg::upper};
        s.gates = {drive::Gate::off, drive::Gate::off, drive::Gate::off};
        s.modulator.wanted = s.gates;
        chain.set_legs(s.legs);
        chain.project(s.x);
    }
}

template <class Machine>
bool Driver<Machine>::apply_edges(State& s) {
    bool any = false;
    while (s.next_edge < s.window.count) {
        const drive::Edge& e = s.window.edges[static_cast<std::size_t>(s.next_edge)];
        if (e.t > s.t + 1e-13) break;
        s.gates[static_cast<std::size_t>(e.leg)] = e.gate;
        ++s.next_edge;
        any = true;
    }
    if (any) settle_legs(s);
    return any;
}

// After the gates changed: a leg with both gates off carries on through the diode its current asks for.
template <class Machine>
void Driver<Machine>::settle_legs(State& s) {
    using drive::Gate;
    using drive::Leg;
    const site::Works& w = chain.site.works;
    bool off = false;
    motor::Vec3 leg_i{};
    for (std::size_t k = 0; k < 3; ++k) {
        const Gate g = w.bridge.legs[k].effective(s.gates[k]);
        if (g != Gate::off) {
            s.legs[k] = g == Gate::upper ? Leg::upper : Leg::lower;
            continue;
        }
        if (!off) leg_i = chain.leg_currents(chain.point(s.t, s.x));  // as they were before the switching
        off = true;
        s.legs[k] = leg_i[k] < -no_current_ ? Leg::diode_up : (leg_i[k] > no_current_ ? Leg::diode_down : Leg::blocked);
    }
    chain.set_legs(s.legs);
    chain.project(s.x);
    if (off && chain.row->floating) after_event(s);
}

// One leg at a time, the worst first: behind a short between two cores the currents of their legs hang together, and
// what one lets go the other may have to carry. A current that would have nowhere to go takes the leg's other diode.
template <class Machine>
void Driver<Machine>::release(State& s) {
    using drive::Leg;
    for (int round = 0; round < 4; ++round) {
        const motor::Vec3 leg_i = chain.leg_currents(chain.point(s.t, s.x));
        std::size_t worst = 3;
        double most = -no_current_;
        for (std::size_t k = 0; k < 3; ++k) {
            if (s.legs[k] != Leg::diode_up && s.legs[k] != Leg::diode_down) continue;
            const double wrong = s.legs[k] == Leg::diode_up ? leg_i[k] : 0.0 - leg_i[k];
            if (wrong > most) most = wrong, worst = k;
        }
        if (worst == 3) break;
        const Leg other = s.legs[worst] == Leg::diode_up ? Leg::diode_down : Leg::diode_up;
        s.legs[worst] = Leg::blocked;
        chain.set_legs(s.legs);
        X rest = s.x;
        chain.project(rest);
        if (std::hypot(rest[i_alpha] - s.x[i_alpha], rest[i_beta] - s.x[i_beta]) > 10 * no_current_) {
            s.legs[worst] = other;
            chain.set_legs(s.legs);
        }
    }
    chain.project(s.x);
}

// Lets conduct what the floating voltages drive, the most eager leg first, until nothing changes.
template <class Machine>
void Driver<Machine>::after_event(State& s) {
    using drive::Leg;
    const double drop = chain.site.works.bridge.diode_drop, slack = 1e-6 * reference_[v_cap];
    for (int round = 0; round < 6 && chain.row->floating; ++round) {
        const Terminals n = chain.terminals(chain.point(s.t, s.x));
        std::size_t high = 3, low = 3;
        if (chain.row->driven == 0) {
            // Nothing holds the star point: only a pair can conduct, through both rails.
            high = low = 0;
            for (std::size_t k = 1; k < 3; ++k) {
                if (n.drive[k] > n.drive[high]) high = k;
                if (n.drive[k] < n.drive[low]) low = k;
            }
            if (!(n.drive[high] - n.drive[low] > n.link + 2 * drop + slack)) return;
            s.legs[high] = Leg::diode_up;
            s.legs[low] = Leg::diode_down;
        } else {
            double over = slack, under = slack;
            for (std::size_t k = 0; k < 3; ++k) {
                if (s.legs[k] != Leg::blocked) continue;
                const double above = n.drive[k] - n.link - drop, below = -drop - n.drive[k];
                if (above > over) over = above, high = k;
                if (below > under) under = below, low = k;
            }
            if (high < 3 && over >= under) s.legs[high] = Leg::diode_up;
            else if (low < 3) s.legs[low] = Leg::diode_down;
            else return;
        }
        chain.set_legs(s.legs);
        chain.project(s.x);
    }
}

// A shaft that turned has come to rest, or more pulls at one that stands than holds it. What is left of either speed or
// torque is nothing.
template <class Machine>
void Driver<Machine>::settle_shaft(State& s) {
    double& w = s.x[speed];
    const auto sign = [](double x) { return static_cast<std::int8_t>((x > 0.0) - (x < 0.0)); };
    if (!chain.free_shaft() || std::abs(w) > 1e-4 * reference_[speed] || (s.turning == 0 && w != 0.0))
        s.turning = sign(w);
    else if (s.turning * w <= 0.0) {
        w = 0.0;
        const double pull = chain.pull(s.x);
        s.turning = std::abs(pull) > chain.hold() ? sign(pull) : std::int8_t{0};
    }
    if (chain.turning == s.turning) return;
    chain.turning = s.turning;
    load_until_ = s.t;
}

template <class Machine>
inline double Driver<Machine>::violation(const drive::Legs& legs, const Point& p) const {
    using drive::Leg;
    double worst = -1e300;
    if (chain.free_shaft() && shaft_due(p)) {
        worst = chain.turning != 0.0 ? -chain.turning * p.x[speed] / reference_[speed]
                                     : (std::abs(chain.pull(p.x)) - chain.hold()) / reference_torque(reference_);
        worst -= 1e-9;
    }
    if (!chain.row->floating) {
        const motor::Vec3 i = chain.leg_currents(p);
        for (std::size_t k = 0; k < 3; ++k) {
            if (legs[k] == Leg::diode_up) worst = std::max(worst, i[k] / reference_[i_alpha]);
            if (legs[k] == Leg::diode_down) worst = std::max(worst, -i[k] / reference_[i_alpha]);
        }
        return worst;
    }
    const Terminals n = chain.terminals(p);
    const double drop = chain.site.works.bridge.diode_drop;
    double high = -1e300, low = 1e300, amperes = -1e300;
    for (std::size_t k = 0; k < 3; ++k) {
        if (legs[k] == Leg::diode_up) amperes = std::max(amperes, n.leg_i[k]);
        if (legs[k] == Leg::diode_down) amperes = std::max(amperes, -n.leg_i[k]);
        if (legs[k] != Leg::blocked) continue;
        high = std::max(high, n.drive[k]);
        low = std::min(low, n.drive[k]);
    }
    const double volts = chain.row->driven == 0 ? high - low - n.link - 2 * drop : std::max(high - n.link, -low) - drop;
    return std::max({worst, amperes / reference_[i_alpha], volts / reference_[v_cap] - 2e-6});
}

template <class Machine>
Method Driver<Machine>::choose(const State& s, double span) const {
    if (options_.method != Method::automatic) return options_.method;
    // Measured: short stretches between the edges of PWM, and after a commutation, are ros2w's. Those of a chopped
    // block, on and off, are all alike, and an explicit step over one is both quicker and a hundred times nearer.
    const bool chopped = s.window.count <= 2 && (s.window.end - s.window_start) * chain.site.works.drive.carrier < 1.01;
    if (span < load_lasts && !chopped) return Method::ros2w;
    // Nothing flows: what is left is the link on its source, which an explicit step only jitters about.
    if (chain.row->driven == 0 && chain.stiffness(s.x, s.t) * span > 1.0)
        return span < 2e-3 ? Method::ros2w : Method::ra34pw2;
    // Measured: explicit steps stay ahead up to here; where a stretch is short the layer at its start is most of it.
    if (chain.stiffness(s.x, s.t) * span < 12.0) return Method::dopri5;
    return span < 1e-3 ? Method::ros2w : Method::ra34pw2;
}

template <class Machine>
void Driver<Machine>::check_finite(const X& x, double t) const {
    for (std::size_t n = 0; n < state_size; ++n)
        if (!std::isfinite(x[n]))
            throw SolverError(text::say("the solver lost the {} at t = {:.9g} s{}", text::tr(state_name[n]), t,
                                        advice(chain.site, n)));
}

template <class Machine>
void Driver<Machine>::give_up(const X& x, const X& error, const X& weight, double t) const {
    check_finite(x, t);
    std::size_t worst = 0;
    for (std::size_t n = 0; n < states; ++n)
        if (std::abs(error[n]) * weight[n] > std::abs(error[worst]) * weight[worst]) worst = n;
    throw SolverError(text::say("the solver cannot follow the {} at t = {:.9g} s{}", text::tr(state_name[worst]), t,
                                advice(chain.site, worst)));
}

template <class Machine>
void Driver<Machine>::allow_steps(const State& s) {
    allowed_from_ = s.t;
    most_steps_ = s.steps + 50'000;
}

// The load of the next little while: around where speed and flow will be in the middle of it, and by how much it
// follows the speed, which every pulse of torque lifts and lets sink again.
template <class Machine>
void Driver<Machine>::refresh_load(const Point& p, double until, double lasts) {
    load_until_ = std::min(p.t + lasts, std::max(until, p.t));
    X d, middle = p.x;
    chain.rates(p, d);
    for (const std::size_t n : {speed, flow}) middle[n] += 0.5 * (load_until_ - p.t) * d[n];
    load_ = chain.load(middle);
    // Behind a shut valve the flow comes to rest far sooner than that: y is half the time over its time constant. Then
    // the straight line to the middle is far beyond rest, and its torque nobody's; in place of it the mean on the way
    // to rest, and its mean rate, d (1 - exp(-2 y)) / (2 y).
    const double y = d[flow] != 0.0 ? 1.0 - load_.flow_rate / d[flow] : 0.0;
    const bool rests = y > 0.1 && std::abs(d[flow]) * (load_until_ - p.t) > 0.05 * std::abs(p.x[flow]);
    const double on_the_way = rests ? -std::expm1(-2 * y) / (2 * y) : 1.0;
    if (rests) {
        middle[flow] = p.x[flow] + d[flow] * 0.5 * (load_until_ - p.t) / y * (1.0 - on_the_way);
        load_ = chain.load(middle);
    }
    load_speed_ = middle[speed];
    const double aside = 1e-4 * reference_[speed];
    middle[speed] += load_speed_ < 0.0 ? -aside : aside;  // away from where friction turns over
    const Load faster = chain.load(middle);
    const double per_speed = 1.0 / (middle[speed] - load_speed_);
    load_slope_ = {(faster.torque - load_.torque) * per_speed, (faster.flow_rate - load_.flow_rate) * per_speed};
    if (rests) load_.flow_rate = d[flow] * on_the_way, load_slope_.flow_rate = 0.0;
    load_flow_ = middle[flow], load_by_flow_ = {};
    if (chain.load_rate() == 0.0 || rests || load_.flow_rate == 0.0) return;  // a check valve is shut
    middle[speed] = load_speed_;
    const double more = 1e-4 * reference_[flow];
    middle[flow] += more;
    const Load fuller = chain.load(middle);
    load_by_flow_ = {(fuller.torque - load_.torque) / more, (fuller.flow_rate - load_.flow_rate) / more};
}

// What the water still had when the check valve shut on it goes into the pipe.
template <class Machine>
void Driver<Machine>::shut_check_valve(State& s) {
    if (!(s.x[flow] < 0.0) || !chain.site.works.water.check_valve) return;
    const double before = chain.stored(s.x);
    s.x[flow] = 0.0;
    s.energy[in_pipe] += before - chain.stored(s.x);
}

// Shaft and water: over a window of PWM, or a step of the other methods, which resolve the shaft's ripple.
template <class Machine>
void Driver<Machine>::book_slow(State& s) {
    X middle = booked_x_;
    for (const std::size_t n : {speed, flow}) middle[n] = 0.5 * (booked_x_[n] + s.x[n]);
    // Each pulse of torque lifts the speed and lets it sink again: the mean lies beside both ends, and the angle knows
    // it. The middle is what gives Simpson's rule that mean.
    if (const double span = s.t - booked_t_; span > 0.0) {
        const double expected = chain.machine.pole_pairs * middle[speed] * span;
        const double beside = std::remainder(s.x[theta] - booked_x_[theta] - expected, 2 * std::numbers::pi);
        middle[speed] += 1.5 * beside / (chain.machine.pole_pairs * span);
    }
    book_slow(s, middle);
}

template <class Machine>
void Driver<Machine>::book_slow(State& s, const X& middle) {
    if (s.t > booked_t_) chain.account_slow(s.t - booked_t_, booked_x_, middle, s.x, s.energy);
    shut_check_valve(s);
    booked_t_ = s.t, booked_x_ = s.x;
}

// What the chain has to know of a state before it can work on it.
template <class Machine>
void Driver<Machine>::take_up(Chain<Machine>& chain, const State& s) {
    chain.set_legs(s.legs);
    chain.follow(s);
    if (s.window.sine && s.t < s.window.end)
        chain.sine = {true, false, s.window.angle0, s.window.omega, s.window_start, s.window.amplitude};
    else if (chain.site.works.supply.kind != site::Supply::Kind::mains) chain.sine = {};
}

template <class Machine>
void Driver<Machine>::open_window(State& s) {
    take_up(chain, s);
    if (s.t >= s.window.end) begin_window(s);
}

template <class Machine>
template <class Stretch>
void Driver<Machine>::advance_with(State& s, double until, Stretch&& stretch) {
    take_up(chain, s);
    check_finite(s.x, s.t);
    settle_shaft(s);
    allow_steps(s);
    load_until_ = s.t;
    double last_event = -1.0;
    int chatter = 0;
    booked_t_ = s.t, booked_x_ = s.x;
    struct Book {  // however it ends
        Driver& driver;
        State& s;
        ~Book() { driver.book_slow(s); }
    } book{*this, s};
    while (s.t < until) {
        if (s.t >= s.window.end) {
            book_slow(s);
            begin_window(s);
        }
        start_ = apply_edges(s) ? Start::switched : (s.t == last_event ? Start::event : Start::resumed);
        double stop = std::min(s.window.end, until);
        if (s.next_edge < s.window.count)
            stop = std::min(stop, s.window.edges[static_cast<std::size_t>(s.next_edge)].t);
        if (stop - s.t < 1e-14) {
            s.t = stop;
            continue;
        }  // rounding left it over: nothing moves in so short a time
        if (!stretch(s, stop)) continue;
        ++s.events;
        release(s);
        after_event(s);
        settle_shaft(s);
        chatter = s.t - last_event < 1e-9 ? chatter + 1 : 0;
        last_event = s.t;
        if (chatter > 100)
            throw SolverError(
                text::say("the diodes find no state at t = {:.9g} s{}", s.t, advice(chain.site, i_alpha)));
    }
}

template <class Machine>
void Driver<Machine>::adopt(State& s) {
    sense(chain.site, s);
    chain.keep(s.x, X{});
    chain.follow(s);
    chain.set_legs(s.legs);
    // The modulator has counted the present window's angle already: it is finished, or the output would jump in phase.
    if (chain.site.works.supply.kind == site::Supply::Kind::mains) s.window.end = s.t;
    if (s.window.sine && s.t < s.window.end) chain.project(s.x);
    else settle_legs(s);
    settle_shaft(s);
}

}  // namespace sunshaft::plant
