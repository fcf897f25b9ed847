// Whether one site starts as another: steady.hpp.
#include <cmath>
#include <tuple>

#include "plant/steady.hpp"

namespace sunshaft::plant {
namespace {

bool same_drive(const drive::DriveSettings& a, const drive::DriveSettings& b) {
    const auto all = [](const drive::DriveSettings& d) {
        return std::tuple(d.modulation, d.control, d.frequency, d.minimum_frequency, d.ramp, d.carrier, d.index, d.duty,
                          d.nominal_V, d.nominal_Hz, d.boost_V, d.dead_time, d.current_limit, d.start_V,
                          d.tracker_period, d.tracker_step, d.phase_loss_detection, d.tracker_stuck, d.enabled, d.on);
    };
    const auto more = [](const drive::DriveSettings& d) {
        return std::tuple(d.link_F, d.overvoltage_V, d.dropout_V, d.motor_A, d.motor_heating_s, d.heat_sink_limit_degC,
                          d.charge_s, d.low_sun_retry_s, d.low_sun_retry_longest_s, d.dry_delay_s, d.dry_retry_s,
                          d.tank_delay_s, d.tank_retry_s, d.stall_s, d.phase_loss_s, d.trip_retry_s, d.trip_forget_s,
                          d.trip_retries, d.voltage_gain, d.current_gain, d.current_offset, d.commutation_offset,
                          d.dead_time_extra, d.latches_V, d.tracker, d.tracker_V, d.tracker_share, d.low_load_W);
    };
    const auto senses = [](const drive::DriveSettings& d) {
        return std::tuple(d.sensing, d.sensing_blind_s, d.earth_trip_A, d.insulation_trip_ohm, d.back_emf, d.emf_per_Hz,
                          d.align_s, d.start_ramp);
    };
    return all(a) == all(b) && more(a) == more(b) && senses(a) == senses(b);
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
        if (!(std::abs(q.through() - p.through()) <= share * p.through())) return false;
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

}  // namespace sunshaft::plant
