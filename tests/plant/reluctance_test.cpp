// A motor that is one header and one name: the synchronous reluctance machine on a drive that ramps its frequency.
#include <algorithm>

#include "support.hpp"

using namespace sunshaft;
using namespace sunshaft::test;

namespace {

constexpr double V = 150, R = 1.5, Ld = 0.08, Lq = 0.02, Hz = 50, pairs = 2;

// The most it can hold at the field's speed, over the angle between voltage and rotor: v_d = R i_d - w Lq i_q,
// v_q = R i_q + w Ld i_d, T = 3/2 p (Ld - Lq) i_d i_q (P. C. Krause et al., Analysis of Electric Machinery, ch. 5).
double pull_out() {
    const double w = 2 * pi * Hz, det = R * R + w * w * Ld * Lq;
    double most = 0.0;
    for (double at = 0.0; at < 2 * pi; at += 1e-4) {
        const double vd = V * std::cos(at), vq = V * std::sin(at);
        const double id = (R * vd + w * Lq * vq) / det, iq = (R * vq - w * Ld * vd) / det;
        most = std::max(most, 1.5 * pairs * (Ld - Lq) * id * iq);
    }
    return most;
}

// Ramped up with a fan on its shaft that asks for this share of the pull-out torque at full speed.
Means ramped(double share) {
    Scenario s = bare();
    s.supply.kind = "bench";
    s.supply.voltage_V = 2 * V;  // an ideal sine takes half of it
    s.drive.modulation = "ideal-sine";
    s.drive.control = "v-f";
    s.drive.frequency_Hz = s.drive.nominal_frequency_Hz = Hz;
    s.drive.nominal_voltage_V = V * std::sqrt(1.5);
    s.drive.minimum_frequency_Hz = 1;
    s.drive.ramp_Hz_per_s = 20;
    s.drive.boost_V = 4;
    s.motor.kind = "synchronous-reluctance";
    s.motor.pole_pairs = static_cast<int>(pairs);
    s.motor.stator_resistance_ohm = R;
    s.motor.d_inductance_H = Ld, s.motor.q_inductance_H = Lq;
    s.motor.inertia_kg_m2 = 4e-4;
    s.motor.load_torque_N_m_s2 = share * pull_out() / std::pow(2 * pi * Hz / pairs, 2);
    Plant plant(site::compile_site(s));
    State state = plant.start();
    plant.advance(state, 4.0);
    return plant.average(state, 0.5);
}

}  // namespace

TEST_CASE("a reluctance rotor comes up with the field and keeps its speed, up to its pull-out torque") {
    const Means held = ramped(0.9);
    CHECK(held.speed == approx(2 * pi * Hz / pairs).epsilon(1e-4));
    CHECK(held.torque == approx(0.9 * pull_out()).epsilon(1e-3));
    CHECK(ramped(1.1).speed < 0.9 * 2 * pi * Hz / pairs);
}
