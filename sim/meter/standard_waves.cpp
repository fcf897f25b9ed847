#include "meter/standard_waves.hpp"

#include <fmt/format.h>

#include <algorithm>

#include "text/language.hpp"
#include "trace/waves.hpp"

namespace sunshaft::meter {

using text::say, text::tr;

std::vector<StandardRow> standard_readings(const Spec& spec) {
    constexpr double f = 50.0;
    std::vector<StandardRow> rows;
    for (const bool clamp : {false, true}) {
        std::vector<Mode> modes;
        double peak = clamp ? 10.0 : 320.0;
        for (const auto& [mode, function] : spec.functions) {
            if (drives_circuit(mode) || takes_clamp(mode) != clamp) continue;
            modes.push_back(mode);
            if (!times_crossings(mode)) peak = std::min(peak, 0.8 * function.ranges.back());
        }
        if (modes.empty()) continue;
        struct Wave {
            std::string name;
            trace::Trace trace;
            double carrier_Hz;
        };
        std::vector<Wave> waves{{tr("sine"), trace::sine(peak, f, 2), 0.0},
                                {tr("square"), trace::square(peak, f, 2), 0.0},
                                {tr("quasi-square, 120 deg"), trace::quasi_square(peak, 120.0, f, 2), 0.0},
                                {tr("triangle"), trace::triangle(peak, f, 2), 0.0},
                                {tr("pulse train, duty 0.25"), trace::pulse_train(peak, 0.25, f, 2), 0.0}};
        for (double carrier : {2e3, 4e3, 8e3, 16e3})
            waves.push_back({say("PWM {:g} kHz, index 0.8", carrier / 1e3),
                             trace::CarrierPwm(peak, f, 0.8, carrier).line_to_line(0, 1, 2), carrier});
        for (const Wave& w : waves) {
            StandardRow row{w.name, peak, {}, {}};
            Context context;
            context.fundamental_Hz = f;
            if (w.carrier_Hz > 0.0) context.carrier_Hz = w.carrier_Hz;
            for (Mode mode : modes) row.readings.emplace_back(mode, read(spec, mode, w.trace, context));
            row.truth = row.readings.front().second.truth;
            rows.push_back(std::move(row));
        }
    }
    return rows;
}

}  // namespace sunshaft::meter
