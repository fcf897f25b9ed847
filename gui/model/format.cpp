#include "model/format.hpp"
#include "text/language.hpp"

#include <fmt/format.h>

#include <cmath>

namespace sunshaft::view {
namespace {

using text::decimals_of, text::fixed;

Figure with_micro(Figure f) {
    if (f.unit.size() > 1 && f.unit[0] == 'u') f.unit = "µ" + f.unit.substr(1);
    return f;
}

}  // namespace

Figure figure(double value, std::string_view unit, int digits) { return with_micro(text::figure(value, unit, digits)); }

Figure figure_at(double value, std::string_view unit, double resolution) {
    return with_micro(text::figure_at(value, unit, resolution));
}

std::string tick_text(double value, double step, double largest, std::string_view unit) {
    if (!std::isfinite(value)) return figure(value, unit).number;
    const double scale = std::pow(10.0, text::prefix_for(largest, unit).exponent);
    // A tick next to zero is zero: sums of steps leave crumbs.
    if (std::abs(value) < 1e-6 * std::abs(step)) value = 0.0;
    return fixed(value / scale, decimals_of(std::abs(step) / scale));
}

std::string tick_unit(double largest, std::string_view unit) {
    const text::Prefix p = text::prefix_for(largest, unit);
    return with_micro({"", p.sign + std::string(unit)}).unit;
}

std::string percent(double fraction, int digits) {
    if (!std::isfinite(fraction)) return "-";
    return figure(fraction * 100.0, "%", digits).text();
}

std::string cell(double value) {
    if (!std::isfinite(value)) return value > 0 ? text::tr("open") : "-";
    const double size = std::abs(value);
    if (size < 5e-4) return "0";
    if (size >= 9999.5) return fixed(value / 1000, 0) + "k";
    return fixed(value, size < 9.9995 ? 3 : size < 99.995 ? 2 : size < 999.95 ? 1 : 0);
}

std::string signed_figure(double value, int decimals) {
    if (!std::isfinite(value)) return "-";
    const std::string text = fixed(value, decimals);
    if (text.find_first_of("123456789") == std::string::npos) return "0";
    return value > 0 ? "+" + text : text;
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
    if (std::abs(rate - 1.0) < 0.005) return text::tr("real time");
    if (rate > 1.0) return fixed(rate, rate < 9.95 && std::abs(rate - std::round(rate)) > 0.05 ? 1 : 0) + "x";
    return "1/" + fixed(1.0 / rate, 1.0 / rate < 9.95 && std::abs(1.0 / rate - std::round(1.0 / rate)) > 0.05 ? 1 : 0);
}

}  // namespace sunshaft::view
