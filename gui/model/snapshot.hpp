// Snapshot: everything the window shows of the physics, published by the physics thread, immutable. The window computes
// no physics: a panel may scale, project and colour these figures, nothing else. SI unless a name says otherwise.
#pragma once

#include <array>
#include <complex>
#include <cstdint>
#include <memory>
#include <optional>
#include <string>
#include <vector>

#include "bench/bench.hpp"

namespace sunshaft::view {

enum class Running { hold, run };

// One channel of the scope: a jump-true trace of the last seconds, with the healthy site's for the ghost.
struct Wave {
    std::string name;        // signal name of plant/probe.hpp: "drive.u:drive.v", "around.u", "speed_rpm"
    std::string label;       // "u-v", "u", "speed"
    std::string unit;
    std::shared_ptr<const trace::Trace> trace;
    std::shared_ptr<const trace::Trace> healthy;  // null: none yet
};

struct MeterFace {
    std::string spec;                  // stem of the meter's file: "true-rms"
    std::string name, counts_text;     // "True-rms", "6000 counts, 10 Mohm"
    meter::Mode mode = meter::Mode::acv;
    std::vector<meter::Mode> modes;    // what its keys are
    std::optional<meter::Reading> reading;  // none: leads not placed, or the first update still to come
    double full_scale = 0.0;           // of the bar
};

struct Harmonic { int order; double rms; };
struct Spectrum { std::string name, label, unit; double fundamental_Hz, rms, thd; std::vector<Harmonic> lines; };

struct SheetRow { double amps, ohms, watts, kelvin; };  // one conductor of the splice sheet

struct Curve { std::vector<double> x, y; };

struct Event { double t; std::string text; };

struct Lamp { std::string name; bool on; };

struct Snapshot {
    std::uint64_t number = 0;             // rises with each
    std::shared_ptr<const site::Site> site;
    bench::Edits edits;
    bench::Probes probes;
    Running running = Running::run;
    double t = 0.0;                       // simulated s
    double wanted_rate = 1.0, achieved_rate = 1.0;  // simulated s per s of wall clock
    std::string failure;                  // the solver's words when it stopped; empty: none

    plant::Instant now;
    plant::Means means;                   // over the last turn(s) of the field
    plant::Means healthy;                 // the same of the healthy site, seconds == 0: not yet
    std::vector<double> string_amps;
    std::array<MeterFace, 2> meters;
    std::optional<meter::Reading> clamp;
    std::vector<Wave> waves;
    std::vector<Spectrum> spectra;        // of the scope's channels
    motor::Vec3 volt_sequence{}, amp_sequence{};   // zero, positive, negative; fundamental rms
    std::array<std::complex<double>, 3> volt_phasor{}, amp_phasor{};  // u, v, w, fundamental rms

    std::array<SheetRow, 3> splice{};
    plant::Energies power{};              // W, mean over the window of `means`
    plant::Energies healthy_power{};
    Curve array_current, array_power;     // against link voltage, now
    double array_V = 0, array_A = 0, best_V = 0, best_W = 0;
    Curve pump_curve, main_curve;         // head against m3/h
    double flow_m3_h = 0, head_m = 0, water_level_m = 0, static_head_m = 0, tank_fill = 0;
    double winding_degC = 0;
    std::vector<Lamp> lamps;
    std::vector<Event> events;            // newest last
    std::vector<std::string> cautions;    // before the first touch
    double link_wait_s = 0;               // until the link is below 60 V after switch-off, computed
};

}  // namespace sunshaft::view
