// A meter as data: the chain from its probes to its display, as its data sheet gives it, in one TOML file.
//
// - probes: input resistance and capacitance
// - coupling, bandwidth and switched-drive low-pass
// - detector: mean | rectified mean x pi/(2 sqrt 2) | true rms
// - range, counts, rounding, accuracy
//
// spec_table.hpp holds the one table of keys (unit, domain, meaning) that loading, checking and writing follow;
// scenarios/meters/*.toml are examples to copy. What a meter then shows on a wave is reading.hpp's business.
#pragma once

#include <limits>
#include <map>
#include <optional>
#include <stdexcept>
#include <string>
#include <string_view>
#include <vector>

namespace sunshaft::meter {

// Positions of the switch. In TOML, on the command line and in words: mode_name().
enum class Mode {
    dcv,
    acv,
    acdcv,
    acv_lowpass,
    acv_loaded,
    dcv_loaded,
    hz,
    duty,
    ohm,
    continuity,
    diode,
    insulation,
    cap,
    aca,
    dca
};
std::string_view mode_name(Mode mode);  // "dcv", "acv-lowpass", ...
std::optional<Mode> mode_from(std::string_view name);
const std::vector<Mode>& all_modes();
std::string_view unit_of(Mode mode);  // "V", "Hz", "ohm", "F", "A"
// These put a source of the meter's own between the probes and belong on a dead circuit.
bool drives_circuit(Mode mode);   // ohm, continuity, diode, insulation, cap
bool takes_clamp(Mode mode);      // aca, dca
bool times_crossings(Mode mode);  // hz, duty: what the wave's edges say, not its height

enum class Detector {
    mean,     // DC
    average,  // rectified mean times pi / (2 sqrt 2), so that a sine reads its rms
    rms       // true rms, up to a crest factor
};

// One line of the accuracy table: +-(percent of reading + counts + percent of the range's full scale).
struct Accuracy {
    double percent = 0.0;
    double counts = 0.0;
    double percent_of_range = 0.0;
    double range = 0.0;  // full scale this line is for; 0: any
    double from_Hz = 0.0, to_Hz = std::numeric_limits<double>::infinity();
};

// What one position of the switch does.
struct Function {
    Detector detector = Detector::mean;
    double resistance_ohm = 0.0;  // between the probes; a clamp: 0
    double capacitance_F = 0.0;
    double coupling_Hz = 0.0;   // corner of the first-order high-pass; 0: DC passes
    double bandwidth_Hz = 0.0;  // -3 dB corner of the Butterworth low-pass the meter has anyway; 0: none
    int bandwidth_order = 1;    // 1 .. 4
    double lowpass_Hz = 0.0;    // the switched-drive low-pass; 0: none
    int lowpass_order = 2;
    double crest_limit = 0.0;    // largest peak a range takes, in full scales; 0: none. DC: automatic range heeds it
    double trigger = 0.15;       // hz: level that counts, as a part of the peak
    double hysteresis = 0.1;     // ... and how far below it the wave must fall before the next one counts; of the peak
    double zero_drift_A = 0.0;   // offset that a zeroed Hall clamp picks up again, A
    std::vector<double> ranges;  // full scales, rising, SI
    std::vector<Accuracy> accuracy;
    // Source of the modes that drive the circuit. On range k of an ohmmeter: source_A[k] (or the last one
    // given).
    std::vector<double> source_A;
    double open_V = 0.0;           // compliance: what stands at the open probes
    double beeps_below_ohm = 0.0;  // continuity
    std::vector<double> test_V;    // insulation: the voltages to choose from
};

struct Spec {
    std::string file;  // where it came from
    std::string name;
    std::string description;
    bool pointer = false;       // an analogue movement: no digits, read off a scale
    double counts = 2000.0;     // of the display; a pointer: parts of the scale one can tell apart
    double update_per_s = 2.5;  // display updates
    double settling_s = 1.0;    // to a new value, once the range is found
    double leads_ohm = 0.0;     // both test leads and their plugs: ohms and continuity read them in
    double jack_ohm = 0.0;      // shunt and fuse behind the current socket; 0: it has none
    double jack_fuse_A = 0.0;   // that fuse blows above
    int category = 0;           // II, III, IV of IEC 61010-1; 0: not rated
    double category_V = 0.0;    // working voltage to earth of that rating
    std::map<Mode, Function> functions;

    bool has(Mode mode) const { return functions.contains(mode); }
    // Throws std::invalid_argument naming the modes there are.
    const Function& function(Mode mode) const;
};

// Resistance to put between the probes in the circuit before the trace is taken. 0 for a clamp, which sits in
// no branch.
double input_resistance(const Spec& spec, Mode mode);

// A bad file: what() is `file:line:column: key: what is wrong, what was expected`.
struct SpecError : std::runtime_error {
    using std::runtime_error::runtime_error;
};
Spec load_spec(const std::string& path);
Spec parse_spec(std::string_view text, const std::string& name_for_messages);
// Every *.toml of a folder, by file name. The shipped ones lie in scenarios/meters.
std::vector<Spec> load_specs(const std::string& folder);
std::string shipped_meters();
// By the file's stem or by name, or a path ending in .toml. Throws SpecError listing what there is.
Spec find_spec(std::string_view name_or_path, const std::string& folder = shipped_meters());

// The table of keys, for help texts.
struct KeyLine {
    std::string key, unit, domain, meaning;
};
std::vector<KeyLine> spec_keys();

}  // namespace sunshaft::meter
