// The live solver against SUNDIALS CVODE on the same right-hand side, between the same stops.
#include "../bench/rivals.hpp"
#include "support.hpp"

using namespace sunshaft;
using namespace sunshaft::test;

namespace {

template <class Machine>
void compare(const std::shared_ptr<const site::Site>& site, const Machine& machine, double span,
             const std::string& what) {
    Driver<Machine> ours(*site, machine), theirs(*site, machine);
    X absolute = reference(*site);
    for (double& a : absolute) a *= 1e-8;
    Cvode<X, Chain<Machine>> cvode(theirs.chain, 1e-8, absolute);
    State a = fresh(*site), b = fresh(*site);
    NoSink none;
    X largest = reference(*site);  // a tenth of it at least
    for (double& x : largest) x *= 0.1;
    // From rest through the start to the steady state; the larger steps come at odd places of the cycle.
    for (const double t : {0.003, 0.0101, 0.027, 0.0512, 0.1003, 0.2107, 0.4, 0.7013, 1.0}) {
        if (t > span) break;
        ours.advance(a, t, none);
        bench::advance_cvode(theirs, cvode, b, t, none);
        INFO(what << " at " << t << " s");
        for (std::size_t n = 0; n < state_size; ++n) largest[n] = std::max(largest[n], std::abs(b.x[n]));
        largest[i_alpha] = largest[i_beta] = std::max(largest[i_alpha], largest[i_beta]);
        for (const std::size_t n : {i_alpha, i_beta, speed, v_cap}) {
            INFO(state_name[n]);
            CHECK(a.x[n] == approx(b.x[n]).margin(1e-3 * largest[n]));
        }
    }
}

void compare(const Scenario& s, double span, const std::vector<site::Fault>& faults, const std::string& what) {
    const auto site = site::compile_site(s, faults);
    std::visit([&](const auto& machine) { compare(site, machine, span, what); }, site->works.motor);
}

}  // namespace

TEST_CASE("currents, speed and link voltage agree with CVODE") {
    const std::vector<std::pair<std::string, std::vector<site::Fault>>> states = {
        {"healthy", {}},
        {"lost phase", {{"lost-phase", "cable.w", 1, 0}}},
        {"splice 3 kohm", {{"high-resistance-splice", "v", 3000, 0}}}};
    for (const double ohm : {0.5, 0.02})
        for (const auto& [name, faults] : states) {
            Scenario s = small_pump();
            s.supply.resistance_ohm = ohm;
            compare(s, 1.0, faults, name + ", six-step");
            s.drive.modulation = "sine-triangle", s.drive.carrier_Hz = 8000, s.drive.modulation_index = 0.9;
            compare(s, 0.11, faults, name + ", PWM");
            s.drive.dead_time_s = 1e-6;
            compare(s, 0.06, faults, name + ", PWM with dead time");
        }
}

TEST_CASE("a permanent-magnet motor on 120 degree commutation agrees with CVODE") {
    Scenario s = small_pump();
    s.supply.voltage_V = 70;
    s.drive.modulation = "six-step-120";
    auto& m = s.motor;
    m.kind = "permanent-magnet", m.pole_pairs = 2, m.stator_resistance_ohm = 1.0, m.flux_linkage_Wb = 0.0535;
    m.d_inductance_H = m.q_inductance_H = 1.5e-3, m.inertia_kg_m2 = 2e-4;
    s.pump.rated_speed_rpm = 3000, s.pump.shutoff_head_m = 30, s.pump.best_flow_m3_h = 1.3, s.pump.best_head_m = 20,
    s.pump.best_efficiency = 0.5;
    s.well.static_level_m = 12;
    for (const char* shape : {"sinusoidal", "trapezoidal"}) {
        s.motor.back_emf = shape;
        compare(s, 0.06, {}, shape);
    }
}
