#include "model/format.hpp"

#include <fmt/format.h>

#include <algorithm>
#include <array>
#include <cmath>

namespace sunshaft::view {
namespace {

struct Prefix {
    int exponent;
    const char* sign;
};
constexpr std::array<Prefix, 8> prefixes = {
    {{-12, "p"}, {-9, "n"}, {-6, "µ"}, {-3, "m"}, {0, ""}, {3, "k"}, {6, "M"}, {9, "G"}}};

// Units of the SI that a prefix stands well before.
bool takes_prefix(std::string_view unit) {
    constexpr std::array<std::string_view, 10> list = {"V", "A", "W", "ohm", "Hz", "F", "s", "H", "J", "Wb"};
    return std::find(list.begin(), list.end(), unit) != list.end();
}

const Prefix& prefix_for(double magnitude, std::string_view unit) {
    const Prefix* best = &prefixes[4];
    if (magnitude <= 0.0 || !takes_prefix(unit)) return *best;
    for (const Prefix& p : prefixes)
        if (magnitude >= std::pow(10.0, p.exponent) * (1.0 - 1e-12)) best = &p;
    if (magnitude < 1e-12) best = &prefixes[0];
    return *best;
}

std::string fixed(double value, int decimals) {
    std::string text = fmt::format("{:.{}f}", value, std::clamp(decimals, 0, 12));
    // "-0.00" says nothing that "0.00" does not.
    if (text[0] == '-' && text.find_first_of("123456789") == std::string::npos) text.erase(0, 1);
    return text;
}

Figure special(double value, std::string_view unit) {
    if (std::isnan(value)) return {"-", ""};
    if (unit == "ohm") return {"open", ""};
    return {value > 0 ? "inf" : "-inf", std::string(unit)};
}

// Decimals that a resolution asks for: 0.1 -> 1, 0.05 -> 2, 10 -> 0.
int decimals_of(double resolution) {
    if (!(resolution > 0.0)) return 3;
    const double d = -std::floor(std::log10(resolution) + 1e-9);
    const double scaled = resolution * std::pow(10.0, d);
    // 0.25 needs one more than its first digit says.
    const bool more = std::abs(scaled - std::round(scaled)) > 1e-6;
    return std::max(0, static_cast<int>(d) + (more ? 1 : 0));
}

}  // namespace

Figure figure(double value, std::string_view unit, int digits) {
    if (!std::isfinite(value)) return special(value, unit);
    if (takes_prefix(unit) && std::abs(value) < 1e-13) value = 0.0;  // below any prefix: the arithmetic's own noise
    digits = std::clamp(digits, 2, 7);
    const Prefix* p = &prefix_for(std::abs(value), unit);
    double scaled = value / std::pow(10.0, p->exponent);
    int before = scaled == 0.0 ? 1 : static_cast<int>(std::floor(std::log10(std::abs(scaled)) + 1e-12)) + 1;
    // Rounding may carry into another digit, or into the next prefix: 999.96 with four digits is 1.000 k.
    const double step = std::pow(10.0, before - digits);
    if (const double rounded = std::round(std::abs(scaled) / step) * step; rounded >= std::pow(10.0, before)) {
        ++before;
        if (before > 3 && takes_prefix(unit) && p != &prefixes.back()) {
            ++p;
            scaled /= 1000.0;
            before -= 3;
        }
    }
    if (value == 0.0) return {"0", std::string(unit)};
    return {fixed(scaled, std::min(digits - before, 6)), p->sign + std::string(unit)};
}

Figure figure_at(double value, std::string_view unit, double resolution) {
    if (!std::isfinite(value)) return special(value, unit);
    const Prefix& p = prefix_for(std::abs(value), unit);
    const double scale = std::pow(10.0, p.exponent);
    return {fixed(value / scale, decimals_of(resolution / scale)), p.sign + std::string(unit)};
}

std::string tick_text(double value, double step, double largest, std::string_view unit) {
    if (!std::isfinite(value)) return special(value, unit).number;
    const double scale = std::pow(10.0, prefix_for(std::abs(largest), unit).exponent);
    // A tick next to zero is zero: sums of steps leave crumbs.
    if (std::abs(value) < 1e-6 * std::abs(step)) value = 0.0;
    return fixed(value / scale, decimals_of(std::abs(step) / scale));
}

std::string tick_unit(double largest, std::string_view unit) {
    return prefix_for(std::abs(largest), unit).sign + std::string(unit);
}

std::string percent(double fraction, int digits) {
    if (!std::isfinite(fraction)) return "-";
    return figure(fraction * 100.0, "%", digits).text();
}

std::string clock_text(double seconds) {
    if (!(seconds >= 0.0) || std::isinf(seconds)) return "-";
    if (seconds < 3600.0) {
        const long hundredths = static_cast<long>(std::floor(seconds * 100.0 + 1e-6));
        return fmt::format("{}:{:02}.{:02}", hundredths / 6000, hundredths / 100 % 60, hundredths % 100);
    }
    const long whole = static_cast<long>(std::floor(seconds + 1e-6));
    return fmt::format("{}:{:02}:{:02}", whole / 3600, whole / 60 % 60, whole % 60);
}

std::string rate_text(double rate) {
    if (!(rate > 0.0)) return "-";
    if (std::abs(rate - 1.0) < 0.005) return "real time";
    if (rate > 1.0) return fixed(rate, rate < 9.95 && std::abs(rate - std::round(rate)) > 0.05 ? 1 : 0) + "x";
    return "1/" +
           fixed(1.0 / rate, 1.0 / rate < 9.95 && std::abs(1.0 / rate - std::round(1.0 / rate)) > 0.05 ? 1 : 0);
}

}  // namespace sunshaft::view
