// Faults of the drive's timing have the effect that physics says: closed forms.
#include <cmath>
#include <complex>
#include <numbers>

#include "bench/bench.hpp"
#include "catch_shim.hpp"
#include "site/keys.hpp"
#include "site/load.hpp"
#include "trace/harmonics.hpp"
#include "trace/statistics.hpp"

using namespace sunshaft;
using sunshaft::test::approx;

namespace {

std::vector<trace::Trace> recorded(const char* site, const bench::Edits& e, const std::vector<std::string>& names, double wait, double seconds) {
    bench::Bench b(site::load_scenario(site::find_scenario(site)), e);
    b.advance(wait);
    std::vector<plant::Signal> signals;
    for (const auto& n : names) signals.push_back(plant::signal(*b.site(), n));
    plant::Recorder r(signals);
    b.advance(seconds, &r);
    std::vector<trace::Trace> out;
    for (std::size_t k = 0; k < names.size(); ++k) out.push_back(r.recording.signal(k));
    return out;
}

}  // namespace

TEST_CASE("a leg that switches on late loses delay times carrier times link voltage, against its own current") {
    // At every carrier period the leg's own diode carries on for the delay: a square wave opposed to the current, of which the
    // fundamental is 4/pi, by sqrt 2 for its rms (N. Mohan, T. M. Undeland, W. P. Robbins, "Power Electronics", effect of blanking time).
    bench::Edits healthy;
    healthy.set = {"supply.kind=bench", "supply.voltage_V=340", "supply.resistance_ohm=0", "drive.control=fixed", "drive.dead_time_s=2e-6",
                   "motor.locked_speed_rpm=2850", "drive.current_limit_A=0"};
    bench::Edits late = healthy;
    const double delay = 5e-6, carrier = 8000, link = 340;
    late.faults = {{"uneven-dead-time", "u", delay, 0.0}};
    const std::vector<std::string> names = {"drive.u", "drive.v", "around.u"};
    const auto a = recorded("terrace-pwm", healthy, names, 1.0, 0.2), b = recorded("terrace-pwm", late, names, 1.0, 0.2);
    const auto i = trace::phasor(b[2], 50.0), lost_u = trace::phasor(b[0], 50.0) - trace::phasor(a[0], 50.0),
               lost_v = trace::phasor(b[1], 50.0) - trace::phasor(a[1], 50.0);
    const std::complex<double> along = lost_u * std::conj(i) / std::abs(i);
    CHECK(std::abs(lost_u) == approx(4 / std::numbers::pi * delay * carrier * link * std::sqrt(0.5)).epsilon(0.03));
    // The square wave changes where the whole current does, ripple and dead time included: some degrees off its fundamental.
    CHECK(along.real() < -0.95 * std::abs(lost_u));
    CHECK(std::abs(lost_v) < 0.1 * std::abs(lost_u));
    // Both changes of a period are late alike: no direct voltage to find.
    CHECK(std::abs(trace::statistics(b[0]).mean - trace::statistics(a[0]).mean) < 0.01 * link);
}

TEST_CASE("commutation off its angle: torque of the standing rotor goes with the cosine of the angle") {
    // Sinusoidal EMF, rotor held: blocks of 120 degrees put the current on one of six axes, 60 degrees apart. From one to the
    // next the torque goes as the cosine, so that those of the axes on either side add up to the one between:
    // cos(x - 60) + cos(x + 60) = cos x.
    const auto torque = [](double degrees) {
        bench::Edits e;
        e.set = {"supply.kind=bench", "supply.voltage_V=12", "supply.resistance_ohm=0", "drive.control=fixed", "motor.locked_speed_rpm=0", "drive.current_limit_A=0",
                 "drive.electronics_W=0"};
        if (degrees != 0.0) e.faults = {{"commutation-offset", "drive", degrees, 0.0}};
        return trace::statistics(recorded("four-module", e, {"torque_N_m"}, 1.0, 0.1)[0]).mean;
    };
    const double middle = torque(0), one = torque(-60), other = torque(60);
    CHECK(middle > 0.1);
    CHECK(one + other == approx(middle).epsilon(1e-3));
    CHECK(std::max(std::abs(one), std::abs(other)) < 1.001 * middle);
}
