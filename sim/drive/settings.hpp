// What the drive was told: modulation, control, ratings. SI.
#pragma once

namespace sunshaft::drive {

enum class Modulation { six_step_180, six_step_120, sine_triangle, third_harmonic, space_vector, ideal_sine };
enum class Control { fixed, v_f, mppt };

struct DriveSettings {
    Modulation modulation = Modulation::six_step_180;
    Control control = Control::v_f;
    double frequency = 50, minimum_frequency = 5, ramp = 20, carrier = 4000;  // Hz, Hz, Hz/s, Hz
    double index = 1, duty = 1;                                               // 1 = full
    double nominal_V = 230, nominal_Hz = 50, boost_V = 4;                     // V/f line, line-line rms
    double dead_time = 0, current_limit = 0, start_V = 0;                     // s; A peak, 0 none; V, 0 none
    double tracker_period = 0.5, tracker_step = 0.01;                         // s; relative
    bool phase_loss_detection = false;
    bool tracker_stuck = false;
    bool on = true;
};

}  // namespace sunshaft::drive
