// Standard waves as traces: to try meters and analysis on, and to check them against closed forms.
//
// Frequencies in Hz, widths in degrees of the period, whole periods from t = 0. Curved waves are chords between
// points on the curve, `pieces` a period: rms and mean |y| of a sine come out low by about 3.3 / pieces^2
// (relative).
#pragma once

#include "trace/trace.hpp"

namespace sunshaft::trace {

inline constexpr int fine = 4000;

Trace constant(double value, double seconds);
Trace sine(double peak, double f, int periods = 1, double phase_rad = 0.0, double offset = 0.0, int pieces = fine);
Trace square(double peak, double f, int periods = 1);
// 0, then +peak for width_deg, 0, then -peak: the line voltage of a six-step bridge is the one of 120 deg.
// 0 < width_deg <= 180.
Trace quasi_square(double peak, double width_deg, double f, int periods = 1);
Trace triangle(double peak, double f, int periods = 1);
// `height` for the fraction `duty` of each period, then 0. 0 < duty < 1.
Trace pulse_train(double height, double duty, double f, int periods = 1);
Trace rectified_sine(double peak, bool full_wave, double f, int periods = 1, int pieces = fine);
// Each half-wave of a sine let through only from `from_deg` on (phase control).
Trace cut_sine(double peak, double from_deg, double f, int periods = 1, int pieces = fine);
// peak sin(wt) + third sin(3wt)
Trace sine_and_third(double peak, double third, double f, int periods = 1, int pieces = fine);

// What an inverter bridge makes of a stiff link, with ideal switches. Phases 0, 1, 2 = u, v, w.
// N. Mohan, T. Undeland, W. Robbins, "Power Electronics", 3rd ed., 2003, ch. 8.
struct Bridge {
    double link_V = 1.0;
    double f = 50.0;
    // Potential of a terminal against the negative link rail.
    virtual Trace leg(int phase, int periods = 1) const = 0;
    virtual ~Bridge() = default;
    Trace line_to_line(int from, int to, int periods = 1) const;
    // Against the star point of a balanced load, zero sequence taken off.
    Trace line_to_star(int phase, int periods = 1) const;
};

// Six-step, 180 deg conduction.
struct SixStep : Bridge {
    SixStep(double link, double frequency);
    Trace leg(int phase, int periods = 1) const override;
};

// Natural sampling against a symmetrical triangle; index 1: the sine's peak equals the carrier's.
struct CarrierPwm : Bridge {
    enum class Offset {
        none,
        third_harmonic,
        space_vector
    };  // third: 1/6 of the fundamental; space vector: (max + min)/2
    double index = 0.8;
    double carrier_Hz = 8000.0;
    Offset offset = Offset::none;
    CarrierPwm(double link, double frequency, double modulation_index, double carrier, Offset o = Offset::none);
    Trace leg(int phase, int periods = 1) const override;
    double reference(int phase, double t) const;  // -1 .. 1 within the linear range
};

}  // namespace sunshaft::trace
