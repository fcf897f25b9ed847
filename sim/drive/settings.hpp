// What the drive was told: modulation, control, ratings, delays; and what ails its control. SI.
#pragma once

#include <array>

namespace sunshaft::drive {

enum class Modulation { six_step_180, six_step_120, sine_triangle, third_harmonic, space_vector, ideal_sine };
enum class Control { fixed, v_f, mppt };
enum class Tracker { perturb_and_observe, constant_voltage, open_voltage_share };
// How line currents are measured: exactly; a sensor in each line; shunts in the lower legs of u and v, w by their sum;
// one shunt in the link's minus (plant/senses.hpp says what each sees).
enum class Sensing { ideal, three_sensors, two_shunts, link_shunt };
// The electronics go dark below the drop-out voltage of the link and wake again from this many times it on.
inline constexpr double wake_over_dropout = 1.25;

struct DriveSettings {
    Modulation modulation = Modulation::six_step_180;
    Control control = Control::v_f;
    double frequency = 50, minimum_frequency = 5, ramp = 20, carrier = 4000;  // Hz, Hz, Hz/s, Hz
    double index = 1, duty = 1;                                               // 1 = full
    double nominal_V = 230, nominal_Hz = 50, boost_V = 4;                     // V/f line, line-line rms
    double dead_time = 0, current_limit = 0, start_V = 0;                     // s; A peak, 0 none; V, 0 none
    double tracker_period = 0.5, tracker_step = 0.01;                         // s; relative
    Tracker tracker = Tracker::perturb_and_observe;
    double tracker_V = 0, tracker_share = 0.78;  // constant voltage; share of the voltage at the start
    double flow_switch = 0, flow_delay_s = 30;   // m3/s, 0: none fitted; s
    int flow_stuck = 0;                          // of that switch: 1 says flow, -1 none, for ever
    double low_load_W = 0;                       // at the ceiling, below: running dry; 0: not looked at
    bool phase_loss_detection = false;
    // share of the voltage at the start it stays at; 0: it tracks
    double tracker_stuck = 0;
    bool enabled = true;   // its run switch
    bool on = true;        // the electronics' own supply
    double link_F = 1e-3;  // its capacitor, as it was built

    double overvoltage_V = 0;      // trip; 0 none
    double dropout_V = 0;          // the electronics live on the link and go dark below this; 0: fed from elsewhere
    double motor_A = 0;            // rated line current, rms; 0: not told, then no stall or overload trip by current
    double motor_heating_s = 200;  // time constant of the overload trip
    double heat_sink_limit_degC = 85;  // trip
    // Delays, s.
    double charge_s = 0.1, low_sun_retry_s = 10, low_sun_retry_longest_s = 300;
    double dry_delay_s = 2, dry_retry_s = 600, tank_delay_s = 2, tank_retry_s = 10;
    double stall_s = 5, phase_loss_s = 1, trip_retry_s = 30, trip_forget_s = 300;
    int trip_retries = 3;  // starts after counted trips in a row; the next trip locks out

    Sensing sensing = Sensing::ideal;
    double sensing_blind_s = 4e-6;   // shunts: not read so long after a switching
    double earth_trip_A = 0;         // three sensors: sum of the lines, rms; 0: not looked at
    double insulation_trip_ohm = 0;  // its earth monitor's; 0: only shown
    // A magnet motor's rotor is found by the volts it makes (start.cpp); else it is always known.
    bool back_emf = false;
    double emf_per_Hz = 0;                  // V peak of a phase for each electrical Hz, as told
    double align_s = 0.5, start_ramp = 10;  // s, Hz/s

    // What ails it.
    double voltage_gain = 1, current_gain = 1;  // of its sensors: what it believes over what is there
    double current_offset = 0;                  // A, in phase u's sensor
    double commutation_offset = 0;              // rad electrical, of the angle it takes the rotor to have
    std::array<double, 3> dead_time_extra{};    // s, of single legs
    // its program latches up when this appears, until the link is below; 0: no
    double latches_V = 0;
};

}  // namespace sunshaft::drive
