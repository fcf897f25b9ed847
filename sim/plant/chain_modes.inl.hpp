// Implementation of chain.hpp: what is worked out once for each pattern of leg modes, and the inner nodes.
#pragma once

#include <limits>

#include "site/cable.hpp"

namespace sunshaft::plant {

namespace detail {
inline void add_square(Quadratic& q, double k, const ModeRow::Line& l) {
    q.aa += k * l.p * l.p, q.ab += 2 * k * l.p * l.q, q.bb += k * l.q * l.q;
    q.av += 2 * k * l.p * l.r, q.bv += 2 * k * l.q * l.r, q.vv += k * l.r * l.r;
    q.a += 2 * k * l.p * l.c, q.b += 2 * k * l.q * l.c, q.v += 2 * k * l.r * l.c, q.one += k * l.c * l.c;
}
inline void add_linear(Quadratic& q, double k, const ModeRow::Line& l) {
    q.a += k * l.p, q.b += k * l.q, q.v += k * l.r, q.one += k * l.c;
}
}  // namespace detail

template <class Machine>
Compiled<Machine>::Compiled(const site::Site& s, const Machine& m) : site(s), machine(m), equations(m) {
    using drive::Leg;
    const site::Works& w = s.works;
    for (std::size_t k = 0; k < 3; ++k) {
        const double r = w.phases[k].winding.through(), joint = w.phases[k].splice.through();
        // An open winding or splice is taken out by the network's pattern.
        Rw[k] = std::isfinite(r) && r < site::open_above_ohm ? r : 0.0;
        const ModeRow::Line phase = {motor::axis[k][0], motor::axis[k][1], 0, 0, 0, 0};
        detail::add_square(winding_loss, Rw[k], phase);
        detail::add_square(splice_loss, joint < site::open_above_ohm ? joint : 0.0, phase);
    }
    constant_L = equations.constant_inductance();
    Lc = w.cable_inductance + w.choke;
    stiff = s.source.stiff;
    // On the mains the legs' resistance is the supply's, and counts with the cable.
    on_resistance = w.supply.kind == site::Supply::Kind::mains ? 0.0 : w.bridge.on_resistance;
    esr = s.source.esr;
    inv_c = stiff ? 0.0 : 1.0 / s.source.farad;
    inv_j = 1.0 / w.shaft.inertia;
    check_valve = w.water.check_valve;
    held = std::isfinite(w.shaft.held_speed);
    pole_pairs = m.pole_pairs;
    density = w.water.main.density;
    rho_g = density * water::gravity;
    inv_inertance = 1.0 / w.water.main.inertance();
    grip = 1.0 - w.shaft.coupling_slip;
    pump = static_cast<int>(w.water.pump.index());
    const auto* centrifugal = std::get_if<water::Centrifugal>(&w.water.pump);
    const auto* cavity = std::get_if<water::ProgressiveCavity>(&w.water.pump);
    if (cavity) {
        const double per_radian = cavity->per_radian();
        load_rate = std::max(per_radian * per_radian * inv_j, inv_inertance) / cavity->slip;
    }
    pump_running = cavity ? cavity->running : 0.0;
    pump_rest = cavity ? cavity->breakaway : centrifugal ? centrifugal->breakaway : 0.0;
    running = w.shaft.dry_friction + w.shaft.load_torque + pump_running;
    rest = w.shaft.dry_friction + w.shaft.load_torque + pump_rest +
           // Bearings of a motor; common practice, no source.
           (std::isnan(w.shaft.breakaway) ? 0.03 * reference_torque(reference(s)) : w.shaft.breakaway);
    for (int n = 0; n < 125; ++n)
        compile({static_cast<Leg>(n % 5), static_cast<Leg>(n / 5 % 5), static_cast<Leg>(n / 25)},
                rows[static_cast<std::size_t>(n)]);
}

template <class Machine>
void Compiled<Machine>::compile(const drive::Legs& legs, ModeRow& r) const {
    using drive::Leg;
    const double vd = site.works.bridge.diode_drop;
    site::Pattern pattern{};
    for (std::size_t k = 0; k < 3; ++k) {
        const Leg leg = legs[k];
        pattern[k] = leg == Leg::blocked                      ? site::LegDrive::floating
                     : leg == Leg::upper || leg == Leg::lower ? site::LegDrive::device
                                                              : site::LegDrive::diode;
        r.a[k] = leg == Leg::upper || leg == Leg::diode_up ? 1.0 : 0.0;
        r.b[k] = leg == Leg::diode_up ? vd : (leg == Leg::diode_down ? -vd : 0.0);
        if (pattern[k] != site::LegDrive::device) r.watched = true;
        if (leg == Leg::blocked) r.floating = true;
        else ++r.driven;
    }
    const site::Reduced& net = site.phases[pattern];
    r.net = &net;
    r.free = net.free_directions;
    r.dir = net.direction;

    // Columns of the machine-side map: motor currents of unit i_alpha, i_beta.
    const Vec3 ua = motor::phases({1, 0}), ub = motor::phases({0, 1});
    Vec3 va{}, vb{}, vl{}, v0{};
    for (std::size_t k = 0; k < 3; ++k) {
        const auto& Z = net.Z[site::PhaseNode::motor + k];
        const auto& A = net.A[site::PhaseNode::motor + k];
        auto& leg = r.leg[k];
        for (std::size_t j = 0; j < 3; ++j) {
            va[k] -= Z[j] * ua[j];
            vb[k] -= Z[j] * ub[j];
            vl[k] += A[j] * r.a[j];
            v0[k] += A[j] * r.b[j];
            leg.p += net.B[k][j] * ua[j], leg.q += net.B[k][j] * ub[j];
            leg.r += net.G[k][j] * r.a[j], leg.c += net.G[k][j] * r.b[j];
        }
        va[k] -= Rw[k] * ua[k];
        vb[k] -= Rw[k] * ub[k];
        r.ci[0] += r.a[k] * leg.p, r.ci[1] += r.a[k] * leg.q;
        r.cv += r.a[k] * leg.r, r.c0 += r.a[k] * leg.c;
    }
    const Vec2 ma = motor::clarke(va), mb = motor::clarke(vb);
    r.maa = ma[0], r.mba = ma[1], r.mab = mb[0], r.mbb = mb[1];
    r.vl = motor::clarke(vl), r.v0 = motor::clarke(v0);

    for (std::size_t k = 0; k < 3; ++k) {
        if (r.b[k] == 0.0) detail::add_square(r.bridge_loss, on_resistance, r.leg[k]);
        else detail::add_linear(r.bridge_loss, -r.b[k], r.leg[k]);
    }
    r.cable_loss = cable_loss(r);
    for (std::size_t k = 0; k < 3; ++k) {
        const Vec2& axis = motor::axis[static_cast<std::size_t>(site.works.core_at[k])];
        const auto& leg = r.leg[k];
        detail::add_square(r.beside_square[k], 1.0, leg);
        detail::add_square(r.beside_square[k], -1.0, {axis[0], axis[1], 0, 0, 0, 0});
        // A leg without a device or diode in it carries nothing, nor does its winding: their difference is not one.
        if (r.free == 2)
            r.beside =
                r.beside || std::abs(leg.r) > 1e-9 || std::abs(leg.p - axis[0]) + std::abs(leg.q - axis[1]) > 1e-9;
        else r.beside = r.beside || std::abs(leg.r) > 1e-9;
    }

    if (!constant_L) return;
    motor::Sym2 L = equations.inductance(0.0);
    L.aa += Lc, L.bb += Lc;
    if (r.free == 2) {
        const double k = 1.0 / (L.aa * L.bb - L.ab * L.ab);
        r.P = {k * L.bb, -k * L.ab, k * L.aa};
    } else if (r.free == 1) {
        const double k = 1.0 / motor::dot(r.dir, L * r.dir);
        r.P = {k * r.dir[0] * r.dir[0], k * r.dir[0] * r.dir[1], k * r.dir[1] * r.dir[1]};
    }
    const Vec2 ca = r.P * Vec2{r.maa, r.mba}, cb = r.P * Vec2{r.mab, r.mbb};
    r.aaa = ca[0], r.aba = ca[1], r.aab = cb[0], r.abb = cb[1];
    r.al = r.P * r.vl, r.a0 = r.P * r.v0;

    // Terminal voltages are linear in currents, link voltage and EMF: probe them one at a time.
    const motor::Sym2 Lm = equations.inductance(0.0);
    const auto terminals = [&](const Vec2& i, double v, double one, const Vec2& e) {
        const Vec2 Pe = r.P * e;
        const Vec2 di = {r.aaa * i[0] + r.aab * i[1] + r.al[0] * v + r.a0[0] * one - Pe[0],
                         r.aba * i[0] + r.abb * i[1] + r.al[1] * v + r.a0[1] * one - Pe[1]};
        const Vec2 Ldi = Lm * di;
        Vec3 s{};
        for (std::size_t k = 0; k < 3; ++k) s[k] = r.a[k] * v + r.b[k] * one;
        Nodes n;
        spread(r, i, s, {Ldi[0] + e[0], Ldi[1] + e[1]}, 0.0, di, v, n);
        return Vec3{n.v[site::PhaseNode::drive], n.v[site::PhaseNode::drive + 1], n.v[site::PhaseNode::drive + 2]};
    };
    const Vec3 p = terminals({1, 0}, 0, 0, {}), q = terminals({0, 1}, 0, 0, {}), v = terminals({}, 1, 0, {}),
               c = terminals({}, 0, 1, {}), ea = terminals({}, 0, 0, {1, 0}), eb = terminals({}, 0, 0, {0, 1});
    for (std::size_t k = 0; k < 3; ++k) r.terminal[k] = {p[k], q[k], v[k], c[k], ea[k], eb[k]};
}

// What the legs put in (their ideal sources) less what reaches the machine behind R_w is lost on the way.
template <class Machine>
Quadratic Compiled<Machine>::cable_loss(const ModeRow& r) const {
    Quadratic q;
    q.av = r.ci[0] - 1.5 * r.vl[0], q.bv = r.ci[1] - 1.5 * r.vl[1], q.vv = r.cv, q.v = r.c0;
    q.aa = -1.5 * r.maa, q.ab = -1.5 * (r.mab + r.mba), q.bb = -1.5 * r.mbb;
    q.a = -1.5 * r.v0[0], q.b = -1.5 * r.v0[1];
    for (std::size_t k = 0; k < 3; ++k) {
        detail::add_linear(q, r.b[k], r.leg[k]);
        if (r.b[k] == 0.0) detail::add_square(q, -on_resistance, r.leg[k]);
        detail::add_square(q, -Rw[k], {motor::axis[k][0], motor::axis[k][1], 0, 0, 0, 0});
    }
    return q;
}

template <class Machine>
void Compiled<Machine>::spread(const ModeRow& r, const Vec2& i2, const Vec3& s, const Vec2& inner2, double e0,
                               const Vec2& di, double link, Nodes& n, const Vec3& spared) const {
    using site::PhaseNode;
    n.link = link;
    n.i = motor::phases(i2);
    const Vec3 inner = motor::phases(inner2), dip = motor::phases(di);
    Vec3 f{};
    for (std::size_t k = 0; k < 3; ++k) f[k] = Rw[k] * n.i[k] - spared[k] + inner[k] + e0;  // motor.k to star
    const site::Reduced& net = *r.net;
    // Resistive part; the cable's inductive drop is added below the lead (lumped at the cable).
    for (std::size_t m = 0; m < PhaseNode::count; ++m) {
        double v = 0.0;
        for (std::size_t j = 0; j < 3; ++j) v += net.A[m][j] * s[j] - net.Z[m][j] * n.i[j];
        if (m >= PhaseNode::cable) v -= Lc * dip[m % 3];
        n.v[m] = v;
    }
    for (std::size_t k = 0; k < 3; ++k) {
        n.leg_i[k] = 0.0;
        for (std::size_t j = 0; j < 3; ++j) n.leg_i[k] += net.G[k][j] * s[j] + net.B[k][j] * n.i[j];
    }
    // An open winding ties nothing to the star point.
    const auto wound = [&](std::size_t k) { return !site.phases.winding_open(static_cast<int>(k)); };
    double star = 0.0;
    int tied = 0;
    for (std::size_t k = 0; k < 3; ++k) {
        if (net.island[PhaseNode::motor + k] >= 0 || !wound(k)) continue;
        star += n.v[PhaseNode::motor + k] - f[k];
        ++tied;
    }
    // With no line tied to a rail, the legs' own leakage holds the terminals about the middle of the link.
    n.star = tied ? star / tied : 0.5 * n.link - (f[0] + f[1] + f[2]) / 3;
    std::array<double, PhaseNode::count> offset{};
    std::array<bool, PhaseNode::count> known{};
    for (std::size_t k = 0; k < 3; ++k) {
        const int island = net.island[PhaseNode::motor + k];
        if (island < 0 || !wound(k)) continue;
        const auto at = static_cast<std::size_t>(island);
        if (!known[at]) offset[at] = n.star + f[k] - n.v[PhaseNode::motor + k], known[at] = true;
    }
    for (std::size_t m = 0; m < PhaseNode::count; ++m) {
        const int island = net.island[m];
        if (island < 0) continue;
        const auto at = static_cast<std::size_t>(island);
        if (known[at]) n.v[m] += offset[at];
        else n.v[m] = m < PhaseNode::lead ? 0.5 * n.link : std::numeric_limits<double>::quiet_NaN();
    }
}

template <class Machine>
Chain<Machine>::Chain(std::shared_ptr<const Compiled<Machine>> compiled)
    : site(compiled->site), machine(compiled->machine), compiled_(std::move(compiled)) {
    row = &compiled_->rows[0];
    source = &site.source;
    wear(0.0);
}

// Pumps as worn as running dry has left them.
template <class Machine>
void Chain<Machine>::wear(double now) {
    damage = now;
    if (const auto* p = std::get_if<water::Centrifugal>(&site.works.water.pump)) centrifugal = water::worn(*p, damage);
    if (const auto* p = std::get_if<water::ProgressiveCavity>(&site.works.water.pump)) cavity = water::worn(*p, damage);
}

template <class Machine>
void Chain<Machine>::follow(const State& s) {
    static_head = plant::static_head(site, s);
    guard_V = {s.slow.dry_V, s.slow.float_V};
    turning = s.turning != 0 ? s.turning : (s.x[speed] > 0.0) - (s.x[speed] < 0.0);
    source = drive::bridged(s.control.phase) ? &site.source : &site.charging;
    covered = s.slow.covered;
    lift = covered * s.slow.lift;
    if (s.slow.damage != damage) wear(s.slow.damage);
    if constexpr (bridged)
        turns_hot = site::at_temperature(1.0, s.slow.winding_degC + s.slow.turns_K) /
                    site::at_temperature(1.0, s.slow.winding_degC);
}

template <class Machine>
Nodes Chain<Machine>::linear_nodes(const Vec2& i, double v, const Vec2& e, double e0) const {
    Nodes n;
    const ModeRow& r = *row;
    const Vec2 Pe = r.P * e;
    const Vec2 di = {r.aaa * i[0] + r.aab * i[1] + (r.al[0] * v + r.a0[0] - Pe[0]),
                     r.aba * i[0] + r.abb * i[1] + (r.al[1] * v + r.a0[1] - Pe[1])};
    const Vec2 Ldi = compiled_->equations.inductance(0.0) * di;
    Vec3 s{};
    for (std::size_t k = 0; k < 3; ++k) s[k] = r.a[k] * v + r.b[k];
    compiled_->spread(r, i, s, {Ldi[0] + e[0], Ldi[1] + e[1]}, e0, di, v, n);
    n.bridge_i = r.ci[0] * i[0] + r.ci[1] * i[1] + r.cv * v + r.c0;
    return n;
}

template <class Machine>
Nodes Chain<Machine>::nodes(const X& x, double t) const {
    Nodes n;
    const Point p = point(t, x);
    X d;
    rates(p, d);
    const Vec2 i = {x[i_alpha], x[i_beta]}, di = {d[i_alpha], d[i_beta]};
    const Vec2 e = emf(x), Ldi = compiled_->equations.inductance(x[theta]) * wound(d);
    double e0 = compiled_->equations.zero_emf(x[speed], x[theta]);
    Vec3 spared{};
    if constexpr (bridged) {
        e0 -= compiled_->equations.leakage() / 3 * d[i_turns];
        spared[static_cast<std::size_t>(machine.turns.phase)] = turns_spare(x);
    }
    Vec3 s{};
    const Vec3 wave = sine.on ? motor::phases(sine_unit(t)) : Vec3{};
    for (std::size_t k = 0; k < 3; ++k) {
        if (sine.on) s[k] = sine.mains ? sine.amplitude * wave[k] : p.link * 0.5 * (1.0 + sine.amplitude * wave[k]);
        else s[k] = row->a[k] * p.link + row->b[k];
    }
    compiled_->spread(*row, i, s, {Ldi[0] + e[0], Ldi[1] + e[1]}, e0, di, p.link, n, spared);
    n.source_i = site.source.stiff ? 0.0 : site.source.source_current(n.link);
    n.bridge_i = bridge_current(x, n.link, t);
    return n;
}

}  // namespace sunshaft::plant
