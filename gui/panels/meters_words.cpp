#include "panels/meters_words.hpp"

#include <fmt/format.h>

#include <algorithm>
#include <cctype>

#include "model/format.hpp"
#include "text/language.hpp"
#include "text/letters.hpp"

namespace sunshaft::panels {

using meter::Mode;

std::string_view mode_hint(Mode mode) {
    switch (mode) {
        case Mode::dcv: return text::tr("DC voltage: the mean of the wave");
        case Mode::acv: return text::tr("Alternating voltage; a capacitor keeps the direct part out");
        case Mode::acdcv:
            return text::tr(
                "AC and DC voltage together, as one true rms (the steady voltage that would heat "
                "alike)");
        case Mode::acv_lowpass: return text::tr("Volts AC through a filter that takes the switching out");
        case Mode::acv_loaded:
            return text::tr("Volts AC with a load across the leads: a voltage that only leaks in collapses");
        case Mode::dcv_loaded:
            return text::tr("Volts DC with a load across the leads: a voltage that only leaks in collapses");
        case Mode::hz: return text::tr("Frequency: the crossings of a second");
        case Mode::duty: return text::tr("Duty: the share of the time the wave stands high");
        case Mode::ohm: return text::tr("Resistance, by a current of the meter's own. Only on a dead circuit");
        case Mode::continuity: return text::tr("Beeps below a few ohms. Only on a dead circuit");
        case Mode::diode: return text::tr("Volts that a diode drops while the meter drives it. Only on a dead circuit");
        case Mode::insulation:
            return text::tr("Resistance of insulation under hundreds of volts. Only on a dead, disconnected circuit");
        case Mode::cap: return text::tr("Capacitance, by charging. Only on a dead circuit");
        case Mode::aca: return text::tr("Alternating current in the conductor the jaws close round");
        case Mode::dca: return text::tr("Direct current in the conductor the jaws close round");
    }
    return "";
}

bool either_has(const std::array<view::MeterFace, 2>& faces, Mode mode) {
    return std::ranges::any_of(
        faces, [&](const view::MeterFace& f) { return std::ranges::find(f.modes, mode) != f.modes.end(); });
}

Mode key_of(Mode mode) {
    return mode == Mode::acv_lowpass || mode == Mode::acv_loaded ? Mode::acv
           : mode == Mode::dcv_loaded                            ? Mode::dcv
                                                                 : mode;
}

std::vector<Mode> mode_keys(const std::array<view::MeterFace, 2>& faces) {
    std::vector<Mode> keys;
    for (const Mode mode : {Mode::dcv, Mode::acv, Mode::acdcv, Mode::ohm, Mode::continuity, Mode::diode, Mode::hz,
                            Mode::duty, Mode::insulation, Mode::cap, Mode::aca, Mode::dca})
        if (either_has(faces, mode)) keys.push_back(mode);
    return keys;
}

std::string short_name(std::string_view name) {
    std::string out = text::tr(std::string(name));
    // Most are multimeters: what kind is told.
    for (const std::string& most : {std::string(" multimeter"), text::tr("multimeter") + std::string(" ")})
        if (const auto at = out.find(most); at != std::string::npos) {
            out.erase(at, most.size());
            break;
        }
    return text::sentence_begins(out);
}

std::string with_symbols(std::string_view words) {
    std::string out(words);
    const auto letter = [](char ch) { return std::isalpha(static_cast<unsigned char>(ch)) != 0; };
    for (std::size_t at = out.find("ohm"); at != std::string::npos; at = out.find("ohm", at + 1)) {
        const bool ends = at + 3 == out.size() || !letter(out[at + 3]);
        // Only as the unit of a figure: "10 Mohm", "0.5 ohm".
        std::size_t unit = at;
        if (unit > 0 && std::string_view("mkMGuT").find(out[unit - 1]) != std::string_view::npos) --unit;
        const bool after_figure = unit == 0 || (out[unit - 1] == ' ' &&
                                                (unit == 1 || std::isdigit(static_cast<unsigned char>(out[unit - 2]))));
        if (ends && after_figure) out.replace(at, 3, "Ω");
    }
    for (const char* unit : {"uV", "uA", "uF", "us"})
        for (std::size_t at = out.find(unit); at != std::string::npos; at = out.find(unit, at + 1))
            if ((at == 0 || out[at - 1] == ' ') && (at + 2 == out.size() || !letter(out[at + 2])))
                out.replace(at, 1, "µ");
    constexpr std::string_view sunlight = "W/m2";
    for (std::size_t at = out.find(sunlight); at != std::string::npos; at = out.find(sunlight, at + 1))
        out.replace(at, sunlight.size(), "W/m²");
    return out;
}

Shown taken_apart(const meter::Reading& reading) {
    Shown s;
    std::string text = reading.shown;
    if (const std::string about = text::say("about {}", ""); text.rfind(about, 0) == 0) text.erase(0, about.size());
    // A display has one mark for it, whatever is spoken.
    if (text::decimal() == ",") std::replace(text.begin(), text.end(), ',', '.');
    const auto is_figure = [](std::string_view t) {
        return !t.empty() && t.find_first_not_of("0123456789.-") == std::string_view::npos;
    };
    if (const auto blank = text.rfind(' ');
        blank != std::string::npos && is_figure(std::string_view(text).substr(0, blank))) {
        s.unit = with_symbols(std::string_view(text).substr(blank + 1));
        text.erase(blank);
    } else {
        s.unit = is_figure(text) ? "" : with_symbols(reading.unit);
    }
    if (text.size() > 1 && text[0] == '-' && text[1] != '-') {
        s.minus = true;
        text.erase(0, 1);
    }
    s.segments = is_figure(text) || text == "OL";
    s.figures = text;
    return s;
}

std::string kept_words(const view::Memory& m, const meter::Reading& r, bool brief) {
    const auto words = [&](double v) { return view::figure_at(v, r.unit, r.resolution); };
    const view::Figure low = words(m.low), high = words(m.high);
    std::string text = low.unit == high.unit ? text::say("min {}  max {}", low.number, high.number)
                                             : text::say("min {} {}  max {} {}", low.number, with_symbols(low.unit),
                                                         high.number, with_symbols(high.unit));
    // The peak that lies farther from nothing, as the crest is spoken of.
    if (!brief && m.peak_low && m.peak_high)
        text = text::say("{}  peak {}", text,
                         words(std::abs(*m.peak_low) > std::abs(*m.peak_high) ? *m.peak_low : *m.peak_high).number);
    return text;
}

std::string band_words(const meter::Reading& r, bool brief) {
    if (!r.low || !r.high || r.resolution <= 0.0) return "";
    const view::Figure low = view::figure_at(*r.low, r.unit, r.resolution),
                       high = view::figure_at(*r.high, r.unit, r.resolution);
    const std::string shown_unit = taken_apart(r).unit;
    const bool plain = low.unit == high.unit && (with_symbols(high.unit) == shown_unit || high.unit == shown_unit);
    return text::say_of(brief ? text::id("{}{} to {}{}") : text::id("could be {}{} to {}{}"), low.number,
                        plain || low.unit == high.unit ? "" : " " + low.unit, high.number,
                        plain ? "" : " " + high.unit);
}

}  // namespace sunshaft::panels
