#include "meter/sources.hpp"

#include <algorithm>

namespace sunshaft::meter {
namespace {

constexpr std::array<std::string_view, 5> wave = {"probes", "conductor"};

constexpr Source table[] = {
    // The display
    {"shown", {"display"}},
    {"tolerance", {"display"}},
    {"tolerance_share", {"display"}},
    {"range", {"display"}},
    {"counts", {"display"}},
    {"reading", {"display"}},
    {"reading_off", {"display"}},
    {"fundamental_off", {"display"}},
    {"link_ratio", {"display"}, Part::link},
    {"peak_limit", {"display"}, Part::none, "crest_limit"},
    {"update_interval", {"display"}, Part::none, "updates_per_s"},
    // The wave as it is, before any meter
    {"true_rms", wave, Part::leads},
    {"true_rms_ac", wave, Part::leads},
    {"mean", wave, Part::leads},
    {"rectified_mean", wave, Part::leads},
    {"crest_factor", wave, Part::leads},
    {"fundamental_rms", wave, Part::leads},
    {"fundamental_Hz", wave, Part::leads},
    {"peak", wave, Part::leads},
    {"lowest", wave, Part::leads},
    {"highest", wave, Part::leads},
    {"ripple", wave, Part::leads},
    {"form_factor", wave},
    {"form_error", wave},
    {"average_reading", wave},
    {"low_pass_reading", wave},
    // Its way through the meter
    {"reaches", {"leads"}},
    {"meter_ohm", wave, Part::none, "resistance_ohm"},
    {"coupling_Hz", {"coupling", "display"}, Part::none, "coupling_Hz"},
    {"coupling_gain", {"coupling"}},
    {"coupling_loss", {"coupling", "display"}, Part::none, "coupling_Hz"},
    {"coupling_effect", {"coupling"}},
    {"bandwidth_Hz", {"bandwidth"}, Part::none, "bandwidth_Hz"},
    {"bandwidth_effect", {"bandwidth"}},
    {"bandwidth_loss", {"bandwidth"}},
    {"before_low_pass", {"bandwidth", "coupling", "leads", "probes", "conductor"}},
    {"lowpass_Hz", {"low-pass"}, Part::none, "lowpass_Hz"},
    {"behind_low_pass", {"low-pass"}},
    {"low_pass_off", {"low-pass"}},
    {"rectified_mean_seen", {"rectifier"}},
    {"sine_form_factor", {"detector"}},
    {"crossings_per_period", {"detector"}},
    {"trigger_level", {"detector"}},
    {"lowest_seen", {"low-pass", "bandwidth", "coupling", "leads", "probes"}},
    {"highest_seen", {"low-pass", "bandwidth", "coupling", "leads", "probes"}},
    {"reference", {"reference"}},
    {"reference_off", {"reference"}},
    {"zero_drift", wave, Part::none, "zero_drift_A"},
    {"drift_share", wave, Part::none, "zero_drift_A"},
    {"jack_A", wave, Part::leads, "jack_ohm"},
    {"jack_fuse_A", wave, Part::none, "jack_fuse_A"},
    // The site behind the leads
    {"source_ohm", {}, Part::leads},
    {"source_F", {}, Part::leads},
    {"unloaded_ratio", {}, Part::leads},
    {"ghost_share", wave, Part::leads},
    {"ghost_share_carrier", wave, Part::leads},
    {"link_V", {}, Part::link},
    {"falls_in_a_second", {}, Part::link},
    {"carrier_Hz", {}, Part::drive, {}, "drive.carrier_Hz"},
    // What the meter itself puts on a circuit
    {"open_V", {"source"}, Part::none, "open_V"},
    {"source_A", {"source"}, Part::none, "source_A"},
    {"test_V", {"source"}, Part::none, "test_V"},
    {"limit_A", {"source"}, Part::none, "source_A"},
    {"charge_A", {"source"}, Part::none, "source_A"},
    {"current", {"current"}},
    {"voltage", {"voltage"}},
    {"own_voltage", {"probes"}},
    {"standing_V", {"probes"}, Part::leads},
    {"standing_ac_V", {"probes"}, Part::leads},
    {"found_V", {}, Part::leads},
    {"leads_ohm", {}, Part::leads, "leads_ohm"},
    {"without_leads", {"detector"}},
    {"beeps_below", {"detector", "display"}, Part::none, "beeps_below_ohm"},
    {"least_A", {"detector"}},
    {"leak_A", {}, Part::leads},
    {"leak_share", {"source"}},
    {"capacitance_F", {}, Part::leads},
    {"temperature_degC", {"detector"}},
    {"at_40_degC", {"detector"}},
    {"reference_degC", {}, Part::none, {}, {}, "IEEE 43"},
    {"halving_K", {}, Part::none, {}, {}, "IEEE 43"},
    {"least_ohm", {}, Part::none, {}, {}, "IEEE 43"},
    // A display or a clamp watched over time
    {"seconds", {"display"}},
    {"updates", {"display"}},
    {"range_changes", {"display"}},
    {"late_changes", {"display"}},
    {"low_range", {"display"}},
    {"high_range", {"display"}},
    {"settled_s", {"display"}},
    {"min", {"display"}},
    {"max", {"display"}},
    {"largest_shown", {"display"}},
    {"peak_low", {"display"}},
    {"peak_high", {"display"}},
    {"trigger_A", {"display"}},
    {"window_s", {"display"}},
    {"waited", {}, Part::leads},
    {"largest", {}, Part::leads},
    {"after_rms", {}, Part::leads},
    {"surge_ratio", {}, Part::leads},
};

}  // namespace

const Source* source_of(std::string_view figure) {
    const auto* at = std::ranges::find(table, figure, &Source::figure);
    return at == std::end(table) ? nullptr : at;
}

std::string_view stage_of(const Source& source, const Reading& reading) {
    for (const std::string_view wanted : source.stages) {
        if (wanted.empty()) continue;
        if (wanted == "display") return wanted;
        for (const Stage& stage : reading.stages)
            if (stage.name == wanted || stage.number_is == wanted) return stage.name;
    }
    return {};
}

}  // namespace sunshaft::meter
