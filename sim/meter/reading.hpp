// What a meter shows, and why.
//
// read() takes the voltage between the probes (or the current in a clamp) as a trace over settled whole
// periods, already loaded by input_resistance(), and sends it through the meter's chain in closed form
// (filter.hpp). The modes that drive the circuit themselves take a Passive instead.
//
// Every number in a sentence is a figure of the reading: nothing is said that was not computed from this wave.
#pragma once

#include <functional>
#include <optional>
#include <string>
#include <vector>

#include "meter/meter.hpp"
#include "trace/trace.hpp"

namespace sunshaft::meter {

// Of the wave itself, whatever the meter makes of it. What does not exist is empty, never 0.
struct Truth {
    std::optional<double> mean, rms, rms_ac, rectified_mean;  // rectified mean of y, not of y - mean
    std::optional<double> fundamental_rms, fundamental_Hz, crest_factor;
};

// One link of the chain: the wave that leaves it (only if Context::keep_waves) and the number that describes it
// there.
struct Stage {
    std::string name;   // "probes", "input", "coupling", "bandwidth", "low-pass", "detector", "display"
    std::string what;   // in words: "first-order high-pass at 3 Hz"
    trace::Trace wave;  // empty when not kept, or when nothing but a number comes out
    double number = 0.0;
    std::string number_is;  // "rms", "rectified mean", "mean", "shown", ...
    std::string unit;
};

struct Figure {
    std::string name;  // snake_case: "true_rms_ac", "form_factor", "bandwidth_loss"
    double value;      // SI; percentages as fractions
    std::string unit;  // "V", "%", ""
    std::string text;  // as it stands in the sentence
};

// Where a figure stands in what is said of a reading, in bytes.
struct NamedAt {
    bool warning;  // of the warnings; else of the reasons
    std::size_t sentence, at, length;
    std::size_t figure;
};

struct Reading {
    std::optional<double> value;  // before rounding; empty when over range or nothing to show
    std::string unit;
    std::string shown;                // the display's text, with unit: "237.1 V", "OL"
    std::optional<double> low, high;  // accuracy band around the value
    bool over_range = false;
    std::optional<double> range;       // full scale chosen
    double resolution = 0.0;           // one count, SI
    bool beeps = false;                // continuity
    std::optional<double> link_ratio;  // AC output over link voltage, where both are known
    Truth truth;
    std::vector<Stage> stages;
    std::vector<std::string> reasons;  // first what happened; 2 to 5 sentences
    std::vector<Figure> figures;       // every number the reasons use; where each comes from: sources.hpp
    std::vector<std::string> warnings;
    std::vector<NamedAt> named;  // where figures stand in reasons and warnings, as they are read
    // to be read before the probes touch anything; the bench fills them in (bench/hazards.hpp)
    std::vector<std::string> cautions;
};

struct Context {
    std::string red, black;                // names of the probe points, or of the clamped conductor (red)
    std::optional<double> fundamental_Hz;  // if known; else it is looked for in the trace
    std::optional<double> carrier_Hz;      // PWM
    std::optional<double> link_V;          // mean link voltage
    std::optional<double> source_ohm;      // Thevenin resistance the probes see
    std::optional<double> source_F;        // ... or the capacitance a coupled (ghost) voltage came through
    // The link behind these points is cut off and charged: how fast it falls, V/s; 0: nothing discharges it.
    std::optional<double> falls_V_per_s;
    // The output is off and a magnet rotor turns: what is read is the machine's own voltage.
    enum class Spin { none, running_down, by_water } spin = Spin::none;
    bool output = false;  // these are terminals of the drive's output or the motor's cable
    // these are a stiff six-step output's terminals: the ratio to the link does not move with the sun
    bool ideal_six_step = false;
    std::optional<double> manual_range;  // full scale; empty: auto
    double lead_ohm = 0.0;               // in the test leads, above what the meter's file says
    // share of the wave that the test leads let through to the input; 0: they lie where nothing is seen
    double reaches = 1.0;
    // what a low battery leaves of the meter's reference: it shows 1 / reference times as much
    double reference = 1.0;
    bool relative = false;           // zeroed just before: leads touched together, or the empty jaws closed
    double test_V = 0.0;             // insulation; 0: the lowest there is not below 500 V
    double temperature_degC = 20.0;  // of what an insulation test looks at
    bool keep_waves = false;         // keep the wave at every stage
    bool value_alone = false;        // no stages, no reasons: a third of the work, for who asks a thousand times
};

// The circuit between the probes at rest, for the modes that drive it: ohm, continuity, diode, insulation, cap.
struct Passive {
    // A into the red probe when the probes are held at so many volts. Must not fall with the voltage.
    std::function<double(double volt)> current;
    double ac_rms = 0.0;         // alternating voltage standing there, V
    double capacitance_F = 0.0;  // between the probes
};
// A resistance (inf: open) in series with a voltage that stands there already.
Passive resistance(double ohm, double standing_V = 0.0, double capacitance_F = 0.0);

// Throws std::invalid_argument: no such mode on this meter, wrong kind of mode, no such manual range, broken or
// empty trace.
Reading read(const Spec& spec, Mode mode, trace::View terminals, const Context& context = {});
Reading read(const Spec& spec, Mode mode, const Passive& circuit, const Context& context = {});

}  // namespace sunshaft::meter
