// The frequency counter on switched waves, and what is said of other meters.
#include <algorithm>

#include "catch_shim.hpp"
#include "meter/reading.hpp"
#include "trace/waves.hpp"

using namespace sunshaft;
using namespace sunshaft::meter;
using sunshaft::test::approx;

TEST_CASE("Hz on PWM line to line: an ordinary counter counts pulses, one behind a low-pass the fundamental") {
    const trace::Trace pwm = trace::CarrierPwm(320, 50, 0.8, 8000).line_to_line(0, 1, 5);
    Context c;
    c.fundamental_Hz = 50;
    c.carrier_Hz = 8000;
    // Two pulses in each carrier period, all of one sign over each half turn: 8000 a second rise from nothing upwards.
    const double wide = read(find_spec("true-rms-wide"), Mode::hz, pwm, c).value.value();
    CHECK(wide > 7000);
    CHECK(wide < 9000);
    CHECK(read(find_spec("true-rms"), Mode::hz, pwm, c).value.value() > 1000);
    CHECK(read(find_spec("true-rms-drive"), Mode::hz, pwm, c).value.value() == approx(50).epsilon(1e-9));
    // Six-step and sine are no trouble to either.
    Context plain;
    plain.fundamental_Hz = 50;
    for (const char* name : {"true-rms", "true-rms-wide", "true-rms-drive"}) {
        CHECK(read(find_spec(name), Mode::hz, trace::SixStep(320, 50).line_to_line(0, 1), plain).value.value() ==
              approx(50).epsilon(1e-9));
        CHECK(read(find_spec(name), Mode::hz, trace::sine(325, 50, 4), plain).value.value() ==
              approx(50).epsilon(1e-9));
    }
}

TEST_CASE("What another meter would show is what its own chain makes of the wave") {
    Context c;
    c.fundamental_Hz = 50;
    for (const trace::Trace& wave :
         {trace::SixStep(320, 50).line_to_line(0, 1), trace::CarrierPwm(320, 50, 0.8, 8000).line_to_line(0, 1)}) {
        const double low = read(find_spec("true-rms-drive"), Mode::acv_lowpass, wave, c).value.value(),
                     average = read(find_spec("average"), Mode::acv, wave, c).value.value();
        int seen = 0;
        for (const Figure& f : read(find_spec("true-rms"), Mode::acv, wave, c).figures) {
            if (f.name == "low_pass_reading") {
                ++seen;
                CHECK(f.value == approx(low).epsilon(1e-6));
            }
            if (f.name == "average_reading") {
                ++seen;
                CHECK(f.value == approx(average).epsilon(1e-3));
            }
        }
        CHECK(seen == 2);
    }
}

TEST_CASE("The averaging meter on PWM says how near the fundamental it comes") {
    Context c;
    c.fundamental_Hz = 50;
    c.carrier_Hz = 8000;
    const Reading r =
        read(find_spec("average"), Mode::acv, trace::CarrierPwm(320, 50, 0.8, 8000).line_to_line(0, 1), c);
    CHECK(std::any_of(r.reasons.begin(), r.reasons.end(),
                      [](const std::string& s) { return s.find("of the fundamental") != std::string::npos; }));
}
