// What the tests of the plant share: sites made in code, traces of anything, published machines.
#pragma once

#include <cmath>
#include <numbers>

#include "catch_shim.hpp"
#include "plant/driver.hpp"
#include "plant/run.hpp"
#include "trace/harmonics.hpp"
#include "trace/statistics.hpp"

namespace sunshaft::test {

using namespace plant;
using std::numbers::pi;
inline constexpr double rpm = pi / 30;

// Sink that keeps what `look(chain, point)` returns, an array of values, as traces.
template <class Look>
struct Watch {
    Look look;
    std::vector<trace::Trace> traces = {};
    template <class Machine>
    void piece(const Chain<Machine>& chain, const Point& a, const Point& b) {
        const auto from = look(chain, a), to = look(chain, b);
        traces.resize(from.size());
        for (std::size_t n = 0; n < from.size(); ++n) traces[n].push_back({a.t, b.t, from[n], to[n]});
    }
    trace::Statistics of(std::size_t n) const { return trace::statistics(traces[n]); }
};
template <class Look>
Watch<Look> watch(Look look) {
    return {look};
}

inline State fresh(const site::Site& site) {
    State s;
    s.x[v_cap] = site.source.stiff ? site.source.stiff_V : site.source.open_V;
    if (std::isfinite(site.works.shaft.held_speed)) s.x[speed] = site.works.shaft.held_speed;
    s.water_level = site.works.water.static_level;
    return s;
}

// Nothing between the drive or the mains and the motor; no pump, no friction.
inline Scenario bare() {
    Scenario s;
    s.drop_cable.length_m = 0;
    s.splice.u_ohm = s.splice.v_ohm = s.splice.w_ohm = 0;
    s.drive.on_resistance_ohm = s.drive.diode_drop_V = 0;
    s.drive.control = "fixed";
    s.drive.electronics_W = 0;
    s.link.esr_ohm = 0;
    s.link.bleed_ohm = 1e12;
    s.supply.resistance_ohm = 0;
    s.pump.kind = "none";
    s.motor.viscous_friction_N_m_s = 0;
    s.motor.breakaway_N_m = 0;
    return s;
}

// P. C. Krause, O. Wasynczuk, S. D. Sudhoff, "Analysis of Electric Machinery and Drive Systems", 2nd ed. 2002, table
// 4.10-1 (from memory): four poles, 60 Hz, ohms at 60 Hz.
struct Published {
    double line_V, rs, Xls, Xm, Xlr, rr, J;
};
inline constexpr Published hp3 = {220, 0.435, 0.754, 26.13, 0.754, 0.816, 0.089};
inline constexpr Published hp50 = {460, 0.087, 0.302, 13.08, 0.302, 0.228, 1.662};
inline constexpr Published hp500 = {2300, 0.262, 1.206, 54.02, 1.206, 0.187, 11.06};
inline constexpr Published hp2250 = {2300, 0.029, 0.226, 13.04, 0.226, 0.022, 63.87};

inline Scenario on_mains(const Published& m) {
    Scenario s = bare();
    const double w = 2 * pi * 60;
    s.supply.kind = "mains";
    s.supply.voltage_V = m.line_V;
    s.supply.frequency_Hz = s.drive.frequency_Hz = 60;
    s.motor.pole_pairs = 2;
    s.motor.stator_resistance_ohm = m.rs;
    s.motor.stator_leakage_H = m.Xls / w, s.motor.rotor_leakage_H = m.Xlr / w, s.motor.magnetizing_H = m.Xm / w;
    s.motor.rotor_resistance_ohm = m.rr;
    s.motor.inertia_kg_m2 = m.J;
    return s;
}
inline Scenario at_slip(Scenario s, double slip) {
    s.motor.locked_speed_rpm = 1800 * (1 - slip);
    return s;
}

// A small pump on a bench supply: what the solver is run on where no published site fits.
inline Scenario small_pump() {
    Scenario s;
    s.supply.kind = "bench";
    s.supply.voltage_V = 310;
    s.supply.resistance_ohm = 0.5;
    s.drive.control = "fixed";
    return s;
}

}  // namespace sunshaft::test
