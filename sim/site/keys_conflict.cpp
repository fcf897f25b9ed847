// Keys that are each in their domain and yet cannot stand on one site together.
#include <fmt/format.h>

#include <algorithm>
#include <cmath>
#include <iterator>
#include <stdexcept>
#include <tuple>
#include <utility>

#include "site/keys.hpp"
#include "solar/mount.hpp"
#include "text/language.hpp"

namespace sunshaft::site {

namespace {

using text::id, text::say, text::tr;

std::optional<Conflict> array_conflict(const Scenario& s) {
    try {
        (void)solar::parse_mount(s.array.mount);
    } catch (const std::invalid_argument& e) {
        return Conflict{"array.mount", "array.mount", say("is {}, {}", on_one_line(s.array.mount), e.what())};
    }
    if (s.supply.second != "none" && s.supply.kind != "array")
        return Conflict{"supply.second", "supply.kind",
                        say("is {}, expected none where supply.kind is no array", s.supply.second)};
    return std::nullopt;
}

// What motor/double_cage.hpp leaves out is not passed over in silence.
std::optional<Conflict> motor_conflict(const Scenario& s) {
    if (s.motor.kind != "double-cage") return std::nullopt;
    const std::tuple<std::string_view, double, double> left_out[] = {
        {"motor.saturation_factor", s.motor.saturation_factor, 1.0},
        {"motor.iron_loss_W", s.motor.iron_loss_W, 0.0},
        {"motor.bar_depth_mm", s.motor.bar_depth_mm, 0.0}};
    for (const auto& [key, value, none] : left_out)
        if (value != none)
            return Conflict{
                key, "motor.kind",
                say("is {}, expected {}: computed for motor.kind induction, not for double-cage", value, none)};
    return std::nullopt;
}

}  // namespace

std::optional<Conflict> conflict(const Scenario& s) {
    // "is 60, expected ... "; a comparison with a left-out value (NaN) is never a clash.
    auto clash = [](std::string_view key, double value, const char* expected, std::string_view other, double limit,
                    std::string_view unit) {
        return Conflict{key, other, text::say_of(expected, value, other, limit, unit)};
    };

    const std::pair<std::string_view, double> parameters[] = {
        {"array.module_photocurrent_A", s.array.module_photocurrent_A},
        {"array.module_saturation_A", s.array.module_saturation_A},
        {"array.module_series_ohm", s.array.module_series_ohm},
        {"array.module_shunt_ohm", s.array.module_shunt_ohm},
        {"array.module_ideality", s.array.module_ideality}};
    const auto* given =
        std::find_if(std::begin(parameters), std::end(parameters), [](const auto& p) { return !std::isnan(p.second); });
    const bool by_parameters = given != std::end(parameters);
    if (by_parameters && !s.array.module.empty())
        return Conflict{given->first, given->first, tr("is given, expected left out where array.module names a row")};
    if (by_parameters)
        for (const auto& [key, value] : parameters)
            if (std::isnan(value))
                return Conflict{given->first, key,
                                say("is given, expected {} beside it: all five parameters or none", key)};

    const bool data_sheet = s.supply.kind == "array" && s.array.module.empty() && !by_parameters;
    if (data_sheet && s.array.module_imp_A >= s.array.module_isc_A)
        return clash("array.module_imp_A", s.array.module_imp_A, id("is {}, expected less than {} ({} {})"),
                     "array.module_isc_A", s.array.module_isc_A, "A");
    if (data_sheet && s.array.module_vmp_V >= s.array.module_voc_V)
        return clash("array.module_vmp_V", s.array.module_vmp_V, id("is {}, expected less than {} ({} {})"),
                     "array.module_voc_V", s.array.module_voc_V, "V");

    if (auto of_array = array_conflict(s)) return of_array;
    if (auto of_motor = motor_conflict(s)) return of_motor;
    const auto& drive = s.drive;
    if (drive.control != "fixed" && drive.minimum_frequency_Hz >= drive.frequency_Hz)
        return clash("drive.minimum_frequency_Hz", drive.minimum_frequency_Hz,
                     id("is {}, expected less than the ceiling {} ({} {})"), "drive.frequency_Hz", drive.frequency_Hz,
                     "Hz");
    if (drive.tracker == "constant-voltage" && std::isnan(drive.tracker_voltage_V))
        return Conflict{"drive.tracker", "drive.tracker_voltage_V",
                        tr("is constant-voltage, expected drive.tracker_voltage_V beside it")};
    const bool pwm = drive.modulation == "sine-triangle" || drive.modulation == "third-harmonic" ||
                     drive.modulation == "space-vector";
    if (pwm && drive.dead_time_s * drive.carrier_Hz > 0.25)
        return clash("drive.dead_time_s", drive.dead_time_s,
                     id("is {}, expected at most a quarter of the period of {} ({} {})"), "drive.carrier_Hz",
                     drive.carrier_Hz, "Hz");
    if (pwm && drive.control == "fixed" && drive.carrier_Hz < 6 * drive.frequency_Hz)
        return clash("drive.carrier_Hz", drive.carrier_Hz, id("is {}, expected at least 6 times {} ({} {})"),
                     "drive.frequency_Hz", drive.frequency_Hz, "Hz");

    if (s.pump.kind == "none") return std::nullopt;  // no well, no pipe
    if (s.pump.kind == "centrifugal" && s.pump.best_head_m >= s.pump.shutoff_head_m)
        return clash("pump.best_head_m", s.pump.best_head_m, id("is {}, expected less than {} ({} {})"),
                     "pump.shutoff_head_m", s.pump.shutoff_head_m, "m");

    const auto& well = s.well;
    if (well.pump_depth_m > well.bore_depth_m)
        return clash("well.pump_depth_m", well.pump_depth_m, id("is {}, expected at most {} ({} {})"),
                     "well.bore_depth_m", well.bore_depth_m, "m");
    if (well.static_level_m > well.bore_depth_m)
        return clash("well.static_level_m", well.static_level_m, id("is {}, expected at most {} ({} {})"),
                     "well.bore_depth_m", well.bore_depth_m, "m");
    if (well.dry_probe_depth_m > well.pump_depth_m)
        return clash("well.dry_probe_depth_m", well.dry_probe_depth_m, id("is {}, expected at most {} ({} {})"),
                     "well.pump_depth_m", well.pump_depth_m, "m");
    if (s.splice.depth_m > well.pump_depth_m)
        return clash("splice.depth_m", s.splice.depth_m, id("is {}, expected at most {} ({} {})"), "well.pump_depth_m",
                     well.pump_depth_m, "m");
    if (s.rising_main.length_m < well.pump_depth_m)
        return clash("rising_main.length_m", s.rising_main.length_m, id("is {}, expected at least {} ({} {})"),
                     "well.pump_depth_m", well.pump_depth_m, "m");
    if (s.rising_main.diameter_mm >= well.bore_diameter_mm)
        return clash("rising_main.diameter_mm", s.rising_main.diameter_mm, id("is {}, expected less than {} ({} {})"),
                     "well.bore_diameter_mm", well.bore_diameter_mm, "mm");
    return std::nullopt;
}

}  // namespace sunshaft::site
