// Drive control: from what the drive measures to frequency and amplitude, once a window of the modulator.
//
// A state machine, the phases of which are:
//
//   off               the electronics are dark: link below the drop-out voltage, or their own supply has failed
//   charging          the link fills through the charging resistor; its bridging contact is still open
//   stopped           its run switch is off: alive, the output is not
//   waiting_for_sun   charged; link below the start voltage, or the wait after a low-sun stop is not over
//   soft_start        on the ramp from rest
//   running           on V/f, or on the tracker: the sun sets the speed
//   ceiling           at the speed ceiling: there is more sun than the pump may use
//   dry_hold          the dry-run guard's circuit is open (well dry, or the circuit broken): held until the retry timer
//                     has run out AND the circuit is closed
//   tank_hold         the float's circuit is open: held until it is closed and a short wait is over
//   tripped           stopped by a protection; tries again by itself
//   locked            tripped once too often in a row: only a restart helps
//   latched           its program stands still (a fault): only the supply lamp is lit; the link has to fall below
//                     latches_V
//
//   off -> charging            link at 1.25 times the drop-out voltage
//   charging -> waiting        the link has stopped rising for charge_s
//   any powered but locked, latched <-> stopped      the run switch
//   waiting -> soft_start      link at the start voltage, no guard open, waits over
//   soft_start -> running      the regulator, not the ramp, sets the speed; -> ceiling at the ceiling; running <->
//                              ceiling
//   any of these three -> waiting      link below 0.55 of what it was at the start, or in place of a stall trip link
//                                      below 0.9 of it and less than the rated current: too little sun to start
//                                      (low_sun_retry_s; twice as long after each start in a row that did not last
//                                      low_sun_retry_longest_s, and never longer than that: common practice, no source)
//   turning -> dry_hold        the power taken over some turns below low_load_W times the cube of the speed over the
//                              ceiling for dry_delay_s, at half the ceiling or more: the pump runs dry, or its coupling
//                              is broken; or a flow switch that has not seen its flow for flow_delay_s
//   -> dry_hold, tank_hold     guard open for dry_delay_s, tank_delay_s while turning; at once while not turning
//   dry_hold, tank_hold -> waiting     dry_retry_s, tank_retry_s after the stop, once the circuit is closed
//   turning -> tripped         over-current: a line current above current_limit in a sample, or its rms since the last
//                              one stall: a self-commutated motor turning at less than 2 % of the ceiling, or 2.5 times
//                              the rated current in every line, for stall_s
//                              phase loss: a line with less than a tenth of the highest line's current for phase_loss_s
//                              motor overload: thermal image of the rated current (below) full
//                              heat sink: above its limit
//                              earth fault: the three lines sum up to more than earth_trip_A over some turns
//   any powered -> tripped     over-voltage: link above overvoltage_V
//                              low insulation: the earth monitor finds less than insulation_trip_ohm for 2 s
//   tripped -> waiting         after trip_retry_s; over-voltage: link below 95 % of the limit; heat sink: 15 K cooler;
//                              overload: image half empty; low insulation: the monitor finds enough again
//   tripped -> locked          more than trip_retries counted trips in a row. Over-voltage, heat sink and low
//                              insulation are not counted; trip_forget_s of turning without a trip start the count anew
//   any -> off                 electronics dark. All above is forgotten then: that is what a restart does (isolator
//                              off, wait for the link, on). A latch that needs less than that on the link stays.
//
// Currents: over-current looks at the instant of the sample; all else, and what came and went between samples, goes by
// the rms over some turns, made of the exact mean squares between samples (samples alone fall on switching edges, where
// six-step current peaks).
//
// Fixed control is a test stand: it starts at once; over-current and over-voltage trip, the guards hold; no stall trip.
//
// Thermal image: d(heat)/dt = ((I / I_rated)^2 - heat) / motor_heating_s, I the highest line current; trips at 1.2.
// With 200 s it trips cold at 7.2 times the rated current after 4.7 s: class 10 of IEC 60947-4-1 (4 to 10 s).
//
// Start of a self-commutated motor: the back-EMF that tells the rotor's place is not there at rest, so the field is
// stepped on at minimum_frequency until the rotor is seen to move at half of that; from then on it leads. Until it
// keeps turning the amplitude rises no further at 0.7 of current_limit.
//
// That is a rotor known at once. With back_emf its place is told by the volts it makes alone: the field stands still
// (align), is stepped on blindly with a ramp to a tenth of the ceiling, at an amplitude the current sets, and hands
// over once the volts seen have been about what the speed should bring for a whole turn. If they are not within
// hand_over_s, or are lost for lost_s later on, the output rests for coast_s and all begins again: a missed start
// (start.cpp).
//
// Tracker (mppt): perturb and observe on a target for the link voltage, which a regulator holds by the setting. A step
// waits until the link has come to rest at the last one and the power has been averaged over half a period since, so
// that what is compared is the array's curve and not a transient: N. Femia, G. Petrone, G. Spagnuolo, M. Vitelli,
// "Optimization of perturb and observe maximum power point tracking method", IEEE Trans. Power Electron. 20(4), 2005
// (sampling interval above the settling time). Which way is uphill is read from measured power and measured voltage,
// never from the step that was asked for. A link that does not come to rest (below the best voltage a load that takes
// constant power pulls it to and fro) has passed over a stretch of the array's curve: uphill is where it saw most power
// on the way. Of the simpler trackers one holds a voltage it was told, the other a share of what stood on the link
// before the start, the open-circuit voltage (M. A. S. Masoum, H. Dehbonei, E. F. Fuchs, "Theoretical and experimental
// analyses of photovoltaic systems with voltage- and current-based maximum power-point tracking", IEEE Trans. Energy
// Convers. 17(4), 2002); it does not stop now and then to look again.
#pragma once

