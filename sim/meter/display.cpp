#include "meter/display.hpp"
#include "text/language.hpp"

#include <fmt/format.h>

#include <algorithm>
#include <cassert>
#include <cmath>
#include <stdexcept>

namespace sunshaft::meter {

namespace {

// Round a figure's text on its way into a sentence; behind the first one its place among the figures. No language
// writes them.
constexpr char begins = '\x01', ends = '\x02', first_place = '\x10';

std::string marked(std::size_t figure, const std::string& text) {
    assert(figure < 0x60);
    return std::string{begins, static_cast<char>(first_place + static_cast<char>(figure))} + text + ends;
}

}  // namespace

double resolution(const Spec& spec, double full_scale) {
    const double step = full_scale / spec.counts;
    return spec.pointer ? step : std::pow(10.0, std::ceil(std::log10(step) - 1e-9));
}

std::string over_text(const Spec& spec) { return spec.pointer ? text::tr("off the scale") : "OL"; }

Display display(const Spec& spec, Mode mode, double value, std::optional<double> manual_range) {
    const Function& f = spec.function(mode);
    Display d;
    if (manual_range) {
        const auto same = [&](double r) { return std::fabs(r - *manual_range) <= 1e-9 * r; };
        const auto at = std::find_if(f.ranges.begin(), f.ranges.end(), same);
        if (at == f.ranges.end()) {
            std::string list;
            for (double r : f.ranges) list += (list.empty() ? "" : ", ") + quantity(r, unit_of(mode));
            throw std::invalid_argument(text::say("the meter '{}' has no range of {} in mode {}, it has {}", spec.name,
                                                  quantity(*manual_range, unit_of(mode)), mode_name(mode), list));
        }
        d.range = *at;
    } else {
        const auto at = std::find_if(f.ranges.begin(), f.ranges.end(), [&](double r) { return std::fabs(value) <= r; });
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
    const text::Prefix p = text::prefix_for(d.range, unit_of(mode));
    const double scale = unit_of(mode) == "%" ? 0.01 : std::pow(10.0, p.exponent);  // a share is shown in per cent
    d.text = fmt::format("{} {}{}", text::fixed(d.rounded / scale, text::decimals_of(d.resolution / scale)), p.sign,
                         unit_of(mode));
    if (spec.pointer) d.text = text::say("about {}", d.text);
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
    b.tolerance =
        std::fabs(value) * line->percent / 100.0 + line->counts * resolution + range * line->percent_of_range / 100.0;
    return b;
}

std::string Words::shown(double rounded) {
    reading_.figures.push_back({"shown", rounded, reading_.unit, reading_.shown});
    return marked(reading_.figures.size() - 1, reading_.shown);
}

std::string Words::operator()(std::string name, double value, std::string_view unit) {
    const int digits = name == "tolerance" ? 2 : 4;  // of a band more would be idle
    std::string text = text::quantity(value, unit, digits);
    auto& figures = reading_.figures;
    const auto at = std::find_if(figures.begin(), figures.end(), [&](const Figure& f) { return f.name == name; });
    const auto place = static_cast<std::size_t>(at - figures.begin());
    assert(at == figures.end() || at->value == value);
    std::string words = marked(place, text);
    if (at == figures.end()) figures.push_back({std::move(name), value, std::string(unit), std::move(text)});
    return words;
}

void Words::put(std::vector<std::string>& where, std::string_view sentence) {
    std::string words;
    for (std::size_t n = 0; n < sentence.size(); ++n) {
        if (sentence[n] == begins)
            reading_.named.push_back({&where == &reading_.warnings, where.size(), words.size(), 0,
                                      static_cast<std::size_t>(sentence[++n] - first_place)});
        else if (sentence[n] == ends) reading_.named.back().length = words.size() - reading_.named.back().at;
        else words += sentence[n];
    }
    where.push_back(std::move(words));
}

void set_display(const Spec& spec, Mode mode, double value, const Display& shown, Reading& reading) {
    reading.unit = unit_of(mode);
    reading.range = shown.range;
    reading.resolution = shown.resolution;
    reading.over_range = shown.over;
    reading.shown = shown.text;
    if (shown.over) return;
    const Band band = accuracy(spec.function(mode), value, shown.range, shown.resolution, std::nullopt);
    reading.value = value;
    reading.low = value - band.tolerance;
    reading.high = value + band.tolerance;
}

}  // namespace sunshaft::meter
