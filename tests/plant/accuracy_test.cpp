// What a run reports against closed forms and against itself at tighter tolerance: torque, sine sources, open windings,
// rest.
#include "support.hpp"

using namespace sunshaft;
using namespace sunshaft::test;

namespace {

trace::Statistics recorded(Plant& plant, State& state, const std::string& name, double seconds = 0.1) {
    Recorder recorder({signal(plant.site(), name)});
    plant.advance_turns(state, seconds, recorder);
    return trace::statistics(recorder.recording.signal(0));
}

void check_alike(const Means& a, const Means& b) {
    for (std::size_t k = 0; k < 3; ++k) {
        CHECK(a.current_rms[k] == approx(b.current_rms[k]).epsilon(1e-3));
        CHECK(a.line_rms[k] == approx(b.line_rms[k]).epsilon(1e-3));
    }
    CHECK(a.link == approx(b.link).epsilon(1e-3));
    CHECK(a.speed == approx(b.speed).epsilon(1e-3));
}

Scenario at_tolerance(Scenario s, double tolerance) {
    s.solver.tolerance = tolerance;
    return s;
}

}  // namespace

// A symmetrical sine: the rms of a line is the mains' own, to the digits a reference meter has.
TEST_CASE("220 V of mains reads 220 V") {
    Plant plant(site::compile_site(on_mains(hp3)));
    State s = plant.start();
    plant.advance(s, 0.5);
    CHECK(recorded(plant, s, "drive.u:drive.v").rms == approx(220).epsilon(1e-6));
    const Means m = plant.average_turns(s, 0.1);
    for (const double v : m.line_rms) CHECK(v == approx(220).epsilon(1e-6));
    // Ideal sine of a drive: index times half the link's voltage is the phase's peak.
    Scenario ideal = small_pump();
    ideal.supply.resistance_ohm = 0;
    ideal.drive.modulation = "ideal-sine";
    ideal.drive.modulation_index = 0.8;
    ideal.drive.on_resistance_ohm = ideal.drive.diode_drop_V = 0;
    Plant drive(site::compile_site(ideal));
    State d = drive.start();
    drive.advance(d, 0.5);
    CHECK(recorded(drive, d, "drive.u:drive.v").rms == approx(0.8 * 155 * std::sqrt(1.5)).epsilon(1e-6));
}

// Voltage of the magnets alone, by the definition of flux linkage: peak of a phase = flux times electrical speed.
TEST_CASE("the voltage of a magnet motor turned from outside, wires off") {
    const auto turned = [](const char* emf, double rpm_held) {
        Scenario s = bare();
        s.supply.kind = "bench";
        s.supply.voltage_V = 160;
        s.motor.kind = "permanent-magnet";
        s.motor.back_emf = emf;
        s.motor.pole_pairs = 2, s.motor.flux_linkage_Wb = 0.0605;
        s.motor.locked_speed_rpm = rpm_held;
        return Plant(site::compile_site(s, {}, {{"pull", "pump", 0.0}}));
    };
    for (const double held : {300.0, 3000.0, 3600.0, -3000.0}) {
        Plant plant = turned("sinusoidal", held);
        State s = plant.start();
        plant.advance(s, 0.2);
        const double w = 2 * std::abs(held) * rpm, volts = std::sqrt(3.0) * 0.0605 * w / std::sqrt(2.0);
        INFO(held << " rpm");
        CHECK(recorded(plant, s, "lead.u:lead.v").rms == approx(volts).epsilon(2e-4));
        CHECK(recorded(plant, s, "motor.w:motor.u").rms == approx(volts).epsilon(2e-4));
        // The mean of |sine| is 2 sqrt 2 / pi of its rms.
        CHECK(recorded(plant, s, "lead.v:lead.w").rectified_mean ==
              approx(volts * 2 * std::sqrt(2.0) / pi).epsilon(2e-4));
    }
    // Two flat tops of 120 degrees, a third of a turn apart, with flanks of 60: the line's wave is flat at twice the
    // phase's for 60 degrees, and falls evenly to the phase's height over the next 60 and to nothing over the next 30.
    Plant plant = turned("trapezoidal", 3000);
    State s = plant.start();
    plant.advance(s, 0.2);
    const double k = 0.0605 * 2 * 3000 * rpm;
    double square = 0.0;
    constexpr int many = 360000;
    const motor::PermanentMagnet::Equations shapes(std::get<motor::PermanentMagnet>(plant.site().works.motor));
    for (int n = 0; n < many; ++n) {
        const auto e = shapes.shape((n + 0.5) * 2 * pi / many);
        square += (e[0] - e[1]) * (e[0] - e[1]);
    }
    CHECK(recorded(plant, s, "lead.u:lead.v").rms == approx(k * std::sqrt(square / many)).epsilon(5e-4));
}

