// Everything the plant and the still bench can see of a site, as text: two works that behave the same have the
// same.
#pragma once

#include <fmt/format.h>

#include <string>

#include "circuit/circuit.hpp"
#include "site/wiring.hpp"
#include "site/works.hpp"

namespace sunshaft::test {

inline std::string fingerprint_of_wiring(const site::Works& w) {
    circuit::Circuit c;
    site::wire_dc(w, c);
    site::wire_bridge(w, c);
    site::wire_ac(w, c);
    site::wire_guards(w, c);
    std::string text;
    for (circuit::Branch b = 0; b < c.branches(); ++b) {
        const auto& what = c.info(b);
        text += fmt::format("{} {} {} {} {}", static_cast<int>(what.kind), c.name(what.a), c.name(what.b), what.value,
                            what.ohm);
        if (const auto* law = c.law(b))
            for (const double v : {-20.0, -0.4, 0.0, 0.3, 7.0}) text += fmt::format(" {}", (*law)(v).i);
        text += '\n';
    }
    return text;
}

inline std::string fingerprint(const site::Works& w) {
    std::string t = fingerprint_of_wiring(w);
    const auto add = [&t](auto... x) {
        ((t += fmt::format("{} ", x)), ...);
        t += '\n';
    };
    add(w.link.farad, w.link.esr_ohm, w.link.bleed_ohm, w.link.precharge_ohm, w.link.electronics_W, w.link.dropout_V,
        w.link.overvoltage_V);
    add(w.supply.voltage, w.supply.ohm, w.supply.frequency, w.supply.second.chosen, w.supply.second.welded);
    add(w.array.plus.contact.leak_ohm, w.array.minus.contact.leak_ohm);  // shows once the isolator is off
    add(w.bridge.on_resistance, w.bridge.diode_drop);
    for (const auto& leg : w.bridge.legs) add(static_cast<int>(leg.upper), static_cast<int>(leg.lower));
    const auto& d = w.drive;
    add(static_cast<int>(d.modulation), static_cast<int>(d.control), d.frequency, d.minimum_frequency, d.ramp,
        d.carrier, d.index, d.duty, d.nominal_V, d.nominal_Hz, d.boost_V, d.dead_time, d.current_limit, d.start_V,
        d.tracker_period, d.tracker_step, d.phase_loss_detection, d.tracker_stuck, d.enabled, d.on, d.link_F);
    add(d.voltage_gain, d.current_gain, d.current_offset, d.commutation_offset, d.latches_V);
    add(d.dead_time_extra[0], d.dead_time_extra[1], d.dead_time_extra[2], w.heat_sink.K_per_W);
    add(w.cable_inductance, w.cable_capacitance);
    if (const auto* m = std::get_if<motor::Induction>(&w.motor))
        add(m->pole_pairs, m->Lls, m->Llr, m->Lm, m->Rr, m->cage_asymmetry, m->saturation, m->rated_flux, m->iron_S);
    if (const auto* m = std::get_if<motor::DoubleCage>(&w.motor))
        add(m->pole_pairs, m->Lls, m->Lm, m->Lc, m->Llr, m->Rr, m->L_outer, m->R_outer);
    if (const auto* m = std::get_if<motor::PermanentMagnet>(&w.motor))
        add(m->pole_pairs, m->flux, m->Ld, m->Lq, m->trapezoidal);
    if (const auto* m = std::get_if<motor::SynchronousReluctance>(&w.motor)) add(m->pole_pairs, m->Ld, m->Lq);
    add(w.turns.phase, w.turns.share, w.turns.contact_ohm, w.turns.by_share);
    add(w.shaft.inertia, w.shaft.viscous, w.shaft.dry_friction, w.shaft.load_torque, w.shaft.fan, w.shaft.held_speed);
    if (const auto* p = std::get_if<water::Centrifugal>(&w.water.pump)) add(p->h0, p->h1, p->h2, p->p0, p->p1, p->p2);
    if (const auto* p = std::get_if<water::ProgressiveCavity>(&w.water.pump))
        add(p->displacement, p->slip, p->breakaway, p->running);
    const auto& h = w.water;
    add(h.main.length, h.main.diameter, h.main.roughness, h.main.minor_loss, h.static_level, h.outlet_height,
        h.pump_depth, h.drawdown, h.recovery_s, h.valve_opening, h.valve_shut, h.intake_loss, h.check_valve,
        h.leak_area, h.leak_height);
    add(h.suction_loss, h.npsh, w.edge_s, w.motor_surge_ohm, w.array.breakdown_V, d.low_load_W, d.flow_switch,
        d.flow_stuck, w.choke, w.link.earth_F, static_cast<int>(d.tracker));
    add(w.shaft.coupling_slip, w.motor_heat.K_per_W);
    for (const auto& phase : w.phases) add(phase.splice_opens_degC);
    const auto& m = w.hands;
    add(static_cast<int>(m.turn), m.lead_ohm, m.swapped, m.current_jack, m.fuse_blown, m.battery_low, m.range_at,
        m.two_conductors);
    return t;
}

}  // namespace sunshaft::test
