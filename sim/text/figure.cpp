#include "text/figure.hpp"

#include <fmt/format.h>

#include <algorithm>
#include <array>
#include <charconv>
#include <cmath>
#include <iterator>

#include "text/language.hpp"

namespace sunshaft::text {

namespace {

// How far down and up its prefixes go (exponents), the value from which the upward ones are used, and the floor.
struct Unit {
    const char* name;
    int least, most;
    double upward_from, floor;
};
constexpr Unit units[] = {
    {"V", -6, 3, 1e4, 1e-6},  {"A", -9, 3, 1e4, 1e-10}, {"ohm", -3, 9, 1e3, 1e-6}, {"F", -12, 0, 1e3, 1e-14},
    {"Hz", -3, 9, 1e3, 1e-4}, {"s", -9, 0, 1e3, 1e-10}, {"W", -3, 6, 1e3, 1e-4},   {"J", -3, 6, 1e3, 1e-4},
    {"H", -6, 0, 1e3, 1e-9},  {"Wb", -3, 0, 1e3, 1e-6}, {"m", 0, 0, 0, 1e-3},      {"m3/h", 0, 0, 0, 1e-4},
    {"L/min", 0, 0, 0, 1e-3}, {"rpm", 0, 0, 0, 1e-2},   {"degC", 0, 0, 0, 1e-3},   {"N m", 0, 0, 0, 1e-5},
    {"W/m2", 0, 0, 0, 1e-3},  {"%", 0, 0, 0, 1e-3},     {"bar", 0, 0, 0, 1e-5},
};
const Unit& unit_of(std::string_view name) {
    static constexpr Unit plain{"", 0, 0, 0, 1e-6};
    const auto at = std::find_if(std::begin(units), std::end(units), [&](const Unit& u) { return name == u.name; });
    return at == std::end(units) ? plain : *at;
}
constexpr Prefix prefixes[] = {{-12, "p"}, {-9, "n"}, {-6, "u"}, {-3, "m"}, {0, ""}, {3, "k"}, {6, "M"}, {9, "G"}};

Figure no_number(double value, std::string_view unit) {
    if (std::isnan(value)) return {"-", ""};
    if (unit == "ohm") return {tr("open"), ""};
    return {value > 0.0 ? tr("endless") : tr("-endless"), std::string(unit)};
}

std::string without_idle_zeros(std::string digits) {
    const std::string& mark = decimal();
    if (digits.find(mark) == std::string::npos) return digits;
    digits.erase(digits.find_last_not_of('0') + 1);
    if (digits.ends_with(mark)) digits.erase(digits.size() - mark.size());
    return digits;
}

// Digits before the point; 0 for what is below 0.1 and less.
int digits_before(double x) { return static_cast<int>(std::floor(std::log10(std::fabs(x)) + 1e-12)) + 1; }

// Decimals at which the largest of several figures shows so many digits.
int decimals_among(double largest, int digits) {
    return largest > 0.0 ? std::max(0, digits - digits_before(largest)) : 0;
}

}  // namespace

double floor_of(std::string_view unit) { return unit_of(unit).floor; }

Prefix prefix_for(double largest, std::string_view unit) {
    const Unit& u = unit_of(unit);
    const double x = std::fabs(largest) * (1.0 + 1e-12);
    Prefix best{0, ""};
    if (!(x > 0.0) || !std::isfinite(x)) return best;
    if (x < 1.0) {
        for (const Prefix& p : prefixes)
            if (p.exponent >= u.least && p.exponent <= 0 && (x >= std::pow(10.0, p.exponent) || p.exponent == u.least))
                best = p;
    } else if (x >= u.upward_from) {
        for (const Prefix& p : prefixes)
            if (p.exponent >= 0 && p.exponent <= u.most && x >= std::pow(10.0, p.exponent)) best = p;
    }
    return best;
}

std::string fixed(double value, int decimals) {
    std::string text = fmt::format("{:.{}f}", value, std::clamp(decimals, 0, 12));
    if (text[0] == '-' && text.find_first_of("123456789") == std::string::npos) text.erase(0, 1);
    if (const auto point = text.find('.'); point != std::string::npos) text.replace(point, 1, decimal());
    return text;
}

int decimals_of(double step) {
    if (!(step > 0.0)) return 3;
    const double d = -std::floor(std::log10(step) + 1e-9), scaled = step * std::pow(10.0, d);
    const bool more = std::fabs(scaled - std::round(scaled)) > 1e-6;  // 0.25 needs one more than its first digit says
    return std::max(0, static_cast<int>(d) + (more ? 1 : 0));
}

Figure figure(double value, std::string_view unit, int digits) {
    if (!std::isfinite(value)) return no_number(value, unit);
    const Unit& u = unit_of(unit);
    if (std::fabs(value) < u.floor) return {"0", std::string(unit)};
    digits = std::clamp(digits, 2, 7);
    Prefix p = prefix_for(value, unit);
    double scaled = value / std::pow(10.0, p.exponent);
    int before = digits_before(scaled);
    // Rounding may carry into another digit, or into the next prefix: 999.96 W with four digits is 1.000 kW.
    const double step = std::pow(10.0, before - digits);
    if (std::round(std::fabs(scaled) / step) * step >= std::pow(10.0, before) * (1.0 - 1e-12)) {
        ++before;
        const Prefix next = prefix_for(std::copysign(std::pow(10.0, before - 1 + p.exponent), value), unit);
        if (next.exponent != p.exponent) {
            scaled = value / std::pow(10.0, next.exponent);
            before -= next.exponent - p.exponent;
            p = next;
        }
    }
    // No digit below the floor either.
    const int deepest = std::max(0, static_cast<int>(std::round(-std::log10(u.floor))) + p.exponent);
    return {fixed(scaled, std::min(digits - before, deepest)), p.sign + std::string(unit)};
}

Figure figure_at(double value, std::string_view unit, double step) {
    if (!std::isfinite(value)) return no_number(value, unit);
    const Prefix p = prefix_for(value, unit);
    const double scale = std::pow(10.0, p.exponent);
    return {fixed(value / scale, decimals_of(step / scale)), p.sign + std::string(unit)};
}

std::string quantity(double value, std::string_view unit, int digits) {
    if (unit == "%") return percent(value, digits == 4 ? 2 : digits);
    Figure f = figure(value, unit, digits);
    f.number = without_idle_zeros(std::move(f.number));
    return f.text();
}

std::string among(double value, std::string_view unit, double largest, int digits) {
    if (!std::isfinite(value) || !std::isfinite(largest)) return figure(value, unit, digits).text();
    largest = std::max(std::fabs(value), std::fabs(largest));
    const Prefix p = prefix_for(largest, unit);
    const double scale = std::pow(10.0, p.exponent);
    const std::string number = without_idle_zeros(fixed(value / scale, decimals_among(largest / scale, digits)));
    if (number == "0" || std::fabs(value) < floor_of(unit)) return Figure{"0", std::string(unit)}.text();
    return Figure{number, p.sign + std::string(unit)}.text();
}

std::string column(double value, std::string_view unit, double largest, int digits) {
    if (!std::isfinite(value)) return no_number(value, unit).number;
    const double floor = floor_of(unit);
    largest = std::max(std::fabs(value), std::fabs(largest));
    if (largest < floor) return "0";
    const int deepest = std::max(0, static_cast<int>(std::round(-std::log10(floor))));
    return fixed(std::fabs(value) < floor ? 0.0 : value, std::min(decimals_among(largest, digits), deepest));
}

std::string plain(double value) {
    if (!std::isfinite(value)) return std::isnan(value) ? "nan" : value > 0.0 ? "inf" : "-inf";
    std::array<char, 800> text{};  // the least double has some 770 decimals
    const auto end = std::to_chars(text.data(), text.data() + text.size(), value + 0.0, std::chars_format::fixed).ptr;
    return {text.data(), end};
}

std::string range(double low, double high, std::string_view unit) {
    if (low > high) std::swap(low, high);
    if (!std::isfinite(low) || !std::isfinite(high))
        return say("{} to {}", figure(low, unit).text(), figure(high, unit).text());
    const double floor = floor_of(unit), half = std::max(0.5 * (high - low), floor),
                 step = std::pow(10.0, std::floor(std::log10(half)) - 1.0);
    const Prefix p = prefix_for(std::max(std::fabs(low), std::fabs(high)), unit);
    const double scale = std::pow(10.0, p.exponent);
    const auto end = [&](double x, double towards) {
        const double steps = x / step, whole = std::round(steps);
        const double outward = std::fabs(steps - whole) < 1e-6 ? whole
                               : towards < 0.0                 ? std::floor(steps)
                                                               : std::ceil(steps);
        return without_idle_zeros(fixed(outward * step / scale, decimals_of(step / scale)));
    };
    const std::string from = end(low, -1.0), to = end(high, 1.0);
    return Figure{from == to ? from : say("{} to {}", from, to), p.sign + std::string(unit)}.text();
}

std::string percent(double fraction, int digits) {
    if (!std::isfinite(fraction)) return "-";
    const double p = 100.0 * fraction;
    if (p != 0.0 && std::fabs(p) < 0.01) return tr("under 0.01 %");
    return without_idle_zeros(figure(p, "%", std::fabs(p) >= 10.0 ? digits + 1 : digits).number) + " %";
}

}  // namespace sunshaft::text
