#include "model/point_words.hpp"

#include <fmt/format.h>

#include <algorithm>
#include <cmath>
#include <cstdlib>

#include "model/format.hpp"
#include "text/language.hpp"

namespace sunshaft::view {

std::string volts_at(const Snapshot& s, const std::string& point) {
    const auto at = std::find_if(s.point_V.begin(), s.point_V.end(), [&](const auto& p) { return p.first == point; });
    if (at == s.point_V.end()) return "";
    if (point == "link-") return "";
    const double volts = std::abs(at->second) < 0.05 ? 0.0 : at->second;
    return text::say_of(
        volts < 0.0 ? text::id("{} below link−, this instant") : text::id("{} above link−, this instant"),
        figure(std::abs(volts), "V", 3).text());
}

std::string amps_around(const Snapshot& s, const std::string& conductor) {
    if (s.hidden) return "";  // without a clamp nobody knows
    const auto amps = [](double a, const char* said) {
        return std::isfinite(a) ? text::say_of(said, figure(a, "A", 3).text()) : std::string();
    };
    if (conductor.size() == 1 && s.means.seconds > 0.0)
        if (const auto k = std::string("uvw").find(conductor); k != std::string::npos)
            return amps(s.means.current_rms[k], text::id("{} rms"));
    if (conductor == "dc+" || conductor == "dc-") return amps(conductor == "dc+" ? s.array_A : -s.array_A, "{}");
    if (conductor.size() > 1 && conductor[0] == 's') {
        const auto n = static_cast<std::size_t>(std::atoi(conductor.c_str() + 1));
        if (n >= 1 && n <= s.string_amps.size()) return amps(s.string_amps[n - 1], "{}");
    }
    return "";
}

}  // namespace sunshaft::view