// Against the same chain at a ten-thousandth of the tolerance.
TEST_CASE("torque and voltages on open lines, against a far tighter run") {
    struct Case {
        const char* what;
        Scenario s;
        std::vector<site::Fault> faults;
        const char* volts;
    };
    std::vector<Case> cases;
    Scenario held = small_pump();
    held.motor.locked_speed_rpm = 2750;
    cases.push_back({"six-step", held, {}, "drive.u:drive.v"});
    cases.push_back({"six-step, line v lost", held, {{"lost-phase", "cable.v", 1, 0}}, "motor.u:motor.v"});
    Scenario magnet = held;
    magnet.motor.kind = "permanent-magnet";
    magnet.drive.modulation = "six-step-120";
    magnet.motor.pole_pairs = 2, magnet.motor.flux_linkage_Wb = 0.15;
    magnet.motor.locked_speed_rpm = 3000;
    cases.push_back({"120 degrees", magnet, {}, "drive.u:drive.v"});
    cases.push_back({"120 degrees, leg dead", magnet, {{"leg-dead", "w", 1, 0}}, "drive.v:drive.w"});
    for (const Case& c : cases) {
        double torque[2], volts[2], line[2], reported[2];
        for (int n = 0; n < 2; ++n) {
            Plant plant(site::compile_site(n ? at_tolerance(c.s, 4e-8) : c.s, c.faults));
            State s = plant.start();
            plant.advance(s, 0.5);
            const Means m = plant.average_turns(s, 0.1);
            torque[n] = m.torque, line[n] = m.line_rms[1];
            volts[n] = recorded(plant, s, c.volts).rms;
            reported[n] = recorded(plant, s, "torque_N_m").mean;
        }
        INFO(c.what << ": torque " << torque[0] << " " << torque[1] << ", recorded " << reported[0] << " "
                    << reported[1] << ", volts " << volts[0] << " " << volts[1] << ", line " << line[0] << " "
                    << line[1]);
        CHECK(torque[0] == approx(torque[1]).epsilon(1e-4));
        CHECK(reported[0] == approx(reported[1]).epsilon(1e-4));
        CHECK(volts[0] == approx(volts[1]).epsilon(1e-3));
        CHECK(line[0] == approx(line[1]).epsilon(1e-3));
    }
}

TEST_CASE("the key solver.tolerance does what it says") {
    const auto seen = [](double tolerance) {
        Plant plant(site::compile_site(at_tolerance(small_pump(), tolerance)));
        State s = plant.start();
        plant.advance(s, 2.0);
        const Means m = plant.average_turns(s, 0.1);
        return std::array<double, 4>{m.line_rms[0], m.current_rms[0], m.link, m.speed};
    };
    const auto truth = seen(1e-8);
    double last = 1.0;
    for (const double tolerance : {4e-3, 4e-4, 4e-6}) {
        const auto now = seen(tolerance);
        double worst = 0.0;
        for (std::size_t n = 0; n < truth.size(); ++n) worst = std::max(worst, std::abs(now[n] / truth[n] - 1));
        INFO(tolerance << ": " << worst);
        CHECK(worst < 1.5 * tolerance);
        CHECK(worst < last);
        last = worst;
    }
}

// The link's own time constant is the capacitor times what stands for the source, about a second here: settled is
// settled.
TEST_CASE("settled means at its end, with a large link capacitor too") {
    for (const double farad : {1e-3, 0.05, 0.4}) {
        Scenario s = small_pump();
        s.supply.resistance_ohm = 4;
        s.link.capacitance_F = farad;
        Plant plant(site::compile_site(s));
        State state = plant.start();
        const Settled settled = settle(plant, state);
        REQUIRE(settled.settled);
        Plant later(site::compile_site(s));
        State end = later.start();
        end.slow.held = true;
        later.advance(end, 60.0);
        const Means m = later.average_turns(end, 0.1);
        INFO(farad << " F, after " << settled.seconds << " s");
        CHECK(settled.last.link == approx(m.link).epsilon(1.5e-4));
        CHECK(settled.last.current_rms[0] == approx(m.current_rms[0]).epsilon(3e-4));
        CHECK(settled.last.speed == approx(m.speed).epsilon(1.5e-4));
        CHECK(settled.last.flow == approx(m.flow).epsilon(1.5e-3));
    }
}

