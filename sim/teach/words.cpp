#include "teach/words.hpp"

#include <fmt/format.h>

#include <cmath>
#include <cstdlib>

#include "site/keys.hpp"
#include "teach/draw.hpp"
#include "text/figure.hpp"

namespace sunshaft::teach {

std::string figure_of(double x, const std::string& unit) {
    if (std::isinf(x)) return "over range";
    if (unit == "m3/s") return text::quantity(3600 * x, "m3/h", 3);
    return text::quantity(x, unit, 4);
}

std::string_view mode_words(meter::Mode mode) {
    using meter::Mode;
    switch (mode) {
        case Mode::dcv: return "volts DC";
        case Mode::acv: return "volts AC";
        case Mode::acdcv: return "AC + DC";
        case Mode::acv_lowpass: return "volts AC, low-pass";
        case Mode::acv_loaded: return "volts AC, low impedance";
        case Mode::dcv_loaded: return "volts DC, low impedance";
        case Mode::hz: return "hertz";
        case Mode::duty: return "duty";
        case Mode::ohm: return "ohms";
        case Mode::continuity: return "continuity";
        case Mode::diode: return "diode";
        case Mode::insulation: return "insulation";
        case Mode::cap: return "farads";
        case Mode::aca: return "amps AC";
        case Mode::dca: return "amps DC";
    }
    return "";
}

const char* station_words(bench::Station s) {
    switch (s) {
        case bench::Station::dead: return "isolated, link proved dead, pump wires off";
        case bench::Station::covered: return "isolated, pump wires off, array covered";
        case bench::Station::lit: return "isolator open, modules in the light";
        case bench::Station::shorted: return "isolator open, a rated link across the array";
        case bench::Station::running: return "the drive switched on";
        case bench::Station::shut: return "running, the valve at the wellhead shut for seconds";
        case bench::Station::bled: return "isolator opened while running, 20 s later";
        case bench::Station::warm: return "after running: isolated, link proved dead, pump wires off";
    }
    return "";
}

std::string state_words(const Look& look) {
    const std::string words = station_words(look.station);
    return look.after_s == Look::usual_after_s ? words
                                               : fmt::format("{}, after {:.0f} s of running", words, look.after_s);
}

std::vector<std::string> conditions(Benches& benches, std::size_t common, const Asked& asked) {
    const State there = asked.state.with(asked.look);
    std::vector<std::string> lines;
    const auto say = [&](std::string line) { lines.push_back(std::move(line)); };
    say(fmt::format("State: {}.", state_words(asked.look)));
    for (std::size_t n = common; n < there.set.size(); ++n) {
        const std::string& one = there.set[n];
        const auto cut = one.find('=');
        const site::Key* key = site::find_key(one.substr(0, cut));
        const std::string value = one.substr(cut + 1);
        const double x = std::strtod(value.c_str(), nullptr);
        // Millions of ohms are read as such; a temperature or a height is left as it was set.
        const bool large = key && std::abs(x) >= 1e4 && std::isfinite(x);
        say(fmt::format("Here: {} = {}{}{}.", one.substr(0, cut), large ? text::quantity(x, key->unit, 3) : value,
                        !large && key && !key->unit.empty() ? " " : "", !large && key ? key->unit : ""));
    }
    if (!there.fault.empty()) {
        const bench::Bench& bench = benches.at(there, asked.look.station, asked.look.after_s);
        for (const site::Fault& f : bench.edits().faults) {
            const site::FaultRow& row = *site::find_fault(f.kind);
            say(fmt::format("Known fault: {}, at {}{}.", row.title, f.place,
                            row.least < row.most ? ", " + site::severity_text(row, f.severity) : ""));
        }
    }
    return lines;
}

std::vector<std::string> reasons_in_order(const Lesson& lesson, std::uint64_t seed, const Asked& asked) {
    std::vector<std::string> order = asked.why;
    Draw(seed, fmt::format("{}/{}", lesson.id, asked.look.where())).shuffle(order);
    return order;
}

}  // namespace sunshaft::teach
