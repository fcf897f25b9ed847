// Implementation of chain.hpp: what the solver and the meters of a run call all the time.
#pragma once

namespace sunshaft::plant {

template <class Machine>
inline Vec2 Chain<Machine>::sine_unit(double t) const {
    const double angle = sine.angle0 + sine.omega * (t - sine.t0);
    return {std::cos(angle), std::sin(angle)};
}

template <class Machine>
[[gnu::always_inline]] inline double Chain<Machine>::bridge_current(const X& x, double v, double t) const {
    if (sine.on) [[unlikely]] {
        if (sine.mains) return 0.0;
        const Vec2 u = sine_unit(t);
        return 0.75 * sine.amplitude * (u[0] * x[i_alpha] + u[1] * x[i_beta]);
    }
    return row->ci[0] * x[i_alpha] + row->ci[1] * x[i_beta] + row->cv * v + row->c0;
}

template <class Machine>
[[gnu::always_inline]] inline void Chain<Machine>::complete(Point& p) const {
    if (compiled_->stiff) {
        p.link = site.source.stiff_V;
        p.net = bridge_current(p.x, p.link, p.t);
        return;
    }
    if (row->cv != 0.0 && compiled_->esr != 0.0 && !sine.on) [[unlikely]]
        return complete_leaky(p);
    const double w = p.x[v_cap] - compiled_->esr * bridge_current(p.x, p.x[v_cap], p.t);
    const site::CurrentSlope net = source->net(w);
    p.net = net.i;
    p.slope = net.slope;
    p.link = w + compiled_->esr * p.net;
}

// A leak or a short between two legs draws a current that goes with the link voltage itself, on the near side of the
// ESR:
//   w (1 + k) + ESR k i_net(w) = v_c - ESR (c_i . i + c_0),   k = ESR c_v
// i_net falls with a slope above -1/ESR, so the left side rises throughout and Newton's method is safe between the
// bounds.
template <class Machine>
void Chain<Machine>::complete_leaky(Point& p) const {
    const double k = compiled_->esr * row->cv, right = p.x[v_cap] - compiled_->esr * bridge_current(p.x, 0.0, p.t);
    double w = right / (1.0 + k);
    site::CurrentSlope net{};
    for (int n = 0; n < 50; ++n) {
        net = source->net(w);
        const double step = (w * (1.0 + k) + compiled_->esr * k * net.i - right) /
                            std::max(1.0 + k + compiled_->esr * k * net.slope, 0.5);
        w -= step;
        if (std::abs(step) <= 1e-13 * (1.0 + std::abs(w))) break;
    }
    p.net = net.i;
    p.slope = net.slope;
    p.link = w + compiled_->esr * p.net;
}

template <class Machine>
[[gnu::always_inline]] inline void Chain<Machine>::shift(Point& p, double k, const Bend& bend) const {
    for (std::size_t n = 0; n < bend.size(); ++n) p.x[n] += k * bend[n];
    if (compiled_->stiff || sine.on) return complete(p);
    if (row->cv != 0.0) [[unlikely]]
        return complete(p);
    const double dw = k * (bend[v_cap] - compiled_->esr * (row->ci[0] * bend[i_alpha] + row->ci[1] * bend[i_beta]));
    p.net += p.slope * dw;
    p.link += (1.0 + compiled_->esr * p.slope) * dw;
}

// Voltage behind all series resistance, in two axes.
template <class Machine>
inline Vec2 Chain<Machine>::drive_voltage(const X& x, double v, double t) const {
    const ModeRow& r = *row;
    Vec2 u = {r.maa * x[i_alpha] + r.mab * x[i_beta], r.mba * x[i_alpha] + r.mbb * x[i_beta]};
    if (sine.on) {
        const Vec2 s = sine_unit(t);
        const double k = sine.mains ? sine.amplitude : 0.5 * sine.amplitude * v;
        u[0] += k * s[0];
        u[1] += k * s[1];
    } else {
        u[0] += r.vl[0] * v + r.v0[0];
        u[1] += r.vl[1] * v + r.v0[1];
    }
    return u;
}

template <class Machine>
inline double Chain<Machine>::pump_head(const X& x) const {
    // Air in the pump: head and torque of a centrifugal pump go with the density of what fills it; a progressive-cavity
    // pump moves that much less water.
    if (compiled_->pump == 1) return lift * centrifugal.head(x[speed] * compiled_->grip, x[flow]);
    return compiled_->pump == 2 ? cavity_head(x[speed] * compiled_->grip, x[flow]) : 0.0;
}

template <class Machine>
inline double Chain<Machine>::pump_torque(double w, double q) const {
    if (compiled_->pump == 1) return covered * centrifugal.torque(w * compiled_->grip, q);
    return compiled_->pump == 2 ? cavity_torque(w * compiled_->grip, q) : 0.0;
}

// Kept out of the innermost loop's code, which they would only make longer.
template <class Machine>
[[gnu::noinline]] double Chain<Machine>::cavity_head(double w, double q) const {
    return cavity.head(covered * w, q, compiled_->density);
}
template <class Machine>
[[gnu::noinline]] double Chain<Machine>::cavity_torque(double w, double q) const {
    return covered * cavity.per_radian() * cavity.pressure(covered * w, q);
}

// Bearings, brake, fan, and a pump's rotor on its stator, N m.
template <class Machine>
inline double Chain<Machine>::friction(double w) const {
    const auto& s = site.works.shaft;
    return s.viscous * w + s.fan * w * std::abs(w) +
           turning * water::dry_friction(compiled_->rest, compiled_->running, w);
}

// Of these what rubs in the pump, a rotor on its stator or a stiff seal.
template <class Machine>
inline double Chain<Machine>::pump_friction(double w) const {
    return turning * water::dry_friction(compiled_->pump_rest, compiled_->pump_running, w);
}

template <class Machine>
inline double Chain<Machine>::load_torque(const X& x) const {
    if (turning == 0.0 && !compiled_->held) return torque(x);  // what holds it pulls as much as it has to
    return friction(x[speed]) + pump_torque(x[speed], x[flow]);
}

template <class Machine>
[[gnu::always_inline]] inline void Chain<Machine>::rates(const Point& p, const Load& load, X& d) const {
    if constexpr (bridged) return bridged_rates(p, load, d);
    const X& x = p.x;
    const ModeRow& r = *row;
    const Vec2 i = {x[i_alpha], x[i_beta]};
    const double w = x[speed], th = x[theta];
    d[v_cap] = compiled_->stiff ? 0.0 : (p.net - bridge_current(x, p.link, p.t)) * compiled_->inv_c;

    const auto m = compiled_->equations.at(i, flux(x), w, th);
    put_flux(d, m.flux_rate);
    if (compiled_->constant_L) {
        const Vec2 Pe = r.P * m.emf;
        d[i_alpha] = r.aaa * i[0] + r.aab * i[1] + (r.al[0] * p.link + r.a0[0] - Pe[0]);
        d[i_beta] = r.aba * i[0] + r.abb * i[1] + (r.al[1] * p.link + r.a0[1] - Pe[1]);
        if (sine.on) [[unlikely]] {
            const Vec2 s = r.P * sine_unit(p.t);
            const double k = sine.mains ? sine.amplitude : 0.5 * sine.amplitude * p.link;
            d[i_alpha] += k * s[0];
            d[i_beta] += k * s[1];
        }
    } else {
        Vec2 u = drive_voltage(x, p.link, p.t);
        u[0] -= m.emf[0], u[1] -= m.emf[1];
        motor::Sym2 L = compiled_->equations.inductance(th);
        L.aa += compiled_->Lc, L.bb += compiled_->Lc;
        if (r.free == 2) {
            const double k = 1.0 / (L.aa * L.bb - L.ab * L.ab);
            d[i_alpha] = k * (L.bb * u[0] - L.ab * u[1]);
            d[i_beta] = k * (L.aa * u[1] - L.ab * u[0]);
        } else {
            const double k = r.free == 0 ? 0.0 : motor::dot(r.dir, u) / motor::dot(r.dir, L * r.dir);
            d[i_alpha] = k * r.dir[0];
            d[i_beta] = k * r.dir[1];
        }
    }

    d[speed] = compiled_->held || turning == 0.0 ? 0.0 : (m.torque - load.torque) * compiled_->inv_j;
    d[theta] = compiled_->pole_pairs * w;
    d[flow] = load.flow_rate;
    d[i_turns] = 0.0;
}

template <class Machine>
double Chain<Machine>::turns_spare(const X& x) const {
    if constexpr (bridged) {
        const auto k = static_cast<std::size_t>(machine.turns.phase);
        const double i = motor::axis[k][0] * x[i_alpha] + motor::axis[k][1] * x[i_beta];
        return compiled_->Rw[k] * (turns_hot * x[i_turns] - machine.turns.share * (turns_hot - 1.0) * i);
    } else {
        return (void)x, 0.0;
    }
}

// With c = 2/3 L a, a the axis of the winding with the bridged turns, and two thirds of the branch's equation:
//   (L + Lc) di - c dJ = P-projected voltages         -c . di + (2/3 a . c + 2/9 L_ls + 2/3 L_b) dJ = two thirds of
//   what is left of v_k - v_n for the branch
template <class Machine>
void Chain<Machine>::bridged_rates(const Point& p, const Load& load, X& d) const {
    if constexpr (bridged) {
        const X& x = p.x;
        const ModeRow& r = *row;
        const motor::BridgedTurns& turns = machine.turns;
        const auto k = static_cast<std::size_t>(turns.phase);
        const Vec2& a = motor::axis[k];
        const double w = x[speed], th = x[theta], J = x[i_turns], ohm = compiled_->Rw[k], spare = turns_spare(x);
        const double i_k = a[0] * x[i_alpha] + a[1] * x[i_beta];
        const auto m = compiled_->equations.at(wound(x), flux(x), w, th);
        const double e0 = compiled_->equations.zero_emf(w, th), leakage = compiled_->equations.leakage();

        motor::Sym2 L = compiled_->equations.inductance(th);
        const Vec2 La = L * a, c = {La[0] * (2.0 / 3), La[1] * (2.0 / 3)};
        L.aa += compiled_->Lc, L.bb += compiled_->Lc;
        motor::Sym2 P{};
        if (r.free == 2) {
            const double det = 1.0 / (L.aa * L.bb - L.ab * L.ab);
            P = {det * L.bb, -det * L.ab, det * L.aa};
        } else if (r.free == 1) {
            const double one = 1.0 / motor::dot(r.dir, L * r.dir);
            P = {one * r.dir[0] * r.dir[0], one * r.dir[0] * r.dir[1], one * r.dir[1] * r.dir[1]};
        }
        Vec2 u = drive_voltage(x, p.link, p.t);
        for (std::size_t n = 0; n < 2; ++n) u[n] += (2.0 / 3) * spare * a[n] - m.emf[n];
        const Vec2 Pu = P * u, Pc = P * c;
        const double turns_ohm = turns.share * ohm * turns_hot;
        const double left = ohm * i_k - spare + motor::dot(a, m.emf) + e0 - turns.branch_ohm(turns_ohm) * J +
                            (1.0 - turns.share) * ohm * (turns_hot - 1.0) * i_k;
        const double own = (2.0 / 3) * motor::dot(a, c) + (2.0 / 9) * leakage + (2.0 / 3) * turns.branch_H(leakage);
        d[i_turns] = ((2.0 / 3) * left + motor::dot(c, Pu)) / (own - motor::dot(c, Pc));
        d[i_alpha] = Pu[0] + Pc[0] * d[i_turns];
        d[i_beta] = Pu[1] + Pc[1] * d[i_turns];
        put_flux(d, m.flux_rate);
        d[v_cap] = compiled_->stiff ? 0.0 : (p.net - bridge_current(x, p.link, p.t)) * compiled_->inv_c;
        const double torque_all = m.torque - J * compiled_->equations.zero_emf(1.0, th);
        d[speed] = compiled_->held || turning == 0.0 ? 0.0 : (torque_all - load.torque) * compiled_->inv_j;
        d[theta] = compiled_->pole_pairs * w;
        d[flow] = load.flow_rate;
    }
}

template <class Machine>
inline Load Chain<Machine>::load(const X& x) const {
    Load out{load_torque(x), 0.0};
    if (compiled_->pump != 0) {
        const double net = compiled_->rho_g * (pump_head(x) - static_head - site.main_loss(x[flow]));
        if (!(compiled_->check_valve && x[flow] <= 0.0 && net < 0.0)) out.flow_rate = net * compiled_->inv_inertance;
    }
    return out;
}

template <class Machine>
[[gnu::flatten]] inline void Chain<Machine>::operator()(const X& x, X& d, double t) const {
    Point p{t, x};
    complete(p);
    rates(p, load_apart(x), d);
    for (std::size_t n = states; n < state_size; ++n) d[n] = 0.0;  // what this machine does not have
}

template <class Machine>
[[gnu::always_inline]] inline void Chain<Machine>::block(const Point& p, double* j) const {
    const ModeRow& r = *row;
    Vec2 vl = r.vl, ci = r.ci;
    if (sine.on) [[unlikely]] {
        const Vec2 s = sine_unit(p.t);
        const double k = sine.mains ? 0.0 : 0.5 * sine.amplitude;
        vl = {k * s[0], k * s[1]};
        ci = {1.5 * vl[0], 1.5 * vl[1]};
    }
    const double g = compiled_->stiff ? 0.0 : p.slope, e = compiled_->equations.emf_slope();
    // dv/dv_c;  dv/di = -esr ci dv
    const double whole = 1.0 + compiled_->esr * g, shared = 1.0 / (1.0 + compiled_->esr * r.cv * whole),
                 dv = whole * shared;
    motor::Sym2 P = r.P;
    if (!compiled_->constant_L) {
        const motor::Sym2 L = compiled_->equations.inductance(p.x[theta]);
        const double k = 1.0 / (0.5 * (L.aa + L.bb) + compiled_->Lc);
        if (r.free == 2) P = {k, 0.0, k};
        else if (r.free == 1) P = {k * r.dir[0] * r.dir[0], k * r.dir[0] * r.dir[1], k * r.dir[1] * r.dir[1]};
    }
    const double h = compiled_->esr * dv;
    const Vec2 a = P * Vec2{r.maa - e - vl[0] * h * ci[0], r.mba - vl[1] * h * ci[0]};
    const Vec2 b = P * Vec2{r.mab - vl[0] * h * ci[1], r.mbb - e - vl[1] * h * ci[1]};
    const Vec2 v = P * Vec2{vl[0] * dv, vl[1] * dv};
    j[0] = a[0], j[1] = b[0], j[2] = v[0];
    j[3] = a[1], j[4] = b[1], j[5] = v[1];
    const double k = -compiled_->inv_c * dv;
    j[6] = k * ci[0], j[7] = k * ci[1], j[8] = compiled_->inv_c * (g * shared - r.cv * dv);
}

template <class Machine>
double Chain<Machine>::stiffness(const X& x, double t) const {
    double j[9];
    block(x, t, j);
    return std::max({std::abs(j[0]), std::abs(j[4]), std::abs(j[8])});
}

template <class Machine>
inline void Chain<Machine>::project(X& x) const {
    if (row->free != 2) {
        const double p = row->free == 0 ? 0.0 : row->dir[0] * x[i_alpha] + row->dir[1] * x[i_beta];
        x[i_alpha] = p * row->dir[0];
        x[i_beta] = p * row->dir[1];
    }
    if (x[flow] < 0.0 && compiled_->check_valve) x[flow] = 0.0;
    if (compiled_->held) x[speed] = site.works.shaft.held_speed;
}

template <class Machine>
[[gnu::always_inline]] inline Vec3 Chain<Machine>::leg_currents(const Point& p) const {
    Vec3 out;
    for (std::size_t k = 0; k < 3; ++k) {
        const auto& l = row->leg[k];
        out[k] = l.p * p.x[i_alpha] + l.q * p.x[i_beta] + (l.r * p.link + l.c);
    }
    return out;
}

template <class Machine>
[[gnu::always_inline]] inline Terminals Chain<Machine>::terminals(const Point& p) const {
    Terminals out;
    if (sine.on || (row->floating && (bridged || !compiled_->constant_L))) [[unlikely]] {
        const Nodes n = nodes(p.x, p.t);
        for (std::size_t k = 0; k < 3; ++k) out.drive[k] = n.v[site::PhaseNode::drive + k];
        out.leg_i = n.leg_i;
        out.link = n.link;
        return out;
    }
    out.link = p.link;
    out.leg_i = leg_currents(p);
    for (std::size_t k = 0; k < 3; ++k) {
        const auto& l = row->terminal[k];
        out.drive[k] = l.p * p.x[i_alpha] + l.q * p.x[i_beta] + (l.r * p.link + l.c);
    }
    if (row->floating) {
        const Vec2 e = emf(p);
        for (std::size_t k = 0; k < 3; ++k) out.drive[k] += row->terminal[k].ea * e[0] + row->terminal[k].eb * e[1];
    }
    return out;
}

template <class Machine>
double Chain<Machine>::stored(const X& x) const {
    const Vec2 i = {x[i_alpha], x[i_beta]};
    double e = compiled_->equations.stored(wound(x), flux(x), x[theta]) + 0.75 * compiled_->Lc * motor::dot(i, i);
    if constexpr (bridged) {
        const double leakage = compiled_->equations.leakage();
        e += 0.5 * x[i_turns] * x[i_turns] * (leakage / 3 + machine.turns.branch_H(leakage));
    }
    if (!compiled_->stiff) e += 0.5 * site.source.farad * x[v_cap] * x[v_cap];
    if (!compiled_->held) e += 0.5 * site.works.shaft.inertia * x[speed] * x[speed];
    if (compiled_->pump != 0) e += 0.5 * x[flow] * x[flow] / compiled_->inv_inertance;
    return e;
}

}  // namespace sunshaft::plant

#include "plant/account.inl.hpp"
