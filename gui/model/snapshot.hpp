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
#include "bench/sound.hpp"
#include "meter/watch.hpp"
#include "model/turn.hpp"
#include "trace/harmonics.hpp"
#include "trace/signature.hpp"

namespace sunshaft::view {

enum class Running { hold, run };

inline constexpr int sound_rate_Hz = 22050;

// One channel of the scope: a jump-true trace of the last seconds, with the healthy site's for the ghost.
struct Wave {
    std::string name;   // signal name of plant/probe.hpp: "drive.u:drive.v", "around.u", "speed_rpm"
    std::string label;  // "u-v", "u", "speed"
    std::string unit;
    std::shared_ptr<const trace::Trace> trace;  // never null; long time bases are thinned, extremes kept
    // Of the healthy site, over its own time (align the two by trigger), at most the last 2 s of it. Null: none yet.
    // A site without faults is its own healthy twin: the same pointer as `trace`.
    std::shared_ptr<const trace::Trace> healthy;
    bool loose = false;                                // hangs on nothing in part of the trace: shown as 0
    std::optional<double> rms = {}, healthy_rms = {};  // over whole turns (at rest 0.2 s); nothing: not that much yet
};

// Since it was asked to keep them: of what was shown, and of the wave that comes to the detector.
struct Memory {
    double low, high;
    std::optional<double> peak_low, peak_high;
};

struct MeterFace {
    std::string spec;                          // stem of the meter's file: "true-rms"
    std::string name, counts_text;             // "True-rms", "6000 counts, 10 Mohm"
    std::shared_ptr<const meter::Spec> meter;  // its chain as it is now, changes made; null: no such meter
    bool changed = false;                      // something on it is not as its file has it
    meter::Mode mode = meter::Mode::acv;
    std::vector<meter::Mode> modes;  // what its keys are
    // null: leads not placed, or the first update still to come; the same until renewed
    std::shared_ptr<const meter::Reading> reading;
    // What it would show on the healthy site now; null: not asked for. A site without faults is its own healthy twin.
    std::shared_ptr<const meter::Reading> expected;
    std::optional<Memory> memory;  // nothing: not asked for, or no figure yet
    double full_scale = 0.0;       // of the bar; 0: no range known yet
    std::string note;              // why there is no reading: "this meter has no such mode"; empty: nothing to say
    double next_update_t = 0.0;    // simulated s; in slow motion the display keeps to the wall clock
};

struct Harmonic {
    int order;
    double rms;
};
struct Spectrum {
    std::string name, label, unit;
    double fundamental_Hz = 0, rms = 0, thd = 0;  // thd: orders 2 .. 40
    double carrier_Hz = 0;                        // of the drive's PWM; 0: none
    std::vector<Harmonic> lines = {};
    trace::Groups groups = {};  // IEC 61000-4-7, over as many periods as are recorded
};

// What single lines of a running motor's current, its torque and the link give away.
struct Signature {
    // of an induction motor; NaN: none. Length of current for the sidebands
    double slip = 0, needed_s = 0;
    std::optional<trace::Sidebands> sidebands = {};  // in the current of line u; nothing: not that long yet
    // link, torque: amplitude over mean at 1, 2 and 6 times the fundamental
    std::array<std::array<double, 3>, 2> ripple = {};
};

// One conductor of the splice sheet; ohms inf: open; kelvin: its joint above the water.
struct SheetRow {
    double amps = 0, ohms = 0, watts = 0, kelvin = 0;
};

struct Curve {
    std::vector<double> x, y;
};

// What happened and who saw it: a fault planted or healed only whoever did it, the rest anybody on site.
struct Event {
    enum class Kind { fault, hands, drive, trouble };  // trouble: the computation gave up
    double t = 0.0;
    std::string text = {};
    Kind kind = Kind::hands;
};

struct Lamp {
    std::string name;
    bool on;
};

struct Snapshot {
    std::uint64_t number = 0;  // rises with each
    std::shared_ptr<const site::Site> site;
    std::shared_ptr<const site::Site> plain_site = {};  // the same without the planted faults
    bool hidden = false;  // faults are hidden: only what a person on site could know is here (seen.hpp)
    bool sealed = false;  // a call-out: no figure but by a reading taken, nothing from below the ground
    std::vector<std::pair<std::string, std::string>> told = {};  // by gauge: what eyes, ears and gauges told when asked
    bench::Edits edits;
    double acts_t = 0.0;  // s: when the acts last changed, by undo as well
    bench::Probes probes;
    Running running = Running::run;
    double t = 0.0;                       // simulated s
    double now_t = 0.0, past_from = 0.0;  // s: the present, and how far back it can be walked; t < now_t: it is
    double wanted_rate = 1.0, achieved_rate = 1.0;  // simulated s per s of wall clock
    bool keeps_up = true;                           // false: the machine falls behind the wanted rate
    bool faulty = false;  // something stands planted; otherwise the healthy figures are the live ones
    std::string failure;  // the solver's words when it stopped; empty: none

