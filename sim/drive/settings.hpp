// What the drive was told: modulation, control, ratings, delays; and what ails its control. SI. Nothing is told yet:
// site::set_up fills it from the site's keys, whose defaults stand in site/scenario.hpp and nowhere else.
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
    Modulation modulation{};
    Control control{};
    double frequency = 0, minimum_frequency = 0, ramp = 0, carrier = 0;  // Hz, Hz, Hz/s, Hz
    double index = 0, duty = 0;                                          // 1 = full
    double nominal_V = 0, nominal_Hz = 0, boost_V = 0;                   // V/f line, line-line rms
    double dead_time = 0, current_limit = 0, start_V = 0;                // s; A peak, 0 none; V, 0 none
    double tracker_period = 0, tracker_step = 0;                         // s; relative
    Tracker tracker{};
    double tracker_V = 0, tracker_share = 0;   // constant voltage; share of the voltage at the start
    double flow_switch = 0, flow_delay_s = 0;  // m3/s, 0: none fitted; s
    double low_load_W = 0;                     // at the ceiling, below: running dry; 0: not looked at
    bool phase_loss_detection = false;
    bool enabled = false;  // its run switch
    double link_F = 0;     // its capacitor, as it was built

    double overvoltage_V = 0;         // trip; 0 none
    double dropout_V = 0;             // the electronics live on the link and go dark below this; 0: fed from elsewhere
    double motor_A = 0;               // rated line current, rms; 0: not told, then no stall or overload trip by current
    double motor_heating_s = 0;       // time constant of the overload trip
    double heat_sink_limit_degC = 0;  // trip
    // Delays, s.
    double charge_s = 0, low_sun_retry_s = 0, low_sun_retry_longest_s = 0;
    double dry_delay_s = 0, dry_retry_s = 0, tank_delay_s = 0, tank_retry_s = 0;
    double stall_s = 0, phase_loss_s = 0, trip_retry_s = 0, trip_forget_s = 0;
    int trip_retries = 0;  // starts after counted trips in a row; the next trip locks out

    Sensing sensing{};
    double sensing_blind_s = 0;      // shunts: not read so long after a switching
    double earth_trip_A = 0;         // three sensors: sum of the lines, rms; 0: not looked at
    double insulation_trip_ohm = 0;  // its earth monitor's; 0: only shown
    // A magnet motor's rotor is found by the volts it makes (start.cpp); else it is always known.
    bool back_emf = false;
    double emf_per_Hz = 0;               // V peak of a phase for each electrical Hz, as told
    double align_s = 0, start_ramp = 0;  // s, Hz/s

    // What no key tells: what ails it.
    bool on = true;                             // the electronics' own supply
    int flow_stuck = 0;                         // of the flow switch: 1 says flow, -1 none, for ever
    double tracker_stuck = 0;                   // share of the voltage at the start it stays at; 0: it tracks
    double voltage_gain = 1, current_gain = 1;  // of its sensors: what it believes over what is there
    double current_offset = 0;                  // A, in phase u's sensor
    double commutation_offset = 0;              // rad electrical, of the angle it takes the rotor to have
    std::array<double, 3> dead_time_extra{};    // s, of single legs
    // its program latches up when this appears, until the link is below; 0: no
    double latches_V = 0;
    bool operator==(const DriveSettings&) const = default;
};

}  // namespace sunshaft::drive
