// The one table of a meter's keys: loading, help texts, writing and changing all follow it. Private to this room.
#pragma once

#include <array>
#include <limits>
#include <string>
#include <string_view>
#include <variant>
#include <vector>

#include "meter/meter.hpp"

namespace sunshaft::meter {

inline constexpr double any = std::numeric_limits<double>::max();

inline constexpr std::array<std::string_view, 4> categories = {"none", "II", "III", "IV"};

enum Group : unsigned {
    on_voltage = 1,  // dcv acv acdcv acv-lowpass acv-loaded dcv-loaded hz duty
    on_clamp = 2,    // aca dca
    on_source = 4,   // ohm continuity diode cap
    on_insulation = 8,
    everywhere = 15
};
inline unsigned group_of(Mode mode) {
    if (mode == Mode::insulation) return on_insulation;
    if (drives_circuit(mode)) return on_source;
    return takes_clamp(mode) ? on_clamp : on_voltage;
}
inline std::string ranges_key(Mode mode) {
    return mode == Mode::duty ? "ranges_percent" : "ranges_" + std::string(unit_of(mode));
}
// It reads the alternating part: averaging or true rms.
inline bool has_detector(Mode mode) {
    return (group_of(mode) & (on_voltage | on_clamp)) && mode != Mode::dcv && mode != Mode::dca &&
           !times_crossings(mode);
}

using FunctionMember = std::variant<double Function::*, int Function::*, std::vector<double> Function::*>;
struct FunctionKey {
    const char *name, *unit;
    unsigned groups;
    double low, high;
    FunctionMember member;
    const char* meaning;
};
inline const FunctionKey function_keys[] = {
    {"resistance_ohm", "ohm", on_voltage, 1.0, 1e12, &Function::resistance_ohm, "between the probes"},
    {"capacitance_F", "F", on_voltage, 0.0, 1e-6, &Function::capacitance_F, "between the probes"},
    {"coupling_Hz", "Hz", on_voltage | on_clamp, 0.0, 1e4, &Function::coupling_Hz,
     "corner of the AC coupling, 0: DC passes"},
    {"bandwidth_Hz", "Hz", on_voltage | on_clamp, 0.0, 1e9, &Function::bandwidth_Hz, "-3 dB corner, 0: none"},
    {"bandwidth_order", "", on_voltage | on_clamp, 1, 4, &Function::bandwidth_order,
     "order of that corner (Butterworth)"},
    {"lowpass_Hz", "Hz", on_voltage | on_clamp, 0.0, 1e6, &Function::lowpass_Hz,
     "corner of the switched-drive low-pass, 0: none"},
    {"lowpass_order", "", on_voltage | on_clamp, 1, 4, &Function::lowpass_order, "its order"},
    {"crest_limit", "", on_voltage | on_clamp, 0.0, 100.0, &Function::crest_limit,
     "largest peak a range takes, in full scales, 0: none"},
    {"trigger", "", on_voltage, 0.0, 0.9, &Function::trigger, "hz: level that counts, part of the peak"},
    {"hysteresis", "", on_voltage, 0.0, 1.8, &Function::hysteresis,
     "hz: how far below the trigger the wave must fall before it counts again, part of the peak"},
    {"zero_drift_A", "A", on_clamp, 0.0, 100.0, &Function::zero_drift_A, "offset a zeroed Hall clamp picks up again"},
    {"source_A", "A", on_source | on_insulation, 1e-9, 10.0, &Function::source_A,
     "current of the meter's own source, one for each range or one for all"},
    {"open_V", "V", on_source, 0.01, 50.0, &Function::open_V, "voltage of that source at open probes"},
    {"beeps_below_ohm", "ohm", on_source, 0.0, 1e4, &Function::beeps_below_ohm, "continuity: sounds below"},
    {"test_V", "V", on_insulation, 10.0, 20e3, &Function::test_V, "insulation: voltages to choose from, rising"},
};

using SpecMember = std::variant<double Spec::*, std::string Spec::*>;
struct SpecKey {
    const char *name, *unit;
    double low, high;
    SpecMember member;
    const char* meaning;
};
inline const SpecKey spec_keys_table[] = {
    {"name", "", 0, 0, &Spec::name, "what it is called (required)"},
    {"description", "", 0, 0, &Spec::description, "one or two sentences"},
    {"counts", "", 10, 1e8, &Spec::counts, "of the display; a pointer: parts of the scale one can tell apart"},
    {"updates_per_s", "1/s", 0.01, 1000, &Spec::update_per_s, "display updates"},
    {"settling_s", "s", 0.0, 600, &Spec::settling_s, "to a new value, once the range is found"},
    {"leads_ohm", "ohm", 0.0, 100.0, &Spec::leads_ohm,
     "both test leads and their plugs, which ohms and continuity read in"},
    {"jack_ohm", "ohm", 0.0, 1e3, &Spec::jack_ohm, "shunt and fuse behind the current socket, 0: it has none"},
    {"jack_fuse_A", "A", 0.0, 1e3, &Spec::jack_fuse_A, "that fuse blows above"},
    {"category_V", "V", 0.0, 20e3, &Spec::category_V, "working voltage to earth of the category"},
};

struct AccuracyKey {
    const char* name;
    double low, high;
    double Accuracy::*member;
};
inline constexpr AccuracyKey accuracy_keys[] = {
    {"percent", 0, 100, &Accuracy::percent},
    {"counts", 0, 1e6, &Accuracy::counts},
    {"percent_of_range", 0, 100, &Accuracy::percent_of_range},
    {"range", 0, any, &Accuracy::range},
    {"from_Hz", 0, any, &Accuracy::from_Hz},
    {"to_Hz", 0, any, &Accuracy::to_Hz},
};

}  // namespace sunshaft::meter