    plant::Instant now;
    plant::Means means;    // over the last turn(s) of the field
    plant::Means healthy;  // the same of the healthy site, seconds == 0: not yet
    // The healthy twin, with an instant, sheets and curves of its own, as it was last looked at; null: nothing is
    // planted, or it is not known yet. No instruments hang on it.
    std::shared_ptr<const Snapshot> twin = {};
    std::vector<double> string_amps;
    std::array<MeterFace, 2> meters;
    std::shared_ptr<const meter::Reading> clamp, clamp_expected;  // the latter as MeterFace::expected
    std::string clamp_name;                                       // of the clamp meter
    std::shared_ptr<const meter::Spec> clamp_meter;
    bool clamp_changed = false;
    meter::Mode clamp_mode = meter::Mode::aca;
    bool inrush_armed = false;
    std::shared_ptr<const meter::Surge> inrush;  // caught; null: not yet
    std::vector<Wave> waves;
    std::vector<Spectrum> spectra;  // of the scope's channels, orders 1 .. 40; renewed about three times a second
    std::vector<Spectrum> healthy_spectra;                            // of the healthy site, those there are
    std::optional<Signature> signature = {};                          // nothing: nothing turns
    motor::Vec3 volt_sequence{}, amp_sequence{};                      // zero, positive, negative; fundamental rms
    std::array<std::complex<double>, 3> volt_phasor{}, amp_phasor{};  // u, v, w to the star point; fundamental rms
    // of the healthy site; all 0: none
    std::array<std::complex<double>, 3> healthy_volt_phasor{}, healthy_amp_phasor{};
    double fundamental_Hz = 0, healthy_fundamental_Hz = 0;  // of the phasors; 0: nothing turns
    // Tips of the space vectors over the last turn, amplitudes, in V and A; empty: nothing turns.
    std::vector<motor::Vec2> volt_path, amp_path;
    std::vector<motor::Vec2> healthy_volt_path, healthy_amp_path;

    // The flux linked by the stator over the last turn of the field, latest first, Wb; empty: none.
    std::vector<motor::Vec2> flux_path, healthy_flux_path;
    std::shared_ptr<const Turn> turn = {};  // null: not to be known, or there is no bridge
    // Potentials of the test points against link-, V, at this instant; a point that floats is not among them.
    std::vector<std::pair<std::string, double>> point_V;

    std::array<SheetRow, 3> splice{};
    plant::Energies power{};  // W, mean over the window of `means`
    plant::Energies healthy_power{};
    Curve array_current, array_power;  // against link voltage, now
    double array_V = 0, array_A = 0, best_V = 0, best_W = 0;
    Curve pump_curve, main_curve;  // head against m3/h
    // The same of the healthy site; empty: nothing is planted, or it is not known yet.
    Curve healthy_array_current, healthy_array_power, healthy_pump_curve, healthy_main_curve;
    double flow_m3_h = 0, head_m = 0, water_level_m = 0, static_head_m = 0, tank_fill = 0;  // flow: mean
    double winding_degC = 0, pump_degC = 0, heat_sink_degC = 0;
    double pump_damage = 0;  // lasting wear from running dry, 0 .. 0.9
    std::vector<Lamp> lamps;
    drive::Display drive_display;  // what it tells on its front, as its sensors believe
    // What an ear hears where somebody listens, and two seconds of it to be played over and over; null: nobody does.
    // The same until it sounds another way.
    std::shared_ptr<const bench::Heard> heard = {};
    std::shared_ptr<const std::vector<float>> sound = {};
    // Connectors of the array, "s1.m3-", and thirds of its modules, "s1.m2.3", where somebody looks at their heat;
    // null: nobody does.
    std::shared_ptr<const std::vector<bench::Bench::Warm>> array_warmth = {};
    std::vector<Event> events;          // newest last
    std::vector<std::string> cautions;  // before the first touch
    int unsafe_acts = 0;                // carried out although they were refused
};

}  // namespace sunshaft::view