#include <array>
#include <cstdint>
#include <limits>
#include <string>
#include <vector>

#include "drive/modulator.hpp"
#include "drive/settings.hpp"

namespace sunshaft::drive {

enum class Phase : std::uint8_t {
    off,
    charging,
    stopped,
    waiting_for_sun,
    soft_start,
    running,
    ceiling,
    dry_hold,
    tank_hold,
    tripped,
    locked,
    latched
};
// Why a phase was entered.
enum class Cause : std::uint8_t {
    none,
    dark,
    powered,
    charged,
    sun,
    ramp_done,
    at_ceiling,
    below_ceiling,
    low_sun,
    dry,
    wet_again,
    tank_full,
    tank_has_room,
    switched_off,
    switched_on,
    over_current,
    stall,
    phase_loss,
    over_voltage,
    motor_overload,
    heat_sink,
    retry,
    too_many_trips,
    latched,
    freed,
    low_load,
    no_flow,
    earth_fault,
    low_insulation,
    start_missed,
    rotor_found
};

// One line of the event log: at t the control entered a phase. value: what it had measured, in the unit of the cause
// (V, A, degC, Hz ...), see words().
struct LogEntry {
    double t = 0.0;
    Phase phase = Phase::off;
    Cause cause = Cause::none;
    double value = 0.0;
};

struct Measured {
    double link_V = 0.0;
    std::array<double, 3> line_A{};   // at this instant
    std::array<double, 3> line_A2{};  // mean square since the last sample
    double source_W = 0.0;            // into the drive, mean since the last sample
    double electrical_Hz = 0.0;       // of the rotor
    double heat_sink_degC = 20.0;
    double flow = 0.0;             // m3/s, past the flow switch
    double sum_A2 = 0.0;           // of the three lines together, since the last sample; three sensors only
    double insulation_ohm = 1e12;  // as its earth monitor finds it
    // The rotor's volts as they can be made out, V peak of a phase; NaN: nothing to be seen now.
    double emf_V = std::numeric_limits<double>::quiet_NaN();
    bool dry_open = false, float_open = false;  // guard circuits
};

// Start of a magnet motor whose rotor is found by its back-EMF (start.cpp).
struct Search {
    enum class Stage : std::uint8_t { align, ramp, found, coast } stage = Stage::align;
    double since = 0.0;  // s, in this stage
    double Hz = 0.0;     // of the field, blindly
    double good_s = 0.0, bad_s = 0.0;
    int missed = 0;  // starts in a row
};

struct ControlState {
    Phase phase = Phase::waiting_for_sun;
    double time = 0.0;                      // of the last update, s
    double link_V = 0.0;                    // as its sensor last had it
    double start_V = 0.0;                   // link voltage when it began to run
    double setting = 0.0;                   // 0 .. 1: share of the frequency ceiling, or of full amplitude
    double ceiling = 1.0;                   // of the amplitude of a self-commutated motor
    double error = 0.0;                     // of the link regulator, relative, at the last sample
    double smooth_V = 0.0, smooth_W = 0.0;  // link voltage and power behind a short low-pass
    // Tracker: its target; the way it goes; means of the last interval (W, V); integrals of this one (J, V s) and its
    // length; when it stepped.
    double target_V = 0.0;
    double direction = -1.0, last_W = 0.0, last_V = 0.0;
    double energy = 0.0, volt_s = 0.0, averaging = 0.0, tracker_time = 0.0;
    // Since its last step: power behind a short low-pass, the most of it, the voltage there, and how far that went.
    struct Swing {
        double smooth_W = 0.0, most_W = 0.0, best_V = 0.0, low_V = 0.0, high_V = 0.0;
    } swing{};
    double retry_at = 0.0;
    double since = 0.0;  // s, in this phase; soft_start, running and ceiling count as one
    // Supervision.
    double dark_at = -1.0;  // last time the electronics were dark, s; -1: not since the run began
    double charge_V = 0.0, charge_since = 0.0;
    double dry_s = 0.0, float_s = 0.0, stall_s = 0.0, lost_s = 0.0, low_s = 0.0, no_flow_s = 0.0,
           earth_s = 0.0;            // how long it has been so
    double load_J = 0.0;             // since averaging began
    std::array<double, 3> square{};  // A2 s, since averaging began
    double square_s = 0.0;
    std::array<double, 3> line_A{};  // rms as last worked out
    double heat = 0.0;               // thermal image; 1: rated current for ever
    double turns_Hz = 0.0;           // electrical, of the rotor, over half a second: rocking to and fro is no turning
    Cause trip = Cause::none;        // what tripped last
    int trips = 0;                   // counted, in a row
    int short_starts = 0;            // in a row, given up for want of sun before they had lasted
    Search search{};
    double sum_A2 = 0.0;  // A2 s, since averaging began
    // its program stands still until the link is below; what of settings it has seen
    double latched_V = 0.0, latches_known_V = 0.0;
    // Event log: the last ones, oldest overwritten; entry n (from 0) is in log[n % size].
    std::array<LogEntry, 32> log{};
    long logged = 0;
};

inline bool turning(Phase p) { return p == Phase::soft_start || p == Phase::running || p == Phase::ceiling; }
// The contact across the charging resistor is closed.
inline bool bridged(Phase p) { return p != Phase::off && p != Phase::charging; }
// Wait for more sun after so many starts in a row that did not last.
double low_sun_wait(const DriveSettings& settings, int short_starts);
// On its way to something else within the next seconds, all else staying as it is: a reading taken now would not be the
// settled one. Holds, trips and the wait for sun count as settled.
bool passing(const DriveSettings& settings, const ControlState& state, double link_V);

struct Lamp {
    const char* name;
    bool on;
};
// What the drive's front shows, in this order: supply, running, waiting for sun, dry-run hold, tank hold, tripped,
// locked out.
std::vector<Lamp> lamps(const ControlState& state);

// What the drive's own display tells: as its sensors believe it, which may have drifted.
struct Display {
    bool dark = true;                    // the electronics are off
    double link_V = 0.0, amperes = 0.0;  // of the lines, mean of their rms values
    Cause last_stop = Cause::none;       // what stopped it last; none: nothing yet
};
Display display(const ControlState& state);
std::string stop_words(Cause last_stop);  // "over-current"

// Entries still in the ring from number `from` on, oldest first.
std::vector<LogEntry> log_since(const ControlState& state, long from = 0);
std::string phase_words(Phase phase);
// What was entered and why: "dry-run hold: dry-run guard open".
std::string words(const LogEntry& entry);

// Link voltages that the control keeps by, as shares of that when it began to run: below, the array has given in; a v-f
// drive lets its ramp go; between them the tracker's target stays, and where it begins.
inline constexpr double collapse = 0.55, weak_link = 0.7, lowest_target = 0.62, highest_target = 0.95,
                        first_target = 0.8;
// Of current_limit: above it the amplitude of a self-commutated motor rises no further until it keeps turning.
inline constexpr double start_A = 0.7;
// The V/f line: line-line fundamental, V rms, asked for at a frequency.
double asked_volts(const DriveSettings& settings, double frequency);
// Amplitude that makes a line-line fundamental of v rms of a link voltage, as far as it reaches.
double amplitude_for(Modulation modulation, double v, double link_V);
// Largest amplitude without loss of pulses: 1, or 2/sqrt 3 where a zero-sequence offset is added.
double linear_limit(Modulation modulation);

// Advances the control to time t. self_commutated: the motor's angle leads (permanent magnet), only the amplitude is
// set.
//   fixed   frequency, index and duty as set, at once
//   v-f     ramp to the frequency ceiling; amplitude from the V/f line and the link voltage
//   mppt    a regulator holds the link at the tracker's target by moving the setting
Command update(const DriveSettings& settings, bool self_commutated, ControlState& state, double t,
               const Measured& measured);

// What of these a drive that finds its rotor by back-EMF does; amplitude as update() wants it (start.cpp).
inline constexpr double emf_seen = 0.35, hand_over_s = 1.5, lost_s = 0.4, coast_s = 0.7;
Command search(const DriveSettings& settings, ControlState& state, double dt, const Measured& measured,
               double amplitude);
// What its own sensors make of what is there (settings' voltage_gain, current_gain, current_offset).
Measured sensed(const DriveSettings& settings, Measured true_ones);
// The part of update() that decides on the phase (supervision.cpp); `m` as the drive's own sensors give it. Returns
// whether the output is on.
bool supervise(const DriveSettings& settings, bool self_commutated, ControlState& state, double dt, const Measured& m);
void enter(ControlState& state, Phase phase, Cause cause, double value);

}  // namespace sunshaft::drive
