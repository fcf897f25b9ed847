// Implementation of chain.hpp: the energy account.
//
// Over a straight piece the mean of a product of two linear quantities is  mean mean + change change / 12,  so
// everything quadratic (all that is electrical) is exact on the piece; what is not (pump, friction, the run's loss)
// varies slowly and is taken at its middle.
#pragma once

namespace sunshaft::plant {

namespace detail {
// Means over a piece of the products a Quadratic asks for.
struct Products {
    double aa, ab, bb, av, bv, vv, a, b, v;
    Products(double ma, double mb, double mv, double da, double db, double dv)
        : aa(ma * ma + da * (da * (1.0 / 12))),
          ab(ma * mb + da * (db * (1.0 / 12))),
          bb(mb * mb + db * (db * (1.0 / 12))),
          av(ma * mv + da * (dv * (1.0 / 12))),
          bv(mb * mv + db * (dv * (1.0 / 12))),
          vv(mv * mv + dv * (dv * (1.0 / 12))),
          a(ma),
          b(mb),
          v(mv) {}
    double operator()(const Quadratic& q) const {
        return (q.aa * aa + q.ab * ab + q.bb * bb) + (q.av * av + q.bv * bv + q.vv * vv) +
               (q.a * a + q.b * b + q.v * v) + q.one;
    }
};
}  // namespace detail

// Power an ideal sine source gives, W.
template <class Machine>
double Chain<Machine>::sine_power(const X& x, double link, double t) const {
    const Vec2 s = sine_unit(t);
    const double k = sine.mains ? sine.amplitude : 0.5 * sine.amplitude * link;
    return 1.5 * k * (s[0] * x[i_alpha] + s[1] * x[i_beta]);
}

template <class Machine>
void Chain<Machine>::powers(const X& x, double t, Energies& p) const {
    p.fill(0.0);
    const Point here = point(t, x);
    electrical(here, here, 1.0, p);
    mechanical(x, 1.0, p);
}

template <class Machine>
[[gnu::always_inline]] inline void Chain<Machine>::electrical(const Point& a, const Point& b, double dt,
                                                              Energies& e) const {
    X m, d;  // middle and change, of what the electrical side asks for
    for (std::size_t n = 0; n < flow; ++n) m[n] = 0.5 * (a.x[n] + b.x[n]), d[n] = b.x[n] - a.x[n];
    const double v = 0.5 * (a.link + b.link), net = 0.5 * (a.net + b.net);
    const double dv = b.link - a.link, dnet = b.net - a.net;
    const detail::Products products(m[i_alpha], m[i_beta], v, d[i_alpha], d[i_beta], dv);

    if (!compiled_->stiff) {
        const double ib0 = bridge_current(a.x, a.link, a.t), ib1 = bridge_current(b.x, b.link, b.t);
        const double ic = net - 0.5 * (ib0 + ib1), dic = dnet - (ib1 - ib0);
        const double draw = v * source->source_current_at(v, 0.0), run = source->run_loss_at(v - compiled_->esr * net);
        e[in_dc_run] += dt * run;
        e[in_link] += dt * (draw + compiled_->esr * (ic * ic + dic * (dic * (1.0 / 12))));
        e[from_supply] += dt * (v * net + dv * (dnet * (1.0 / 12)) + draw + run);
    } else if (sine.on) {
        const double middle = a.t + 0.5 * (b.t - a.t);
        e[from_supply] += dt * (1.0 / 6) *
                          (sine_power(a.x, a.link, a.t) + 4 * sine_power(m, v, middle) + sine_power(b.x, b.link, b.t));
    } else {
        e[from_supply] += dt * v * net;
    }
    e[in_bridge] += dt * products(row->bridge_loss);
    e[in_cable] += dt * products(row->cable_loss);
    e[in_splice] += dt * (compiled_->splice_loss.aa * products.aa + compiled_->splice_loss.ab * products.ab +
                          compiled_->splice_loss.bb * products.bb);
    e[square_aa] += dt * products.aa;
    e[square_ab] += dt * products.ab;
    e[square_bb] += dt * products.bb;
    if (row->beside && !sine.on) [[unlikely]]
        for (std::size_t k = 0; k < 3; ++k) e[square_beside_u + k] += dt * products(row->beside_square[k]);
    e[in_winding] += dt * (compiled_->winding_loss.aa * products.aa + compiled_->winding_loss.ab * products.ab +
                           compiled_->winding_loss.bb * products.bb);
    if constexpr (bridged) {
        m[i_turns] = 0.5 * (a.x[i_turns] + b.x[i_turns]), d[i_turns] = b.x[i_turns] - a.x[i_turns];
        turns_loss(m, d, dt, e);
    }
    if constexpr (Equations::has_rotor_flux) {
        if constexpr (two_cages)
            for (const std::size_t n : {outer_alpha, outer_beta})
                m[n] = 0.5 * (a.x[n] + b.x[n]), d[n] = b.x[n] - a.x[n];
        const motor::Losses lost =
            compiled_->equations.losses(wound(m), flux(m), wound(d), flux(d), m[speed], m[theta]);
        e[in_cage] += dt * lost.cage;
        e[in_iron] += dt * lost.iron;
    }
    // A held shaft hands its torque to the test stand.
    if (compiled_->held) e[in_bearing] += dt * m[speed] * (torque(a.x) + 4 * torque(m) + torque(b.x)) * (1.0 / 6);
}

// What bridged turns change in their winding's loss: r2 (i - i_f)^2 + R_f i_f^2 in place of r2 i^2.
template <class Machine>
void Chain<Machine>::turns_loss(const X& m, const X& d, double dt, Energies& e) const {
    if constexpr (bridged) {
        const motor::BridgedTurns& turns = machine.turns;
        const auto k = static_cast<std::size_t>(turns.phase);
        const auto line = [&](const X& x) { return motor::axis[k][0] * x[i_alpha] + motor::axis[k][1] * x[i_beta]; };
        const auto square = [](double mean, double change) { return mean * mean + change * change * (1.0 / 12); };
        const double f = turns_current(m), df = turns_current(d), cold = turns.share * compiled_->Rw[k];
        const double loop = cold * turns_hot * square(line(m) - f, line(d) - df) + turns.contact_ohm * square(f, df);
        e[in_turns] += dt * loop;
        e[in_winding] += dt * (loop - cold * square(line(m), line(d)));
    }
}

template <class Machine>
[[gnu::noinline]] void Chain<Machine>::mechanical(const X& x, double dt, Energies& e) const {
    const double w = x[speed], q = x[flow], pump = pump_torque(w, q);
    const double rubbing = compiled_->held ? 0.0 : pump_friction(w);
    e[in_bearing] += dt * w * ((compiled_->held ? 0.0 - pump : friction(w) - rubbing) + pump * (1.0 - compiled_->grip));
    if (compiled_->pump == 0) return;
    const double head = pump_head(x);
    e[in_pump] += dt * ((pump * compiled_->grip + rubbing) * w - compiled_->rho_g * q * head);
    e[in_pipe] += dt * compiled_->rho_g * q * site.main_loss(q);
    e[lifted] += dt * compiled_->rho_g * q * static_head;
}

template <class Machine>
inline void Chain<Machine>::account_slow(double dt, const X& from, const X& middle, const X& to, Energies& e) const {
    mechanical(from, dt / 6, e);
    mechanical(middle, dt * (4.0 / 6), e);
    mechanical(to, dt / 6, e);
}

}  // namespace sunshaft::plant
