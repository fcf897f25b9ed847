// Modulators: from a wanted frequency and amplitude to the instants at which gates switch.
//
// Time is cut into windows (some half carrier periods, a sixth of a turn, a chopping period); the command holds within
// one. A window's edges are known when it begins, so the solver can stop at them exactly.
//
// Angles: the voltage of phase k is along cos(angle - k 120 deg). Amplitude: sine-type modulations, 1 = sine peak
// equals carrier peak (natural sampling; D. G. Holmes, T. A. Lipo, "Pulse Width Modulation for Power Converters", 2003,
// ch. 3); six-step types, 1 = never chopped.
//   six-step-180    each leg upper while cos > 0; chopped below amplitude 1 by taking all legs low
//   six-step-120    upper within +-60 deg of the phase axis, lower opposite, floating between; the upper one is chopped
//   sine-triangle   cos against a triangle; third-harmonic: less 1/6 cos 3 angle; space-vector: less the mid of
//                   highest and lowest (Holmes and Lipo, ch. 5-6). Above the carrier's peak pulses drop out, up to
//                   six-step.
//   ideal-sine      no switching: the bridge's mean voltage (Window::sine)
#pragma once

#include <array>

#include "drive/bridge.hpp"
#include "drive/settings.hpp"

namespace sunshaft::drive {

struct Edge {
    double t;
    int leg;
    Gate gate;
};

struct Window {
    double end = 0.0;
    int count = 0;
    std::array<Edge, 64> edges{};  // rising in time, all before end; the first `count` of them
    bool sine = false;             // ideal-sine: legs at v_link (1 + amplitude cos(angle0 + omega (t - start))) / 2
    double angle0 = 0.0, omega = 0.0, amplitude = 0.0;
};

struct Command {
    bool running = false;
    double frequency = 0.0;  // Hz, electrical; negative turns backwards
    double amplitude = 0.0;
    // a self-commutated motor's angle leads; false: the frequency above, whatever the rotor does
    bool follow = true;
};

// Rotor feedback of a self-commutated motor: the voltage is kept 90 degrees ahead of the magnet.
struct Rotor {
    bool follow = false;
    double angle = 0.0;  // electrical, of the d-axis
    double speed = 0.0;  // electrical rad/s
};

// What a modulator remembers between windows.
struct ModulatorState {
    double angle = 0.0;
    bool falling = true;  // carrier
    std::array<Gate, 3> wanted{Gate::off, Gate::off, Gate::off};
    std::array<double, 3> pending_at{-1.0, -1.0, -1.0};  // end of a dead time that reaches into the next window
};

void next_window(const DriveSettings& settings, ModulatorState& state, double t, const Command& command,
                 const Rotor& rotor, Window& window);

}  // namespace sunshaft::drive
