// Implementation of driver.hpp.
#pragma once

#include <fmt/format.h>

#include <numbers>

namespace sunshaft::plant {

// The two methods with dense output, as dense() wants them.
namespace detail {
template <class F>
struct Dopri {
    static constexpr int order = 5;
    odeint::runge_kutta_dopri5<X, double, X, double, odeint::array_algebra>& rk;
    void take(const F& f, const X& x, const X& d, double t, X& x1, X& d1, double h, X& error) {
        rk.do_step(std::cref(f), x, d, t, x1, d1, h, error);
    }
    void at(double sigma, const X& x, const X& d, double t, const X& x1, const X& d1, double h, X& out) {
        rk.calc_state(t + sigma * h, out, x, d, t, x1, d1, t + h);
    }
    void next(const F&, const X&, double, const X& d1, X& d) { d = d1; }
};

template <class F>
struct Implicit {
    static constexpr int order = 3;
    rosenbrock_w<Ra34pw2, X>& ros;
    void take(const F& f, const X& x, const X& d, double t, X& x1, X&, double h, X& error) {
        ros.step(f, x, d, t, x1, h, error);
    }
    void at(double sigma, const X& x, const X&, double, const X&, const X&, double, X& out) { ros.interpolate(x, sigma, out); }
    void next(const F& f, const X& x, double t, const X&, X& d) { f(x, d, t); }
};
}  // namespace detail

template <class Machine>
Driver<Machine>::Driver(const site::Site& site, const Machine& machine, const Options& options)
    : chain(site, machine), options_(options), reference_(reference(site)) {
    piece_i_ = 1.0 / (options.piece * reference_[i_alpha]);
    piece_v_ = 1.0 / (options.piece * reference_[v_cap]);
    tol_.relative = options.relative;
    for (std::size_t n = 0; n < state_size; ++n) tol_.absolute[n] = options.relative * reference_[n];
}

template <class Machine>
void Driver<Machine>::begin_window(State& s) {
    const site::Works& w = chain.site.works;
    s.x[theta] -= 2 * std::numbers::pi * std::floor(s.x[theta] / (2 * std::numbers::pi));
    if (w.supply.kind == site::Supply::Kind::mains) {
        s.window = {};
        s.window.end = s.t + 5e-3;
        s.window_start = s.t;
        chain.sine = {true, true, 0.0, 2 * std::numbers::pi * w.supply.frequency, 0.0, std::sqrt(2.0 / 3.0) * w.supply.voltage};
        s.legs = {drive::Leg::upper, drive::Leg::upper, drive::Leg::upper};
        chain.set_legs(s.legs);
        chain.project(s.x);
        return;
    }
    drive::Measured m;
    m.link_V = chain.link_voltage(s.x, s.t);
    m.source_A = chain.site.source.source_current(m.link_V);
    const motor::Vec3 i = motor::phases({s.x[i_alpha], s.x[i_beta]});
    m.current_peak_A = std::max({std::abs(i[0]), std::abs(i[1]), std::abs(i[2])});
    m.electrical_Hz = chain.machine.pole_pairs * s.x[speed] / (2 * std::numbers::pi);
    s.command = drive::update(w.drive, Machine::position_dependent, s.control, s.t, m);
    const drive::Rotor rotor{Machine::position_dependent, s.x[theta], chain.machine.pole_pairs * s.x[speed]};
    s.window = drive::next_window(w.drive, s.modulator, s.t, s.command, rotor);
    s.window_start = s.t;
    s.next_edge = 0;
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
void Driver<Machine>::apply_edges(State& s) {
    bool any = false;
    while (s.next_edge < s.window.count) {
        const drive::Edge& e = s.window.edges[static_cast<std::size_t>(s.next_edge)];
        if (e.t > s.t + 1e-13) break;
        s.gates[static_cast<std::size_t>(e.leg)] = e.gate;
        ++s.next_edge;
        any = true;
    }
    if (any) settle_legs(s);
}

// After the gates changed: a leg with both gates off carries on through the diode its current asks for.
template <class Machine>
void Driver<Machine>::settle_legs(State& s) {
    using drive::Gate;
    using drive::Leg;
    const site::Works& w = chain.site.works;
    bool diodes = false;
    motor::Vec3 leg_i{};
    for (std::size_t k = 0; k < 3; ++k) {
        const Gate g = w.bridge.legs[k].effective(s.gates[k]);
        if (g == Gate::upper) s.legs[k] = Leg::upper;
        else if (g == Gate::lower) s.legs[k] = Leg::lower;
        else {
            if (!diodes) {
                chain.set_legs(s.legs);
                leg_i = chain.nodes(s.x, s.t).leg_i;
            }
            diodes = true;
            // Below a thousandth of the reference it counts as none.
            const double least = 1e-4 * reference_[i_alpha];
            s.legs[k] = leg_i[k] < -least ? Leg::diode_up : (leg_i[k] > least ? Leg::diode_down : Leg::blocked);
        }
    }
    chain.set_legs(s.legs);
    if (diodes) after_event(s);
    else chain.project(s.x);
}

// Blocks diodes whose current is gone, lets conduct what the floating voltages drive, until nothing changes.
template <class Machine>
void Driver<Machine>::after_event(State& s) {
    using drive::Leg;
    const double drop = chain.site.works.bridge.diode_drop;
    chain.project(s.x);
    for (int round = 0; round < 6; ++round) {
        const Nodes n = chain.nodes(s.x, s.t);
        const double slack = 1e-6 * reference_[v_cap];
        std::size_t high = 3, low = 3;
        double over = slack, under = slack;
        int driven = 0, blocked = 0;
        for (std::size_t k = 0; k < 3; ++k) {
            if (s.legs[k] != Leg::blocked) { ++driven; continue; }
            ++blocked;
            const double v = n.v[site::PhaseNode::drive + k];
            if (v - n.link - drop > over) over = v - n.link - drop, high = k;
            if (-drop - v > under) under = -drop - v, low = k;
        }
        if (blocked == 0) break;
        bool changed = false;
        if (driven == 0) {
            // Nothing holds the star point: only a pair can conduct, through both rails.
            double most = -1e300, least = 1e300;
            for (std::size_t k = 0; k < 3; ++k) {
                const double v = n.v[site::PhaseNode::drive + k];
                if (v > most) most = v, high = k;
                if (v < least) least = v, low = k;
            }
            if (most - least > n.link + 2 * drop + slack && high != low) {
                s.legs[high] = Leg::diode_up;
                s.legs[low] = Leg::diode_down;
                changed = true;
            }
        } else if (high < 3 && over >= under) {
            s.legs[high] = Leg::diode_up;
            changed = true;
        } else if (low < 3) {
            s.legs[low] = Leg::diode_down;
            changed = true;
        }
        if (!changed) break;
        chain.set_legs(s.legs);
        chain.project(s.x);
    }
}

// Largest breach of what the present leg modes assume, in units of the reference current or voltage; > 0: event.
template <class Machine>
double Driver<Machine>::violation(const drive::Legs& legs, const X& x, double t) const {
    using drive::Leg;
    const motor::Vec3 i = motor::phases({x[i_alpha], x[i_beta]});
    double worst = -1e300;
    bool blocked = false;
    int driven = 0;
    for (std::size_t k = 0; k < 3; ++k) {
        if (legs[k] == Leg::blocked) { blocked = true; continue; }
        ++driven;
        if (legs[k] != Leg::diode_up && legs[k] != Leg::diode_down) continue;
        double leg_i = 0.0;
        for (std::size_t j = 0; j < 3; ++j) leg_i += chain.row->net->B[k][j] * i[j];
        worst = std::max(worst, (legs[k] == Leg::diode_up ? leg_i : -leg_i) / reference_[i_alpha]);
    }
    if (blocked) {
        const Nodes n = chain.nodes(x, t);
        const double drop = chain.site.works.bridge.diode_drop;
        if (driven == 0) {
            const auto& v = n.v;
            const double span = std::max({v[0], v[1], v[2]}) - std::min({v[0], v[1], v[2]});
            worst = std::max(worst, (span - n.link - 2 * drop) / reference_[v_cap] - 2e-6);
        } else {
            for (std::size_t k = 0; k < 3; ++k) {
                if (legs[k] != Leg::blocked) continue;
                const double v = n.v[site::PhaseNode::drive + k];
                worst = std::max(worst, std::max(v - n.link, -v) / reference_[v_cap] - drop / reference_[v_cap] - 2e-6);
            }
        }
    }
    return worst;
}

template <class Machine>
Method Driver<Machine>::choose(const State& s, double span) const {
    if (options_.method != Method::automatic) return options_.method;
    if (span < 2.5e-4) return Method::ros2w;
    double j[9];
    chain.block(s.x, s.t, j);
    double stiffness = 0.0;
    for (int n = 0; n < 3; ++n)
        stiffness = std::max(stiffness, std::abs(j[4 * n]));
    return stiffness * span > 12.0 ? Method::ra34pw2 : Method::dopri5;
}

template <class Machine>
void Driver<Machine>::check_finite(const X& x, double t) const {
    for (std::size_t n = 0; n < state_size; ++n)
        if (!std::isfinite(x[n])) throw SolverError(fmt::format("the solver lost the {} at t = {:.9g} s", state_name[n], t));
}

template <class Machine>
double Driver<Machine>::chord_error(const X& x0, const X& mid, const X& x1) const {
    const double a = std::abs(mid[i_alpha] - 0.5 * (x0[i_alpha] + x1[i_alpha])) * piece_i_;
    const double b = std::abs(mid[i_beta] - 0.5 * (x0[i_beta] + x1[i_beta])) * piece_i_;
    const double v = std::abs(mid[v_cap] - 0.5 * (x0[v_cap] + x1[v_cap])) * piece_v_;
    return std::max({a, b, v});
}

template <class Machine>
template <class Sink>
void Driver<Machine>::emit(State& s, Sink& sink, double t0, const X& x0, double t1, const X& x1) {
    sink.piece(chain, t0, x0, t1, x1);
    // Energy: over a piece the state is linear and power mostly quadratic in it. The midpoint will do while currents
    // change little; two Gauss points are exact for the rest.
    const double dt = t1 - t0, da = x1[i_alpha] - x0[i_alpha], db = x1[i_beta] - x0[i_beta];
    const double sa = x1[i_alpha] + x0[i_alpha], sb = x1[i_beta] + x0[i_beta];
    const bool swings = da * da + db * db > 1e-3 * (sa * sa + sb * sb) + 1e-5 * reference_[i_alpha] * reference_[i_alpha];
    X x;
    Energies p;
    for (int k = 0; k < (swings ? 2 : 1); ++k) {
        const double f = swings ? (k ? 0.78867513459481288 : 0.21132486540518712) : 0.5;
        for (std::size_t n = 0; n < state_size; ++n) x[n] = x0[n] + f * (x1[n] - x0[n]);
        chain.powers(x, t0 + f * dt, p);
        const double weight = swings ? 0.5 * dt : dt;
        for (std::size_t n = 0; n < energy_size; ++n) s.energy[n] += p[n] * weight;
    }
    ++s.pieces;
}

// Steps of ros2w, each one piece. Returns true when an event stopped it before `stop`.
template <class Machine>
template <class Sink>
bool Driver<Machine>::short_steps(State& s, double stop, Sink& sink) {
    X d, x1, error;
    while (s.t < stop) {
        chain(s.x, d, s.t);
        double h = std::min(step_, stop - s.t);
        if (stop - s.t < 1.01 * h) h = stop - s.t;
        for (;;) {
            ros2w_.step(chain, s.x, d, s.t, x1, h, error);
            ++s.steps;
            const double m = tol_.measure(error, x1) * 0.1;  // the embedded method is of first order: a pessimist
            X chord;
            for (std::size_t n = 0; n < 3; ++n) chord[n] = 0.25 * (x1[n] - s.x[n] - h * d[n]);
            // The start derivative of a stiff mode says nothing about the chord: only the error measure counts there.
            const double bend = std::max(std::max(std::abs(chord[0]), std::abs(chord[1])) * piece_i_, std::abs(chord[2]) * piece_v_);
            const double worst = std::max(m, std::min(bend, 4.0 * m + 0.5));
            if (worst <= 1.0) {
                if (h == step_ || worst > 0.3) step_ = h * step_factor(worst, 2);
                else step_ = std::max(step_, h * step_factor(worst, 2));
                break;
            }
            if (!std::isfinite(worst)) check_finite(x1, s.t);
            h *= std::max(0.2, 0.9 / std::sqrt(worst));
            step_ = h;
            if (h < 1e-13) throw SolverError(fmt::format("the step size went to nothing at t = {:.9g} s", s.t));
        }
        double t1 = s.t + h;
        if (stop - t1 < 1e-14) t1 = stop;
        bool event = false;
        if (chain.row->watched && violation(s.legs, x1, t1) > 0.0) {
            // Redo the step ever shorter until it ends at the event.
            double lo = 0.0, hi = h, glo = violation(s.legs, s.x, s.t), ghi = violation(s.legs, x1, t1);
            for (int n = 0; n < 60 && hi - lo > 1e-10; ++n) {
                double mid = glo < 0.0 && n % 3 != 2 ? lo + (hi - lo) * glo / (glo - ghi) : 0.5 * (lo + hi);
                mid = std::clamp(mid, lo + 0.02 * (hi - lo), hi - 0.02 * (hi - lo));
                X xm;
                ros2w_.step(chain, s.x, d, s.t, xm, mid, error);
                const double g = violation(s.legs, xm, s.t + mid);
                if (g > 0.0) hi = mid, ghi = g, x1 = xm;
                else lo = mid, glo = g;
                if (std::abs(ghi) < 1e-5) break;
            }
            t1 = s.t + hi;
            event = true;
        }
        check_finite(x1, t1);
        emit(s, sink, s.t, s.x, t1, x1);
        s.x = x1;
        s.t = t1;
        if (event) return true;
    }
    return false;
}

// Steps of a method with dense output. step(x, d, t, x1, d1, h, error) and its interpolation come as one object.
template <class Machine>
template <class Sink, class Step>
bool Driver<Machine>::dense(State& s, double stop, Sink& sink, Step step) {
    X d, d1, x1, error, mid;
    chain(s.x, d, s.t);
    while (s.t < stop) {
        const double left = stop - s.t;
        double h = std::min(step_, left);
        if (left < 1.2 * h) h = left;
        else if (left < 2.0 * h) h = 0.5 * left;
        for (;;) {
            step.take(chain, s.x, d, s.t, x1, d1, h, error);
            ++s.steps;
            const double m = tol_.measure(error, x1);
            if (m <= 1.0) {
                const double next = h * step_factor(m, Step::order);
                step_ = h < 0.7 * step_ ? std::max(step_, next) : next;
                break;
            }
            if (!std::isfinite(m)) check_finite(x1, s.t);
            h *= std::isfinite(m) ? std::min(0.8, step_factor(m, Step::order)) : 0.1;
            step_ = h;
            if (h < 1e-13) throw SolverError(fmt::format("the step size went to nothing at t = {:.9g} s", s.t));
        }
        check_finite(x1, s.t + h);
        const double t0 = s.t, t1 = left - h < 1e-14 ? stop : t0 + h;
        const X x0 = s.x;
        step.at(0.5, x0, d, t0, x1, d1, h, mid);
        const int pieces = std::clamp(static_cast<int>(std::ceil(std::sqrt(chord_error(x0, mid, x1)))), 1, 400);
        X a = x0, b;
        double ta = t0;
        for (int n = 1; n <= pieces; ++n) {
            const double f = static_cast<double>(n) / pieces;
            double tb = n == pieces ? t1 : t0 + f * h;
            if (n == pieces) b = x1;
            else if (pieces == 2) b = mid;
            else step.at(f, x0, d, t0, x1, d1, h, b);
            if (chain.row->watched && violation(s.legs, b, tb) > 0.0) {
                double lo = ta, hi = tb, glo = violation(s.legs, a, ta), ghi = violation(s.legs, b, tb);
                for (int k = 0; k < 60 && hi - lo > 1e-10; ++k) {
                    double m = glo < 0.0 && k % 3 != 2 ? lo + (hi - lo) * glo / (glo - ghi) : 0.5 * (lo + hi);
                    m = std::clamp(m, lo + 0.02 * (hi - lo), hi - 0.02 * (hi - lo));
                    X xm;
                    step.at((m - t0) / h, x0, d, t0, x1, d1, h, xm);
                    const double g = violation(s.legs, xm, m);
                    if (g > 0.0) hi = m, ghi = g, b = xm;
                    else lo = m, glo = g;
                    if (std::abs(ghi) < 1e-5) break;
                }
                emit(s, sink, ta, a, hi, b);
                s.x = b;
                s.t = hi;
                return true;
            }
            emit(s, sink, ta, a, tb, b);
            a = b;
            ta = tb;
        }
        s.x = x1;
        s.t = t1;
        if (s.t < stop) step.next(chain, x1, t1, d1, d);
    }
    return false;
}

template <class Machine>
template <class Sink>
void Driver<Machine>::advance(State& s, double until, Sink& sink) {
    chain.set_legs(s.legs);
    chain.static_head = s.water_level + chain.site.works.water.outlet_height;
    if (s.window.sine && s.t < s.window.end)
        chain.sine = {true, false, s.window.angle0, s.window.omega, s.window_start, s.window.amplitude};
    else if (chain.site.works.supply.kind != site::Supply::Kind::mains)
        chain.sine = {};
    while (s.t < until) {
        if (s.t >= s.window.end) begin_window(s);
        apply_edges(s);
        double stop = std::min(s.window.end, until);
        if (s.next_edge < s.window.count) stop = std::min(stop, s.window.edges[static_cast<std::size_t>(s.next_edge)].t);
        if (stop <= s.t) { s.t = stop; continue; }
        bool event = false;
        switch (choose(s, stop - s.t)) {
            case Method::ros2w: event = short_steps(s, stop, sink); break;
            case Method::ra34pw2: event = dense(s, stop, sink, detail::Implicit<Chain<Machine>>{ra34pw2_}); break;
            default: event = dense(s, stop, sink, detail::Dopri<Chain<Machine>>{dopri5_});
        }
        if (event) {
            ++s.events;
            // Diodes that have run out of current block; then see what conducts now.
            const Nodes n = chain.nodes(s.x, s.t);
            for (std::size_t k = 0; k < 3; ++k) {
                const double least = 1e-4 * reference_[i_alpha];
                if (s.legs[k] == drive::Leg::diode_up && n.leg_i[k] > -least) s.legs[k] = drive::Leg::blocked;
                if (s.legs[k] == drive::Leg::diode_down && n.leg_i[k] < least) s.legs[k] = drive::Leg::blocked;
            }
            chain.set_legs(s.legs);
            after_event(s);
        }
    }
}

}  // namespace sunshaft::plant
