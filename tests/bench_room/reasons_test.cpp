// What every meter says of real sites' waves: healthy six-step and PWM, one phase lost, direct voltage, a dead circuit.
// Every number is found again independently (tests/meter/figures.hpp).
#include <cmath>

#include "../meter/figures.hpp"
#include "bench/bench.hpp"
#include "site/faults.hpp"
#include "site/load.hpp"
#include "trace/period.hpp"

using namespace sunshaft;
using sunshaft::test::approx;

namespace {

struct Place {
    const char *red, *black, *around;
};

// A settled wave there, cut to a few periods so that the independent way does not take minutes; and what the bench
// knows of it.
void sweep(const char* name, const std::vector<const char*>& faults, const std::vector<site::Act>& acts,
           const std::vector<Place>& places) {
    const Scenario scenario = site::load_scenario(site::find_scenario(name));
    bench::Edits edits;
    for (const char* text : faults) edits.faults.push_back(site::parse_fault(text, site::set_up(scenario)));
    edits.acts = acts;
    bench::Bench b(scenario, edits);
    b.settle();
    for (const Place& p : places) {
        const bool clamp = *p.around != 0;
        const std::string signal = clamp ? std::string("around.") + p.around : std::string(p.red) + ":" + p.black;
        plant::Recorder recorder({plant::signal(*b.site(), signal)});
        b.plant().advance_turns(b.state(), 0.1, recorder);
        const trace::Trace all = recorder.recording.signal(0);
        meter::Context c = b.context({p.red, p.black, p.around});
        c.source_ohm.reset();
        trace::Trace wave = c.fundamental_Hz ? trace::last_periods(all, *c.fundamental_Hz, 1) : all;
        if (trace::statistics(wave).rms_ac <= 1e-9 * std::max(1e-9, trace::statistics(wave).rms))
            c.fundamental_Hz.reset();
        // The independent way has its wave in so many samples: each edge falls between two of them.
        double missed = 0.0;
        for (std::size_t n = 1; n < wave.size(); ++n)
            missed += 0.5 * std::fabs(wave[n].y0 - wave[n - 1].y1) / static_cast<double>(test::figures::points);
        const auto harmonics =
            c.fundamental_Hz ? trace::harmonics(wave, *c.fundamental_Hz, 8000) : std::vector<std::complex<double>>{};
        for (const meter::Spec& m : meter::load_specs(meter::shipped_meters()))
            for (const auto& [mode, fn] : m.functions) {
                if (meter::drives_circuit(mode) || meter::times_crossings(mode) || meter::takes_clamp(mode) != clamp)
                    continue;
                const std::string label = std::string(name) + (faults.empty() ? "" : faults[0]) + " " + signal + ", " +
                                          m.name + ", " + std::string(meter::mode_name(mode));
                INFO(label);
                meter::Spec plain = m;
                plain.functions[mode].capacitance_F = 0.0;
                const meter::Reading r = meter::read(plain, mode, wave, c);
                test::figures::check_reading(r);
                if (fn.detector != meter::Detector::mean && c.output && c.link_V.value_or(0.0) > 1.0 && !r.over_range)
                    CHECK(r.link_ratio.has_value());
                const auto expected = test::figures::expected_figures(plain, mode, wave, c, r, harmonics);
                for (const meter::Figure& fig : r.figures) {
                    INFO(fig.name << " = " << fig.text << " (" << fig.value << ")");
                    if (fig.name == "voltage_present") continue;  // the site's highest, for the cautions
                    REQUIRE(expected.contains(fig.name));
                    const double scale = fig.unit == "%" ? 1.0 : std::fabs(fig.value);
                    const double edge = fn.detector == meter::Detector::mean ? missed : 0.0;
                    const double counts = fig.name == "shown" ? 1.001 * r.resolution + edge : edge;
                    CHECK(fig.value == approx(expected.at(fig.name)).margin(3e-3 * scale + counts + 1e-6));
                }
            }
    }
}

}  // namespace

TEST_CASE("every number every meter says of a healthy six-step site is right") {
    sweep("hill-orchard", {}, {},
          {{"drive.u", "drive.v", ""},
           {"motor.u", "motor.v", ""},
           {"drive.u", "link-", ""},
           {"dc+", "dc-", ""},
           {"", "", "u"},
           {"", "", "dc+"}});
    // Not round uvw: the cable's charging comes in pulses of a microsecond, which 131072 samples a period cannot hold;
    // their closed form is in earth_and_warmth_test.cpp.
}
TEST_CASE("every number every meter says of a healthy PWM site is right") {
    sweep("terrace-pwm", {}, {}, {{"drive.u", "drive.v", ""}, {"link+", "link-", ""}, {"", "", "u"}, {"", "", "dc+"}});
}
TEST_CASE("every number every meter says with one phase lost is right") {
    sweep("hill-orchard", {"lost-phase@splice.v"}, {},
          {{"drive.u", "drive.v", ""},
           {"motor.u", "motor.v", ""},
           {"motor.v", "motor.w", ""},
           {"", "", "u"},
           {"", "", "v"}});
}
TEST_CASE("every number every meter says of a dead site is right") {
    sweep("hill-orchard", {}, {{"open", "isolator", 0.0}}, {{"drive.u", "drive.v", ""}, {"", "", "u"}});
}
