// sunshaft meters: the meters there are; or one of them, or a user's own file, checked and tried on the standard
// waves.
#include <fmt/format.h>

#include <cmath>
#include <memory>
#include <nlohmann/json.hpp>

#include "cli/verb.hpp"
#include "meter/display.hpp"
#include "meter/standard_waves.hpp"
#include "report/json.hpp"
#include "text/figure.hpp"
#include "text/language.hpp"

namespace sunshaft::cli {
namespace {

using nlohmann::json;
using text::say, text::tr;

struct MetersOptions {
    std::string file;
    bool json = false, keys = false;
};

std::string stem(const meter::Spec& s) {
    const std::string name = s.file.substr(s.file.find_last_of('/') + 1);
    return name.substr(0, name.find('.'));
}

json meter_json(const meter::Spec& s) {
    json modes = json::array();
    for (const auto& [mode, function] : s.functions) modes.push_back(std::string(meter::mode_name(mode)));
    return {{"file", s.file}, {"name", s.name},         {"description", s.description}, {"counts", s.counts},
            {"modes", modes}, {"category", s.category}, {"category_V", s.category_V}};
}

// What a meter is taken for: the group it is listed in.
const char* group(const meter::Spec& s) {
    if (s.has(meter::Mode::insulation)) return text::id("insulation testers");
    if (s.has(meter::Mode::aca) || s.has(meter::Mode::dca)) return text::id("clamps");
    return text::id("meters with two leads");
}

int list(bool as_json) {
    const auto specs = meter::load_specs(meter::shipped_meters());
    if (as_json) {
        json out = json::array();
        for (const auto& s : specs) out.push_back(meter_json(s));
        fmt::print("{}\n", out.dump(2));
        return 0;
    }
    for (const std::string wanted : {"meters with two leads", "clamps", "insulation testers"}) {
        fmt::print("{}\n", tr(wanted));
        for (const auto& s : specs) {
            if (group(s) != wanted) continue;
            std::string modes;
            for (const auto& [mode, function] : s.functions) modes += fmt::format(" {}", meter::mode_name(mode));
            constexpr const char* roman[] = {"", "", "CAT II", "CAT III", "CAT IV"};
            fmt::print("  {:<24} {}, {}\n  {:<24} {}\n  {:<24} {}\n", stem(s), tr(s.name),
                       s.category ? fmt::format("{} {:.0f} V", roman[s.category], s.category_V) : tr("not rated"), "",
                       tr(s.description), "", say("modes:{}", modes));
        }
        fmt::print("\n");
    }
    fmt::print("{}\n", tr("One of them on the standard waves: sunshaft meters true-rms"));
    return 0;
}

// What an ideal meter of this position would show on the wave.
double ideal(const meter::Spec& spec, meter::Mode mode, const meter::Truth& t) {
    if (mode == meter::Mode::hz) return t.fundamental_Hz.value_or(0.0);
    const meter::Function& f = spec.function(mode);
    if (f.detector == meter::Detector::mean) return t.mean.value_or(0.0);
    return f.coupling_Hz > 0.0 ? t.rms_ac.value_or(0.0) : t.rms.value_or(0.0);
}

std::string off(double shown, double truth, double scale) {
    if (std::fabs(truth) < 1e-9 * scale) return "";
    const double percent = 100.0 * (shown / truth - 1.0);
    return fmt::format("{}{} %", percent >= 0.05 ? "+" : "", text::fixed(percent, 1));
}

void chain(const meter::Spec& s) {
    using meter::quantity;
    for (const auto& [mode, f] : s.functions) {
        std::string line = fmt::format("  {:<12}", meter::mode_name(mode));
        if (f.resistance_ohm > 0.0) line += quantity(f.resistance_ohm, "ohm") + ", ";
        if (f.coupling_Hz > 0.0) line += say("AC from {}", quantity(f.coupling_Hz, "Hz")) + ", ";
        if (f.bandwidth_Hz > 0.0) line += say("up to {}", quantity(f.bandwidth_Hz, "Hz")) + ", ";
        if (f.lowpass_Hz > 0.0) line += say("low-pass {}", quantity(f.lowpass_Hz, "Hz")) + ", ";
        if (!meter::drives_circuit(mode) && mode != meter::Mode::hz && mode != meter::Mode::duty)
            line += fmt::format("{}, ", f.detector == meter::Detector::mean      ? tr("mean")
                                        : f.detector == meter::Detector::average ? tr("average-responding")
                                                                                 : tr("true rms"));
        if (f.open_V > 0.0) line += say("{} at open probes", quantity(f.open_V, "V")) + ", ";
        std::string ranges;
        for (double r : f.ranges) ranges += fmt::format(" {}", quantity(r, meter::unit_of(mode)));
        fmt::print("{}{}\n", line, say("ranges{}", ranges));
    }
}

int one(const MetersOptions& o) {
    const meter::Spec spec = meter::find_spec(o.file);
    const auto rows = meter::standard_readings(spec);
    if (o.json) {
        json out = meter_json(spec), waves = json::array();
        for (const auto& row : rows) {
            json readings = json::object();
            for (const auto& [mode, r] : row.readings)
                readings[std::string(meter::mode_name(mode))] = report::reading_json(r);
            waves.push_back({{"wave", row.wave}, {"peak", row.peak}, {"readings", readings}});
        }
        out["standard_waves"] = waves;
        fmt::print("{}\n", out.dump(2));
        return 0;
    }
    fmt::print("{}\n{}\n{}\n\n", say("{}: sound", spec.file), tr(spec.name), tr(spec.description));
    chain(spec);
    std::string unit;
    for (const auto& row : rows) {
        const std::string now = row.readings.front().second.unit == "A" ? "A" : "V";
        if (now != unit) {
            unit = now;
            fmt::print("\n{}\n", say("Standard waves of {} peak at 50 Hz (shown, and how far from what this position "
                                     "should show):",
                                     meter::quantity(row.peak, unit)));
            fmt::print("  {:<26}{:>14}", "", tr("true rms"));
            for (const auto& [mode, r] : row.readings) fmt::print("{:>22}", meter::mode_name(mode));
            fmt::print("\n");
        }
        fmt::print("  {:<26}{:>14}", row.wave, meter::quantity(row.truth.rms.value_or(0.0), unit));
        for (const auto& [mode, r] : row.readings)
            fmt::print(
                "{:>13} {:>8}", r.shown,
                r.value && mode != meter::Mode::duty ? off(*r.value, ideal(spec, mode, row.truth), row.peak) : "");
        fmt::print("\n");
    }
    if (rows.empty()) fmt::print("\n{}\n", tr("It has no mode that reads a wave."));
    return 0;
}

int keys(bool as_json) {
    json out = json::array();
    for (const auto& k : meter::spec_keys()) {
        if (as_json) out.push_back({{"key", k.key}, {"unit", k.unit}, {"domain", k.domain}, {"meaning", k.meaning}});
        else fmt::print("{:<22} {:<8} {:<24} {}\n", k.key, k.unit, tr(k.domain), tr(k.meaning));
    }
    if (as_json) fmt::print("{}\n", out.dump(2));
    return 0;
}

}  // namespace

Run add_meters(CLI::App& app) {
    auto o = std::make_shared<MetersOptions>();
    app.add_option("meter", o->file, tr("a meter's file to check, or the name of a shipped one; default: list them"))
        ->type_name("METER");
    app.add_flag("--keys", o->keys, tr("list the keys of a meter's file"));
    app.add_flag("--json", o->json, tr("print JSON"));
    app.footer(say("With a meter named: its file is checked, its chain printed, and how it reads the standard waves.\n"
                   "To write one, copy a file of scenarios/meters; --keys lists what may stand in it.") +
               "\nExample: sunshaft meters my-meter.toml");
    return [o] { return o->keys ? keys(o->json) : o->file.empty() ? list(o->json) : one(*o); };
}

}  // namespace sunshaft::cli