// Beside a short between two lines a window goes partly by the series of the linear machine. While a leg floats it goes
// by the general way, each with an account of its own.
TEST_CASE("a short between two lines reads as the general way has it, and its account closes") {
    Scenario six = small_pump(), carried = six, soft = six;
    carried.drive.modulation = "sine-triangle", carried.drive.modulation_index = 0.9, carried.drive.carrier_Hz = 4000;
    carried.drive.dead_time_s = 2e-6;
    soft.link.esr_ohm = 0.3;
    struct Case {
        const char* what;
        const Scenario& s;
        site::Fault fault;
    };
    for (const Case& c : {Case{"six-step", six, {"phases-shorted", "u-v", 40, 0}},
                          Case{"six-step, a bad capacitor", soft, {"phases-shorted", "v-w", 25, 0}},
                          Case{"windings", six, {"windings-touching", "w-u", 30, 0}},
                          Case{"PWM with dead time", carried, {"phases-shorted", "u-v", 40, 0}}}) {
        const auto site = site::compile_site(c.s, {c.fault});
        Options general = options_for(*site);
        general.method = c.s.drive.modulation == "sine-triangle" ? Method::ros2w : Method::ra34pw2;
        general.relative *= 0.01, general.piece *= 0.1;
        Plant plant(site), tight(site, general);
        State s = plant.start(), t = s;
        plant.advance(s, 1.0), tight.advance(t, 1.0);
        plant.open_account(s);
        const Means a = plant.average_turns(s, 0.4), b = tight.average_turns(t, 0.4);
        INFO(c.what << ": gap " << plant.energy_gap(s) << ", " << a.current_rms[0] << " A for " << b.current_rms[0]
                    << ", " << a.link << " V for " << b.link << ", " << a.speed << " rad/s for " << b.speed);
        CHECK(std::abs(plant.energy_gap(s)) < 5e-4);
        check_alike(a, b);
    }
}

// Blocks of 120 degrees, whole and chopped: a leg floats in every mode, diodes run out of current, and an EMF that is a
// trapezoid bends six times a turn. The general way has none of the series' shortcuts.
TEST_CASE("magnets on blocks read as the general way has them, and their account closes") {
    for (const bool trapezoidal : {false, true})
        for (const double duty : {1.0, 0.55}) {
            Scenario s = small_pump();
            s.motor.kind = "permanent-magnet", s.motor.pole_pairs = 2, s.motor.flux_linkage_Wb = 0.15;
            s.motor.d_inductance_H = s.motor.q_inductance_H = 4e-3;
            s.motor.back_emf = trapezoidal ? "trapezoidal" : "sinusoidal";
            s.drive.modulation = "six-step-120", s.drive.duty = duty, s.drive.carrier_Hz = 4000;
            const auto site = site::compile_site(s);
            Options general = options_for(*site);
            general.method = Method::dopri5;
            general.relative *= 0.01, general.piece *= 0.1;
            Plant plant(site), tight(site, general);
            State a = plant.start(), b = a;
            plant.advance(a, 1.0), tight.advance(b, 1.0);
            plant.open_account(a);
            const Means x = plant.average(a, 0.2), y = tight.average(b, 0.2);
            INFO((trapezoidal ? "trapezoidal" : "sinusoidal")
                 << " at " << duty << ": gap " << plant.energy_gap(a) << ", " << x.current_rms[0] << " A for "
                 << y.current_rms[0] << ", " << x.link << " V for " << y.link << ", " << x.speed << " rad/s for "
                 << y.speed << ", " << x.torque << " N m for " << y.torque);
            CHECK(y.speed > 10.0);
            CHECK(std::abs(plant.energy_gap(a)) < 5e-4);
            check_alike(x, y);
            for (std::size_t k = 0; k < 3; ++k) CHECK(x.line_rectified[k] == approx(y.line_rectified[k]).epsilon(1e-3));
        }
}
