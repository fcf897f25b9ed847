#include "teach/words.hpp"

#include <fmt/format.h>

#include <algorithm>
#include <charconv>
#include <cmath>

#include "site/keys.hpp"
#include "teach/draw.hpp"
#include "text/figure.hpp"
#include "text/language.hpp"

namespace sunshaft::teach {

std::string figure_of(double x, const std::string& unit) {
    if (std::isinf(x)) return text::tr("over range");
    if (unit == "m3/s") return text::quantity(3600 * x, "m3/h", 3);
    return text::quantity(x, unit, 4);
}

std::string_view mode_words(meter::Mode mode) {
    using meter::Mode;
    switch (mode) {
        case Mode::dcv: return text::tr("volts DC");
        case Mode::acv: return text::tr("volts AC");
        case Mode::acdcv: return text::tr("AC + DC");
        case Mode::acv_lowpass: return text::tr("volts AC, low-pass");
        case Mode::acv_loaded: return text::tr("volts AC, low impedance");
        case Mode::dcv_loaded: return text::tr("volts DC, low impedance");
        case Mode::hz: return text::tr("hertz");
        case Mode::duty: return text::tr("duty");
        case Mode::ohm: return text::tr("ohms");
        case Mode::continuity: return text::tr("continuity");
        case Mode::diode: return text::tr("diode");
        case Mode::insulation: return text::tr("insulation");
        case Mode::cap: return text::tr("farads");
        case Mode::aca: return text::tr("amps AC");
        case Mode::dca: return text::tr("amps DC");
    }
    return "";
}

std::string state_words(const Look& look) {
    const std::string words = text::tr(bench::row_of(look.station).words);
    return look.after_s == Look::usual_after_s ? words
                                               : text::say("{}, after {:.0f} s of running", words, look.after_s);
}

std::string key_words(const std::string& path) {
    static const std::pair<const char*, const char*> table[] = {
        {"array.leakage_minus_ohm", text::id("the insulation of minus to earth")},
        {"array.leakage_plus_ohm", text::id("the insulation of plus to earth")},
        {"array.modules_in_series", text::id("the number of modules in a string")},
        {"array.strings", text::id("the number of strings in parallel")},
        {"drive.electronics_W", text::id("the draw of the drive's electronics")},
        {"drive.frequency_Hz", text::id("the drive's frequency")},
        {"drive.modulation", text::id("the drive's output")},
        {"drive.modulation_index", text::id("the drive's modulation index")},
        {"drop_cable.leakage_ohm", text::id("the insulation of each core to earth")},
        {"drop_cable.length_m", text::id("the length of the pump cable")},
        {"link.bleed_ohm", text::id("the resistor that discharges the link")},
        {"motor.back_emf", text::id("the shape of the motor's volts")},
        {"motor.flux_linkage_Wb", text::id("the flux of the motor's magnets")},
        {"motor.stator_resistance_ohm", text::id("one phase of the motor's winding")},
        {"sun.irradiance_W_m2", text::id("the sun in the plane of the modules")},
        {"sun.module_temperature_degC", text::id("the temperature of the modules")},
        {"supply.voltage_V", text::id("the voltage of the supply")},
        {"tank.fill", text::id("the fill of the tank")},
        {"tank.height_m", text::id("the height of the tank's outlet")}};
    for (const auto& [key, words] : table)
        if (path == key) return text::tr(words);
    return path;
}

namespace {

// Millions of ohms are read as such; a temperature or a height is left as it was set.
std::string value_words(const std::string& path, const std::string& value) {
    const site::Key* key = site::find_key(path);
    double x = 0.0;
    const auto [end, error] = std::from_chars(value.data(), value.data() + value.size(), x);
    if (!key || error != std::errc() || end != value.data() + value.size()) return text::tr(value);
    if (std::abs(x) >= 1e4 && std::isfinite(x)) return text::quantity(x, key->unit, 3);
    std::string number = value;
    if (const auto point = number.find('.'); point != std::string::npos) number.replace(point, 1, text::decimal());
    return text::Figure{number, std::string(key->unit)}.text();
}

}  // namespace

std::vector<std::string> conditions(Benches& benches, std::size_t common, const Asked& asked) {
    const State there = asked.state.with(asked.look);
    std::vector<std::string> lines;
    const auto say = [&](std::string line) { lines.push_back(std::move(line)); };
    say(text::say("State: {}.", state_words(asked.look)));
    for (std::size_t n = common; n < there.set.size(); ++n) {
        const std::string& one = there.set[n];
        const auto cut = one.find('=');
        const std::string path = one.substr(0, cut);
        say(text::say("Here {} is {}.", key_words(path), value_words(path, one.substr(cut + 1))));
    }
    // Whoever is given the volts of one module has to know how many there are.
    constexpr const char* count = "array.modules_in_series";
    const auto of_a_module = [](const Look& l) { return l.what.probes.red.find(".m") != std::string::npos; };
    const auto told = [&](const std::string& one) { return one.starts_with(fmt::format("{}=", count)); };
    if (std::ranges::any_of(asked.given, of_a_module) &&
        std::none_of(there.set.begin() + static_cast<std::ptrdiff_t>(common), there.set.end(), told)) {
        const auto& array = benches.at(there, asked.look.station, asked.look.after_s).site()->works.array;
        if (!array.strings.empty())
            say(text::say("Here {} is {}.", key_words(count), array.strings.front().modules.size()));
    }
    if (const auto& coupled = asked.look.what.set.source_F)
        say(text::say("The red lead touches a free wire. {} couple it to {}.", text::quantity(*coupled, "F", 3),
                      asked.look.what.probes.red));
    if (!there.fault.empty()) {
        const bench::Bench& bench = benches.at(there, asked.look.station, asked.look.after_s);
        for (const site::Fault& f : bench.edits().faults) {
            const site::FaultRow& row = *site::find_fault(f.kind);
            say(text::say("Known fault: {}, at {}{}.", text::tr(row.title), f.place,
                          row.least < row.most ? ", " + site::severity_text(row, f.severity) : ""));
        }
    }
    return lines;
}

std::vector<std::string> setting(Benches& benches, const Lesson& lesson, const State& base, const Look& look) {
    std::vector<std::string> lines = conditions(benches, base.set.size(), {look, base, {}, {}});
    const auto faulty = [](const std::optional<Look>& l) { return l && !l->fault.empty(); };
    const bool speaks_of_faults = !lesson.fault.empty() || std::ranges::any_of(lesson.steps, [&](const Step& s) {
        return faulty(s.predict) || faulty(s.measure) || std::ranges::any_of(s.given, faulty);
    });
    if (look.healthy) lines.emplace_back(text::tr("As it was when all was well."));
    else if (speaks_of_faults && base.with(look).fault.empty()) lines.emplace_back(text::tr("Nothing is wrong here."));
    return lines;
}

namespace {

// In what state a given reading was taken, where it is not the question's: else it would say of the question's.
std::string taken_words(const Asked& asked, const Look& given) {
    std::vector<std::string> words;
    if (given.station != asked.look.station) words.push_back(state_words(given));
    for (const std::string& one : given.set) {
        if (std::ranges::find(asked.look.set, one) != asked.look.set.end()) continue;
        const auto cut = one.find('=');
        const std::string path = one.substr(0, cut);
        words.push_back(fmt::format("{}: {}", key_words(path), value_words(path, one.substr(cut + 1))));
    }
    return fmt::format("{}", fmt::join(words, "; "));
}

}  // namespace

std::string known_words(Benches& benches, const Asked& asked, const Look& given) {
    const bool before = asked.state.with(given).fault.empty() && !asked.state.with(asked.look).fault.empty();
    const std::string& shown = benches.seen(asked.state, given).shown;
    if (const std::string taken = taken_words(asked, given); !taken.empty() && !before && !given.healthy)
        return text::say("Known ({}): {}: {}.", taken, given.where(), shown);
    return text::say_of(
        before || given.healthy ? text::id("Known: {}, when all was well: {}.") : text::id("Known: {}: {}."),
        given.where(), shown);
}

std::vector<std::string> reasons_in_order(const Lesson& lesson, std::uint64_t seed, const Asked& asked) {
    std::vector<std::string> order = asked.why;
    const Look& l = asked.look;  // not by words: whoever speaks another language sees the same order
    const std::string name = fmt::format("{}/{} {} {} {}", lesson.id, l.what.id(), meter::mode_name(l.what.mode),
                                         l.order, l.ear ? static_cast<int>(*l.ear) : -1);
    Draw(seed, name).shuffle(order);
    return order;
}

}  // namespace sunshaft::teach
