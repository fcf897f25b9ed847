#include "model/wipe.hpp"

#include <algorithm>
#include <cmath>

#include "meter/display.hpp"
#include "model/format.hpp"

namespace sunshaft::view {
namespace {

// Of the clamp at hand around so many amperes.
double clamp_noise(const Snapshot& s, double amps) {
    constexpr auto mode = meter::Mode::aca;
    if (!s.clamp_meter || !s.clamp_meter->has(mode)) return 0.0;
    const meter::Display d = meter::display(*s.clamp_meter, mode, amps, {});
    const double f = s.now.electrical_Hz;
    return meter::accuracy(s.clamp_meter->functions.at(mode), amps, d.range, d.resolution,
                           f > 0.5 ? std::optional(f) : std::nullopt)
        .tolerance;
}

// Of the gauges of water and shaft, which have no data sheet here; common practice, no source.
double gauge_noise(double a, double b) { return 0.01 * std::max(std::abs(a), std::abs(b)); }

Pair one(const char* name, const char* unit, double healthy, double site, int digits) {
    return {name,
            unit,
            {{text::fixed(healthy, digits), text::fixed(site, digits),
              std::abs(healthy - site) > std::max(gauge_noise(healthy, site), std::pow(10.0, -digits))}}};
}

}  // namespace

std::vector<Pair> pairs(const Snapshot& site, const Snapshot& twin) {
    std::vector<Pair> out;
    const bool pump = !std::holds_alternative<std::monostate>(site.site->works.water.pump);
    if (pump) out.push_back(one("water", "m³/h", twin.flow_m3_h, site.flow_m3_h, 1));
    const auto rpm = [](const Snapshot& s) { return s.means.speed * 30.0 / 3.14159265358979; };
    out.push_back(one("shaft", "rpm", rpm(twin), rpm(site), 0));
    if (pump) out.push_back(one("level", "m", twin.water_level_m, site.water_level_m, 1));
    Pair amps{"u v w", "A", {}};
    for (std::size_t k = 0; k < 3; ++k) {
        const double a = twin.means.current_rms[k], b = site.means.current_rms[k];
        amps.values.push_back(
            {text::fixed(a, 2), text::fixed(b, 2), std::abs(a - b) > clamp_noise(site, std::max(a, b))});
    }
    out.push_back(std::move(amps));
    return out;
}

}  // namespace sunshaft::view
