#include "trace/signature.hpp"

#include <cmath>
#include <limits>
#include <numbers>

#include "trace/period.hpp"
#include "trace/statistics.hpp"

namespace sunshaft::trace {

Phasor windowed_phasor(View trace, double frequency_Hz) {
    constexpr double a[] = {0.35875, 0.48829, 0.14128, 0.01168};
    const double length = duration(trace);
    if (!(length > 0.0)) return {};
    const double mean = statistics(trace).mean;
    // phasor() wants frequencies above zero, and the mean is no line here
    const Trace level = scaled(trace, 1.0, -mean);
    // A negative frequency's coefficient is the conjugate of the positive one's.
    const auto at = [&](double f) {
        return f > 0.0 ? phasor(level, f) : f < 0.0 ? std::conj(phasor(level, -f)) : Phasor{};
    };
    Phasor sum = at(frequency_Hz);
    for (int k = 1; k < 4; ++k) {
        const double sign = k % 2 ? -0.5 : 0.5;
        // The window is centred, the phasors are referred to the start: the shift by k whole turns is in (-1)^k alone.
        sum += sign * a[k] / a[0] * (at(frequency_Hz - k / length) + at(frequency_Hz + k / length));
    }
    return sum;
}

double sidebands_need_s(double supply_Hz, double slip) {
    const double away = 2.0 * std::fabs(slip) * supply_Hz;
    return away > 0.0 ? 4.0 / away : std::numeric_limits<double>::infinity();
}

std::optional<Sidebands> sidebands(View current, double supply_Hz, double slip) {
    Sidebands s;
    s.supply_Hz = supply_Hz;
    s.slip = slip;
    s.needed_s = sidebands_need_s(supply_Hz, slip);
    if (!(duration(current) >= s.needed_s)) return std::nullopt;
    const double fundamental = std::abs(windowed_phasor(current, supply_Hz));
    if (!(fundamental > 0.0)) return std::nullopt;
    s.lower_Hz = supply_Hz * (1.0 - 2.0 * slip);
    s.upper_Hz = supply_Hz * (1.0 + 2.0 * slip);
    const auto level = [&](double f) {
        return f > 0.0 ? 20.0 * std::log10(std::max(1e-12, std::abs(windowed_phasor(current, f)) / fundamental))
                       : -240.0;
    };
    s.lower_dB = level(s.lower_Hz);
    s.upper_dB = level(s.upper_Hz);
    return s;
}

double ripple(View trace, double fundamental_Hz, int order) {
    const Trace whole = last_periods(trace, fundamental_Hz);
    if (whole.empty()) return 0.0;
    const double mean = std::fabs(statistics(whole).mean);
    return mean > 0.0 ? std::numbers::sqrt2 * std::abs(phasor(whole, fundamental_Hz * order)) / mean : 0.0;
}

}  // namespace sunshaft::trace
