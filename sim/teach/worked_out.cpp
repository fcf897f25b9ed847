#include "teach/worked_out.hpp"

#include <algorithm>
#include <cmath>

#include "bench/observe.hpp"
#include "plant/probe.hpp"
#include "text/figure.hpp"
#include "trace/harmonics.hpp"

namespace sunshaft::teach {
namespace {

// The wave between the leads, or round the clamp, over whole turns. The reading of a meter there comes with it: its
// truth is what a belief's formula may name.
Seen line_of_spectrum(const bench::Bench& bench, const Look& look) {
    Seen s;
    s.reading = bench::observe(bench, look.what);
    s.unit = std::string(meter::unit_of(look.what.mode));
    const double turn_Hz = s.reading.truth.fundamental_Hz.value_or(0.0);
    double rms = 0.0;
    if (turn_Hz > 0.0) {
        bench::Bench on(bench);
        const bench::Grip grip = bench::grip(bench, look.what);
        std::vector<plant::Signal> signals;
        for (const auto& [name, sign] : grip.signals) signals.push_back(plant::signal(*on.site(), name));
        plant::Recorder recorder(signals);
        on.plant().advance_turns(on.state(), 0.2, recorder);
        trace::Phasor sum{};
        for (std::size_t k = 0; k < grip.signals.size(); ++k)
            sum += grip.signals[k].second * trace::phasor(recorder.recording.signal(k), look.order * turn_Hz);
        rms = std::abs(sum);
    }
    // Lines a thousandth as high as the first are grass.
    const double grass = 1e-3 * s.reading.truth.fundamental_rms.value_or(0.0);
    s.value = rms < grass ? 0.0 : rms;
    s.low = *s.value - grass;
    s.high = *s.value + grass;
    s.shown = text::quantity(*s.value, s.unit, 4);
    return s;
}

Seen hum(const bench::Bench& bench, const Look& look) {
    const bench::Heard heard = bench::heard(bench, *look.ear);
    const auto at =
        std::find_if(heard.tones.begin(), heard.tones.end(), [](const bench::Tone& t) { return t.what == "hum"; });
    Seen s;
    s.value = at == heard.tones.end() ? 0.0 : at->Hz;
    s.unit = std::string(meter::unit_of(meter::Mode::hz));
    constexpr double ear_share = 0.03;  // half a semitone, which an app for tuning tells (common practice, no source)
    s.low = *s.value * (1.0 - ear_share);
    s.high = *s.value * (1.0 + ear_share);
    s.shown = text::quantity(*s.value, s.unit, 3);
    s.how = heard.caption();
    return s;
}

// The cable is a capacitor that empties through its own insulation once the tester is off. This tester does not empty
// it by itself, as many do.
Seen left_by_test(const bench::Bench& bench, const Look& look) {
    bench::Observation farads = look.what;
    farads.mode = meter::Mode::cap;
    farads.instrument = {};
    const meter::Reading leak = bench::observe(bench, look.what), stored = bench::observe(bench, farads);
    Seen s;
    s.unit = std::string(meter::unit_of(meter::Mode::dcv));
    const double volt = tested_at(look.what.spec().function(meter::Mode::insulation));
    const double tau = leak.value.value_or(INFINITY) * stored.value.value_or(0.0);
    s.value = tau > 0.0 ? volt * std::exp(-look.left_s / tau) : 0.0;
    constexpr double by_the_watch = 0.05;
    s.low = *s.value * (1.0 - by_the_watch);
    s.high = *s.value * (1.0 + by_the_watch);
    s.shown = text::quantity(*s.value, s.unit, 3);
    return s;
}

}  // namespace

Seen worked_out(const bench::Bench& bench, const Look& look) {
    if (look.ear) return hum(bench, look);
    return look.order ? line_of_spectrum(bench, look) : left_by_test(bench, look);
}

double tested_at(const meter::Function& insulation) {
    const auto& choices = insulation.test_V;
    const auto at = std::find_if(choices.begin(), choices.end(), [](double v) { return v >= 500.0; });
    return at == choices.end() ? choices.back() : *at;
}

}  // namespace sunshaft::teach
