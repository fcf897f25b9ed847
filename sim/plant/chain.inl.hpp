// Implementation of chain.hpp; inline because the steppers are instantiated over it.
#pragma once

namespace sunshaft::plant {

template <class Machine>
Chain<Machine>::Chain(const site::Site& s, const Machine& m) : site(s), machine(m) {
    using drive::Leg;
    const site::Works& w = s.works;
    for (std::size_t k = 0; k < 3; ++k) {
        const double r = w.phases[k].winding.through();
        Rw_[k] = std::isfinite(r) && r < 1e4 ? r : 0.0;  // an open winding is taken out by the network's pattern
    }
    Lc_ = w.cable_inductance;
    inv_c_ = s.source.stiff ? 0.0 : 1.0 / s.source.farad;
    inv_j_ = 1.0 / w.shaft.inertia;
    held_ = std::isfinite(w.shaft.held_speed);
    density_ = w.water.main.density;
    rho_g_ = density_ * water::gravity;
    inv_inertance_ = 1.0 / w.water.main.inertance();
    pump_ = static_cast<int>(w.water.pump.index());
    if (pump_ == 1) centrifugal_ = std::get<water::Centrifugal>(w.water.pump);
    if (pump_ == 2) cavity_ = std::get<water::ProgressiveCavity>(w.water.pump);

    const double vd = w.bridge.diode_drop;
    for (int n = 0; n < 125; ++n) {
        const std::array<Leg, 3> legs = {static_cast<Leg>(n % 5), static_cast<Leg>(n / 5 % 5), static_cast<Leg>(n / 25)};
        ModeRow& r = rows_[static_cast<std::size_t>(n)];
        site::Pattern pattern{};
        for (std::size_t k = 0; k < 3; ++k) {
            const Leg leg = legs[k];
            pattern[k] = leg == Leg::blocked ? site::LegDrive::floating
                         : leg == Leg::upper || leg == Leg::lower ? site::LegDrive::device : site::LegDrive::diode;
            r.a[k] = leg == Leg::upper || leg == Leg::diode_up ? 1.0 : 0.0;
            r.b[k] = leg == Leg::diode_up ? vd : (leg == Leg::diode_down ? -vd : 0.0);
            if (pattern[k] != site::LegDrive::device) r.watched = true;
        }
        const site::Reduced& net = s.phases[pattern];
        r.net = &net;
        r.free = net.free_directions;
        r.dir = net.direction;
        // Columns of the machine-side map: motor currents of unit i_alpha, i_beta.
        const Vec3 ua = motor::phases({1, 0}), ub = motor::phases({0, 1});
        Vec3 va{}, vb{}, vl{}, v0{};
        for (std::size_t k = 0; k < 3; ++k) {
            const auto& Z = net.Z[site::PhaseNode::motor + k];
            const auto& A = net.A[site::PhaseNode::motor + k];
            for (std::size_t j = 0; j < 3; ++j) {
                va[k] -= Z[j] * ua[j];
                vb[k] -= Z[j] * ub[j];
                vl[k] += A[j] * r.a[j];
                v0[k] += A[j] * r.b[j];
            }
            va[k] -= Rw_[k] * ua[k];
            vb[k] -= Rw_[k] * ub[k];
            for (std::size_t j = 0; j < 3; ++j) {
                r.ci[0] += r.a[k] * net.B[k][j] * ua[j];
                r.ci[1] += r.a[k] * net.B[k][j] * ub[j];
                r.cv += r.a[k] * net.G[k][j] * r.a[j];
                r.c0 += r.a[k] * net.G[k][j] * r.b[j];
            }
        }
        for (std::size_t k = 0; k < 3; ++k) {
            auto &terminal = r.terminal[k], &leg = r.leg[k];
            for (std::size_t j = 0; j < 3; ++j) {
                const double A = net.A[site::PhaseNode::drive + k][j], Z = net.Z[site::PhaseNode::drive + k][j];
                terminal.p -= Z * ua[j], terminal.q -= Z * ub[j];
                terminal.r += A * r.a[j], terminal.c += A * r.b[j];
                leg.p += net.B[k][j] * ua[j], leg.q += net.B[k][j] * ub[j];
                leg.r += net.G[k][j] * r.a[j], leg.c += net.G[k][j] * r.b[j];
            }
            if (legs[k] == Leg::blocked) r.all_driven = false;
        }
        const Vec2 ma = motor::clarke(va), mb = motor::clarke(vb);
        r.maa = ma[0], r.mba = ma[1], r.mab = mb[0], r.mbb = mb[1];
        r.vl = motor::clarke(vl), r.v0 = motor::clarke(v0);
    }
    row = &rows_[0];
}

template <class Machine>
Vec2 Chain<Machine>::sine_unit(const X& x, double t) const {
    const double angle = sine.angle0 + sine.omega * (t - sine.t0);
    (void)x;
    return {std::cos(angle), std::sin(angle)};
}

template <class Machine>
double Chain<Machine>::bridge_current(const X& x, double v, double t) const {
    if (sine.on) {
        if (sine.mains) return 0.0;
        const Vec2 u = sine_unit(x, t);
        return 0.75 * sine.amplitude * (u[0] * x[i_alpha] + u[1] * x[i_beta]);
    }
    return row->ci[0] * x[i_alpha] + row->ci[1] * x[i_beta] + row->cv * v + row->c0;
}

template <class Machine>
double Chain<Machine>::link_voltage(const X& x, double t) const {
    if (site.source.stiff) return site.source.stiff_V;
    const double w = x[v_cap] - site.source.esr * bridge_current(x, x[v_cap], t);
    return site.source.link_voltage(w);
}

// Voltage behind all series resistance, in two axes.
template <class Machine>
Vec2 Chain<Machine>::drive_voltage(const X& x, double v, double t) const {
    const ModeRow& r = *row;
    Vec2 u = {r.maa * x[i_alpha] + r.mab * x[i_beta], r.mba * x[i_alpha] + r.mbb * x[i_beta]};
    if (sine.on) {
        const Vec2 s = sine_unit(x, t);
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
double Chain<Machine>::pump_head(const X& x) const {
    if (pump_ == 1) return centrifugal_.head(x[speed], x[flow]);
    if (pump_ == 2) return cavity_.head(x[speed], x[flow], density_);
    return 0.0;
}

template <class Machine>
double Chain<Machine>::load_torque(const X& x) const {
    const auto& s = site.works.shaft;
    const double w = x[speed];
    double load = s.viscous * w + s.fan * w * std::abs(w);
    const double dry = s.dry_friction + s.load_torque;
    if (dry != 0.0) load += dry * std::tanh(w);
    if (pump_ == 1) load += centrifugal_.torque(w, x[flow]);
    if (pump_ == 2) load += cavity_.torque(w, x[flow], density_);
    return load;
}

template <class Machine>
void Chain<Machine>::operator()(const X& x, X& d, double t) const {
    const Vec2 i = {x[i_alpha], x[i_beta]}, psi = {x[psi_alpha], x[psi_beta]};
    const double w = x[speed], th = x[theta];

    double v;
    if (site.source.stiff) {
        v = site.source.stiff_V;
        d[v_cap] = 0.0;
    } else {
        const double ib = bridge_current(x, x[v_cap], t);
        const double ws = x[v_cap] - site.source.esr * ib;
        const double in = site.source.net_current(ws);
        v = ws + site.source.esr * in;
        d[v_cap] = (in - ib) * inv_c_;
    }

    const Vec2 rate = machine.flux_rate(i, psi, w, th);
    d[psi_alpha] = rate[0];
    d[psi_beta] = rate[1];
    Vec2 u = drive_voltage(x, v, t);
    if constexpr (Machine::position_dependent) {
        const Vec2 e = machine.emf(i, psi, w, th);
        u[0] -= e[0], u[1] -= e[1];
        motor::Sym2 L = machine.inductance(th);
        L.aa += Lc_, L.bb += Lc_;
        if (row->free == 2) {
            const double k = 1.0 / (L.aa * L.bb - L.ab * L.ab);
            d[i_alpha] = k * (L.bb * u[0] - L.ab * u[1]);
            d[i_beta] = k * (L.aa * u[1] - L.ab * u[0]);
        } else {
            const double k = row->free == 0 ? 0.0 : motor::dot(row->dir, u) / motor::dot(row->dir, L * row->dir);
            d[i_alpha] = k * row->dir[0];
            d[i_beta] = k * row->dir[1];
        }
    } else {
        const double kr = machine.k_r();
        u[0] -= kr * rate[0], u[1] -= kr * rate[1];
        const double k = 1.0 / (machine.L_sigma() + Lc_);
        if (row->free == 2) {
            d[i_alpha] = k * u[0];
            d[i_beta] = k * u[1];
        } else {
            const double p = row->free == 0 ? 0.0 : k * motor::dot(row->dir, u);
            d[i_alpha] = p * row->dir[0];
            d[i_beta] = p * row->dir[1];
        }
    }

    d[speed] = held_ ? 0.0 : (machine.torque(i, psi, th) - load_torque(x)) * inv_j_;
    d[theta] = machine.pole_pairs * w;
    d[flow] = 0.0;
    if (pump_ != 0) {
        const double net = rho_g_ * (pump_head(x) - static_head - site.main_loss(x[flow]));
        if (!(site.works.water.check_valve && x[flow] <= 0.0 && net < 0.0)) d[flow] = net * inv_inertance_;
    }
}

template <class Machine>
void Chain<Machine>::block(const X& x, double t, double* j) const {
    const ModeRow& r = *row;
    double inv_l;
    if constexpr (Machine::position_dependent) {
        const motor::Sym2 L = machine.inductance(x[theta]);
        inv_l = 1.0 / (0.5 * (L.aa + L.bb) + Lc_);
    } else {
        inv_l = 1.0 / (machine.L_sigma() + Lc_);
    }
    Vec2 vl = r.vl, ci = r.ci;
    if (sine.on) {
        const Vec2 s = sine_unit(x, t);
        const double k = sine.mains ? 0.0 : 0.5 * sine.amplitude;
        vl = {k * s[0], k * s[1]};
        ci = {1.5 * vl[0], 1.5 * vl[1]};
    }
    double g = 0.0, esr = 0.0;
    if (!site.source.stiff) {
        esr = site.source.esr;
        g = site.source.net_slope(x[v_cap] - esr * bridge_current(x, x[v_cap], t));
    }
    const double e = machine.emf_slope();
    const double dv = 1.0 + esr * g;              // dv/dv_c;  dv/di = -esr ci dv
    double a[2][3] = {{r.maa - e - vl[0] * esr * ci[0] * dv, r.mab - vl[0] * esr * ci[1] * dv, vl[0] * dv},
                      {r.mba - vl[1] * esr * ci[0] * dv, r.mbb - e - vl[1] * esr * ci[1] * dv, vl[1] * dv}};
    for (int n = 0; n < 3; ++n) {
        double p0 = a[0][n], p1 = a[1][n];
        if (r.free != 2) {
            const double p = r.free == 0 ? 0.0 : r.dir[0] * p0 + r.dir[1] * p1;
            p0 = p * r.dir[0], p1 = p * r.dir[1];
        }
        j[n] = p0 * inv_l;
        j[3 + n] = p1 * inv_l;
    }
    const double k = -inv_c_ * (1.0 + g * esr);
    j[6] = k * ci[0];
    j[7] = k * ci[1];
    j[8] = inv_c_ * g;
}

template <class Machine>
void Chain<Machine>::project(X& x) const {
    if (row->free == 1) {
        const double p = row->dir[0] * x[i_alpha] + row->dir[1] * x[i_beta];
        x[i_alpha] = p * row->dir[0];
        x[i_beta] = p * row->dir[1];
    } else if (row->free == 0) {
        x[i_alpha] = x[i_beta] = 0.0;
    }
    if (site.works.water.check_valve && x[flow] < 0.0) x[flow] = 0.0;
    if (held_) x[speed] = site.works.shaft.held_speed;
}

template <class Machine>
Nodes Chain<Machine>::nodes(const X& x, double t) const {
    using site::PhaseNode;
    Nodes n;
    X d;
    (*this)(x, d, t);
    n.link = link_voltage(x, t);
    n.source_i = site.source.stiff ? 0.0 : site.source.source_current(n.link);
    n.bridge_i = bridge_current(x, n.link, t);
    const Vec2 i = {x[i_alpha], x[i_beta]}, psi = {x[psi_alpha], x[psi_beta]};
    n.i = motor::phases(i);
    const double th = x[theta], w = x[speed];
    const Vec2 e = machine.emf(i, psi, w, th);
    const motor::Sym2 L = machine.inductance(th);
    const Vec2 di = {d[i_alpha], d[i_beta]}, Ldi = L * di;
    const Vec3 inner = motor::phases({Ldi[0] + e[0], Ldi[1] + e[1]});
    const Vec3 dip = motor::phases(di);
    const double e0 = machine.zero_emf(w, th);

    Vec3 s{}, f{};
    Vec2 unit{};
    if (sine.on) unit = sine_unit(x, t);
    const Vec3 wave = motor::phases(unit);
    for (std::size_t k = 0; k < 3; ++k) {
        if (sine.on) s[k] = sine.mains ? sine.amplitude * wave[k] : n.link * 0.5 * (1.0 + sine.amplitude * wave[k]);
        else s[k] = row->a[k] * n.link + row->b[k];
        f[k] = Rw_[k] * n.i[k] + inner[k] + e0;  // motor.k to star
    }
    const site::Reduced& net = *row->net;
    // Resistive part; the cable's inductive drop is added below the lead (lumped at the cable).
    for (std::size_t m = 0; m < PhaseNode::count; ++m) {
        double v = 0.0;
        for (std::size_t j = 0; j < 3; ++j) v += net.A[m][j] * s[j] - net.Z[m][j] * n.i[j];
        const std::size_t k = m % 3;
        if (m >= PhaseNode::cable) v -= Lc_ * dip[k];
        n.v[m] = v;
    }
    for (std::size_t k = 0; k < 3; ++k) {
        n.leg_i[k] = 0.0;
        for (std::size_t j = 0; j < 3; ++j) n.leg_i[k] += net.G[k][j] * s[j] + net.B[k][j] * n.i[j];
    }
    double star = 0.0;
    int tied = 0;
    for (std::size_t k = 0; k < 3; ++k) {
        if (net.island[PhaseNode::motor + k] >= 0) continue;
        star += n.v[PhaseNode::motor + k] - f[k];
        ++tied;
    }
    // With no line tied to a rail, the legs' own leakage holds the terminals about the middle of the link.
    n.star = tied ? star / tied : 0.5 * n.link - (f[0] + f[1] + f[2]) / 3;
    std::array<double, PhaseNode::count> offset{};
    std::array<bool, PhaseNode::count> known{};
    for (std::size_t k = 0; k < 3; ++k) {
        const int island = net.island[PhaseNode::motor + k];
        if (island < 0) continue;
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
    return n;
}

template <class Machine>
Terminals Chain<Machine>::terminals(const X& x, double t) const {
    Terminals out;
    if (!row->all_driven || sine.on) {
        const Nodes n = nodes(x, t);
        for (std::size_t k = 0; k < 3; ++k) out.drive[k] = n.v[site::PhaseNode::drive + k];
        out.leg_i = n.leg_i;
        out.link = n.link;
        return out;
    }
    const double v = out.link = link_voltage(x, t);
    for (std::size_t k = 0; k < 3; ++k) {
        const auto &a = row->terminal[k], &b = row->leg[k];
        out.drive[k] = a.p * x[i_alpha] + a.q * x[i_beta] + a.r * v + a.c;
        out.leg_i[k] = b.p * x[i_alpha] + b.q * x[i_beta] + b.r * v + b.c;
    }
    return out;
}

template <class Machine>
double Chain<Machine>::stored(const X& x) const {
    const Vec2 i = {x[i_alpha], x[i_beta]}, psi = {x[psi_alpha], x[psi_beta]};
    double e = machine.stored(i, psi, x[theta]) + 0.75 * Lc_ * motor::dot(i, i);
    if (!site.source.stiff) e += 0.5 * site.source.farad * x[v_cap] * x[v_cap];
    if (!held_) e += 0.5 * site.works.shaft.inertia * x[speed] * x[speed];
    if (pump_ != 0) e += 0.5 * x[flow] * x[flow] / inv_inertance_;
    return e;
}

template <class Machine>
void Chain<Machine>::powers(const X& x, double t, Energies& p) const {
    const Vec2 i2 = {x[i_alpha], x[i_beta]}, psi = {x[psi_alpha], x[psi_beta]};
    const Vec3 i = motor::phases(i2);
    const double ib0 = bridge_current(x, x[v_cap], t);
    double v, i_net = 0.0;
    if (site.source.stiff) {
        v = site.source.stiff_V;
        p[from_supply] = v * ib0;
        p[in_dc_run] = p[in_link] = 0.0;
    } else {
        const double w = x[v_cap] - site.source.esr * ib0;
        i_net = site.source.net_current(w);
        v = w + site.source.esr * i_net;
        const double i_src = site.source.source_current_at(v, i_net), run = site.source.run_loss_at(w);
        p[in_dc_run] = run;
        p[from_supply] = v * i_src + run;
        const double ic = i_net - ib0;
        p[in_link] = v * (i_src - i_net) + site.source.esr * ic * ic;
    }
    const double winding = Rw_[0] * i[0] * i[0] + Rw_[1] * i[1] * i[1] + Rw_[2] * i[2] * i[2];
    p[in_winding] = winding;
    if (sine.on && sine.mains) {
        const Vec2 s = sine_unit(x, t);
        p[from_supply] = 1.5 * sine.amplitude * (s[0] * x[i_alpha] + s[1] * x[i_beta]);
        p[in_dc_run] = p[in_link] = 0.0;
    }
    // What the legs put in (their ideal sources), less what reaches the machine behind R_w, is lost on the way.
    const Vec2 u = drive_voltage(x, v, t);
    const double machine_in = 1.5 * (u[0] * x[i_alpha] + u[1] * x[i_beta]);
    const double ron = site.works.bridge.on_resistance;
    double device = 0.0, diodes = 0.0;
    for (std::size_t k = 0; k < 3; ++k) {
        const double leg = row->net->B[k][0] * i[0] + row->net->B[k][1] * i[1] + row->net->B[k][2] * i[2];
        if (row->b[k] == 0.0) device += ron * leg * leg;
        else diodes -= row->b[k] * leg;
    }
    if (sine.on) device = ron * (i[0] * i[0] + i[1] * i[1] + i[2] * i[2]), diodes = 0.0;
    const double sources = (sine.on && sine.mains) ? p[from_supply] : v * ib0;
    p[in_bridge] = device + diodes;
    p[in_cable] = sources - diodes - device - winding - machine_in;
    double splice = 0.0;
    for (std::size_t k = 0; k < 3; ++k) {
        const double r = site.works.phases[k].splice.through();
        if (r < 1e4) splice += r * i[k] * i[k];
    }
    p[in_splice] = splice;
    p[in_cage] = machine.rotor_loss(i2, psi, x[theta]);
    const double w = x[speed];
    const auto& s = site.works.shaft;
    const double dry = s.dry_friction + s.load_torque;
    double pump_torque = 0.0;
    if (pump_ == 1) pump_torque = centrifugal_.torque(w, x[flow]);
    if (pump_ == 2) pump_torque = cavity_.torque(w, x[flow], density_);
    // A held shaft hands its torque to the test stand.
    p[in_bearing] = held_ ? torque(x) * w - pump_torque * w
                          : w * (s.viscous * w + s.fan * w * std::abs(w) + (dry != 0.0 ? dry * std::tanh(w) : 0.0));
    p[in_pump] = p[in_pipe] = p[lifted] = 0.0;
    if (pump_ != 0) {
        const double head = pump_head(x), q = x[flow];
        p[in_pump] = pump_torque * w - rho_g_ * q * head;
        p[in_pipe] = rho_g_ * q * site.main_loss(q);
        p[lifted] = rho_g_ * q * static_head;
    }
}

}  // namespace sunshaft::plant
