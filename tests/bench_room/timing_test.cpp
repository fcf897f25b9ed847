// Faults of the drive's timing have the effect that physics says: closed forms.
#include <complex>
#include <numbers>

#include "support.hpp"
#include "trace/harmonics.hpp"
#include "trace/statistics.hpp"

using namespace sunshaft;
using namespace sunshaft::test;

namespace {

std::vector<trace::Trace> after(const char* site, const bench::Edits& e, const std::vector<std::string>& names,
                                double wait, double seconds) {
    bench::Bench b = at(site, e);
    b.advance(wait);
    return recorded(b, names, seconds);
}

}  // namespace

TEST_CASE("a leg that switches on late loses delay times carrier times link voltage, against its own current") {
    // At every carrier period the leg's own diode carries on for the delay: a square wave opposed to the current, of
    // which the fundamental is 4/pi, by sqrt 2 for its rms (N. Mohan, T. M. Undeland, W. P. Robbins, "Power
    // Electronics", effect of blanking time).
    bench::Edits healthy;
    healthy.set = {"supply.kind=bench",      "supply.voltage_V=340",   "supply.resistance_ohm=0",
                   "drive.control=fixed",    "drive.dead_time_s=2e-6", "motor.locked_speed_rpm=2850",
                   "drive.current_limit_A=0"};
    bench::Edits late = healthy;
    const double delay = 5e-6, carrier = 8000, link = 340;
    late.faults = {{"uneven-dead-time", "u", delay, 0.0}};
    const std::vector<std::string> names = {"drive.u", "drive.v", "around.u"};
    const auto a = after("terrace-pwm", healthy, names, 1.0, 0.2), b = after("terrace-pwm", late, names, 1.0, 0.2);
    const auto i = trace::phasor(b[2], 50.0), lost_u = trace::phasor(b[0], 50.0) - trace::phasor(a[0], 50.0),
               lost_v = trace::phasor(b[1], 50.0) - trace::phasor(a[1], 50.0);
    const std::complex<double> along = lost_u * std::conj(i) / std::abs(i);
    CHECK(std::abs(lost_u) == approx(4 / std::numbers::pi * delay * carrier * link * std::sqrt(0.5)).epsilon(0.03));
    // The square wave changes where the whole current does, ripple and dead time included: some degrees off its
    // fundamental.
    CHECK(along.real() < -0.95 * std::abs(lost_u));
    CHECK(std::abs(lost_v) < 0.1 * std::abs(lost_u));
    // Both changes of a period are late alike: no direct voltage to find.
    CHECK(std::abs(trace::statistics(b[0]).mean - trace::statistics(a[0]).mean) < 0.01 * link);
}

TEST_CASE("commutation off its angle: the torque of the standing rotor is that of its currents on its magnet") {
    // Sinusoidal EMF, rotor held at theta: T = -p psi sum of i_k sin(theta - k 120 deg), from the energy of the field
    // (Krause, Wasynczuk, Sudhoff, "Analysis of Electric Machinery", ch. 4). Blocks of 120 degrees put the current on
    // one of six axes, two phases in series; an offset of 60 degrees takes the next pair. Of the three axes the outer
    // two then add up to the middle one: cos(x - 60) + cos(x + 60) = cos x.
    struct Held {
        double torque, ampere;
        int pair;
    };
    const auto held = [](double degrees) {
        bench::Edits e{.set = {"supply.kind=bench", "supply.voltage_V=12", "supply.resistance_ohm=0",
                               "drive.control=fixed", "motor.locked_speed_rpm=0", "drive.current_limit_A=0",
                               "drive.electronics_W=0"}};
        if (degrees != 0.0) e.faults = {{"commutation-offset", "drive", degrees, 0.0}};
        bench::Bench b = at("river-meadow", e);
        b.advance(1.0);
        const auto seen = recorded(b, {"torque_N_m", "around.u", "around.v", "around.w"}, 0.1);
        const auto& motor = std::get<motor::PermanentMagnet>(b.site()->works.motor);
        const double theta = b.state().x[plant::theta];
        double sum = 0.0, most = 0.0;
        int pair = 0;
        for (int k = 0; k < 3; ++k) {
            const double i = trace::statistics(seen[static_cast<std::size_t>(k) + 1]).mean;
            sum -= i * std::sin(theta - k * 2 * std::numbers::pi / 3);
            if (std::abs(i) < 1e-3) pair = k;  // the one that rests
            most = std::max(most, std::abs(i));
        }
        const double torque = trace::statistics(seen[0]).mean;
        CHECK(torque == approx(motor.pole_pairs * motor.flux * sum).epsilon(1e-4));
        return Held{torque, most, pair};
    };
    const Held middle = held(0), one = held(-60), other = held(60);
    CHECK(middle.torque > 0.1);
    CHECK(one.pair != middle.pair);
    CHECK(other.pair != middle.pair);
    CHECK(one.pair != other.pair);
    // the same two windings in series, wherever the rotor stands
    CHECK(one.ampere == approx(middle.ampere).epsilon(1e-3));
    CHECK(one.torque + other.torque == approx(middle.torque).epsilon(1e-3));
    CHECK(std::max(std::abs(one.torque), std::abs(other.torque)) < 1.001 * middle.torque);
}
