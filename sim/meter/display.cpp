#include "meter/display.hpp"

#include <fmt/format.h>

#include <algorithm>
#include <cassert>
#include <cmath>
#include <stdexcept>

namespace sunshaft::meter {

namespace {

struct Prefix {
    double factor;
    const char* letter;
};
// Voltage, current, resistance, capacitance and frequency as the trade writes them.
Prefix prefix_for(double magnitude, std::string_view unit) {
    constexpr double slack = 1.0 - 1e-9;
    if (unit == "ohm" && magnitude > 0.0 && magnitude < 1.0 * slack) return {1e-3, "m"};
    if (unit == "ohm" || unit == "Hz") {
        if (magnitude >= 1e9 * slack) return {1e9, "G"};
        if (magnitude >= 1e6 * slack) return {1e6, "M"};
        if (magnitude >= 1e3 * slack) return {1e3, "k"};
        return {1.0, ""};
    }
    if (unit == "V" || unit == "A" || unit == "F" || unit == "s") {
        if (magnitude >= 1.0 * slack || magnitude == 0.0) return {1.0, ""};
        if (magnitude >= 1e-3 * slack) return {1e-3, "m"};
        if (magnitude >= 1e-6 * slack) return {1e-6, "u"};
        if (magnitude >= 1e-9 * slack || unit != "F") return {1e-9, "n"};
        return {1e-12, "p"};
    }
    if (unit == "%") return {0.01, ""};
    return {1.0, ""};
}

std::string trimmed(std::string digits) {
    if (digits.find('.') == std::string::npos) return digits;
    digits.erase(digits.find_last_not_of('0') + 1);
    if (digits.back() == '.') digits.pop_back();
    return digits == "-0" ? "0" : digits;
}

std::string significant(double v, int digits) {
    if (v == 0.0) return "0";
    const int magnitude = static_cast<int>(std::floor(std::log10(std::fabs(v)) + 1e-12));
    return trimmed(fmt::format("{:.{}f}", v, std::clamp(digits - 1 - magnitude, 0, 12)));
}

int decimals(double resolution) {
    return std::max(0, static_cast<int>(std::ceil(-std::log10(resolution) - 1e-9)));
}

}  // namespace

double resolution(const Spec& spec, double full_scale) {
    const double step = full_scale / spec.counts;
    return spec.pointer ? step : std::pow(10.0, std::ceil(std::log10(step) - 1e-9));
}

std::string over_text(const Spec& spec) {
    return spec.pointer ? "off the scale" : "OL";
}

Display display(const Spec& spec, Mode mode, double value, std::optional<double> manual_range) {
    const Function& f = spec.function(mode);
    Display d;
    if (manual_range) {
        const auto same = [&](double r) { return std::fabs(r - *manual_range) <= 1e-9 * r; };
        const auto at = std::find_if(f.ranges.begin(), f.ranges.end(), same);
        if (at == f.ranges.end()) {
            std::string list;
            for (double r : f.ranges) list += (list.empty() ? "" : ", ") + quantity(r, unit_of(mode));
            throw std::invalid_argument(fmt::format("the meter '{}' has no range of {} in mode {}, it has {}",
                                                    spec.name, quantity(*manual_range, unit_of(mode)),
                                                    mode_name(mode), list));
        }
        d.range = *at;
    } else {
        const auto at =
            std::find_if(f.ranges.begin(), f.ranges.end(), [&](double r) { return std::fabs(value) <= r; });
        d.range = at == f.ranges.end() ? f.ranges.back() : *at;
    }
    d.resolution = resolution(spec, d.range);
    d.rounded = d.resolution * std::round(value / d.resolution);
    if (d.rounded == 0.0) d.rounded = 0.0;  // no minus zero
    d.over = !(std::fabs(value) <= d.range + 0.5 * d.resolution);
    if (d.over) {
        d.text = over_text(spec);
        return d;
    }
    const Prefix p = prefix_for(d.range, unit_of(mode));
    d.text = fmt::format("{}{:.{}f} {}{}", spec.pointer ? "about " : "", d.rounded / p.factor,
                         decimals(d.resolution / p.factor), p.letter, unit_of(mode));
    return d;
}

Band accuracy(const Function& function, double value, double range, double resolution,
              std::optional<double> frequency_Hz) {
    const auto fits_range = [&](const Accuracy& a) {
        return a.range == 0.0 || std::fabs(a.range - range) <= 1e-9 * range;
    };
    const auto fits = [&](const Accuracy& a) {
        return fits_range(a) && (!frequency_Hz || (*frequency_Hz >= a.from_Hz && *frequency_Hz <= a.to_Hz));
    };
    const auto& lines = function.accuracy;
    auto line = std::find_if(lines.begin(), lines.end(), fits);
    Band b;
    if (line == lines.end()) {
        b.stated = false;
        line = std::find_if(lines.begin(), lines.end(), fits_range);
        if (line == lines.end()) line = lines.begin();
        if (line == lines.end()) return b;
    }
    b.tolerance = std::fabs(value) * line->percent / 100.0 + line->counts * resolution +
                  range * line->percent_of_range / 100.0;
    return b;
}

std::string quantity(double value, std::string_view unit) {
    if (unit == "%") {
        const double p = 100.0 * value;
        if (p != 0.0 && std::fabs(p) < 0.01) return "under 0.01 %";
        return significant(p, std::fabs(p) >= 10.0 ? 3 : 2) + " %";
    }
    if (std::fabs(value) < (unit == "F" ? 1e-15 : unit == "ohm" ? 1e-6 : 1e-12)) value = 0.0;
    const Prefix p = prefix_for(std::fabs(value), unit);
    const std::string digits = significant(value / p.factor, 4);
    if (unit.empty()) return digits;
    return fmt::format("{} {}{}", digits, p.letter, unit);
}

std::string Words::shown(double rounded) {
    reading_.figures.push_back({"shown", rounded, reading_.unit, reading_.shown});
    return reading_.shown;
}

std::string Words::operator()(std::string name, double value, std::string_view unit) {
    std::string text = quantity(value, unit);
    for (const Figure& f : reading_.figures)
        if (f.name == name) {
            assert(f.value == value);
            return text;
        }
    reading_.figures.push_back({std::move(name), value, std::string(unit), text});
    return text;
}

}  // namespace sunshaft::meter
