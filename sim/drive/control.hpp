// Drive control: from what the drive measures to frequency and amplitude. Sampled at the modulator's windows.
#pragma once

#include "drive/modulator.hpp"
#include "drive/settings.hpp"

namespace sunshaft::drive {

enum class Phase { off, waiting_for_sun, running, tripped };

struct Measured {
    double link_V = 0.0, source_A = 0.0;
    double current_peak_A = 0.0;
    double electrical_Hz = 0.0;  // of the rotor
};

struct ControlState {
    Phase phase = Phase::waiting_for_sun;
    double time = 0.0;         // of the last update, s
    double start_V = 0.0;      // link voltage when it began to run
    double setting = 0.0;      // 0 .. 1: share of the frequency ceiling, or of full amplitude
    double ceiling = 1.0;      // of the amplitude of a self-commutated motor
    double integral = 0.0;     // of the link regulator
    double smooth_V = 0.0;     // link voltage behind a short low-pass
    double target_V = 0.0;     // tracker
    double direction = -1.0, last_power = 0.0;
    double energy = 0.0, averaging = 0.0, tracker_time = 0.0;
    double retry_at = 0.0;
};

// Largest amplitude without loss of pulses: 1, or 2/sqrt 3 where a zero-sequence offset is added.
double linear_limit(Modulation modulation);

// Advances the control to time t. self_commutated: the motor's angle leads (permanent magnet), only the amplitude is set.
//   fixed   frequency, index and duty as set, at once
//   v-f     ramp to the frequency ceiling; amplitude from the V/f line and the link voltage
//   mppt    a regulator holds the link at a target voltage by moving the setting; the target climbs the array's power
//           curve in steps (perturb and observe)
Command update(const DriveSettings& settings, bool self_commutated, ControlState& state, double t,
               const Measured& measured);

}  // namespace sunshaft::drive
