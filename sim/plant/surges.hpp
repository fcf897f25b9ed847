// Fast edges on a long cable: what the drive's steep output makes of itself at the motor's terminals, and what current
// it drives into the cable at the top.
//
// Each core is a line of surge impedance Z = sqrt(L / C) and delay d = sqrt(L C) between the drive's leg (R_s behind an
// ideal step) and a winding, which an edge sees as a resistance of some kilo-ohm. An edge V launches V Z / (Z + R_s);
// what arrives is reflected by (R - Z) / (R + Z) at the motor, (R_s - Z) / (R_s + Z) at the drive, and so on: a bounce
// diagram (F. T. Ulaby, "Fundamentals of Applied Electromagnetics", problem 2.75 with its solution). An edge of
// finite time is a ramp of that length, so that everything is straight pieces. Full reflection from a length of half
// the way a wave runs during the edge on: that follows from the diagram (R. Kerkman, D. Leggate, G. Skibinski, IEEE
// Trans. Ind. Appl. 33 (1997), abstract: the critical distance for twice the step).
//
// A choke fitted at the drive feeds the line through L: its step rises with the time constant L / Z, taken as a ramp of
// 2.2 times that, from a tenth to nine tenths.
//
// Losses: a wave keeps the share `keep` on each way, taken at the ring's frequency 1 / (4 d): insulation with a loss
// factor of 0.05 (PVC at a megahertz; common practice, no source), and skin effect in the core.
//
// An add-on to a recorded wave, not part of the plant: where the lumped chain jumps, the jump is replaced by the wave
// that comes and goes until it has died away; currents of fractions of a microsecond feed nothing back.
// Left out: coupling between the cores (each is a line of its own), the winding's inside, the splice (shorter than the
// edge), a wave between a point at the motor and one at the drive.
#pragma once

#include <array>
#include <optional>
#include <string>

#include "site/site.hpp"
#include "trace/trace.hpp"

namespace sunshaft::plant {

struct SurgeLine {
    double surge_ohm = 80.0, delay_s = 0.0;     // Z; d, one way
    double source_ohm = 0.0, end_ohm = 2000.0;  // R_s; the motor's
    double keep = 1.0;                          // of a wave on each way; 1: without loss

    double at_end() const { return (end_ohm - surge_ohm) / (end_ohm + surge_ohm); }  // reflected shares
    double at_source() const { return (source_ohm - surge_ohm) / (source_ohm + surge_ohm); }
    double launched() const { return surge_ohm / (surge_ohm + source_ohm); }

    // After an edge of 1 V that begins at t = 0 and lasts edge_s (0: a step): voltage and current towards the motor
    // at a share of the length from the drive, V and A.
    double voltage(double edge_s, double share, double t) const;
    double current(double edge_s, double share, double t) const;
    // Where it all settles, and the highest it gets at the motor on the way; of 1 V.
    double settled() const;
    double peak(double edge_s) const;
    // From this length on an edge is reflected in full, m, of a line so many metres long.
    double critical_m(double edge_s, double length_m) const { return 0.5 * edge_s * length_m / delay_s; }
    double ring_Hz() const { return 0.25 / delay_s; }

  private:
    double sum(double edge_s, double share, double t, double backward) const;
};

// Of a site as it stands; none where the output does not switch or the cable has no length, inductance or capacitance.
std::optional<SurgeLine> surge_line(const site::Works& works);
// How long the edges are that go into it, s.
double edge_s(const site::Works& works, const SurgeLine& line);

// Whether a signal is one whose edges have come down the cable: points at its lower end or at the motor, against each
// other or against what does not switch.
bool at_motor(const std::string& signal);

// The wave with what its jumps become at the motor.
trace::Trace with_surges(const SurgeLine& line, double edge_s, trace::View wave);
// A line's current at the drive, with what the jumps of its leg's potential (over the same time) send into the cable.
trace::Trace with_surges(const SurgeLine& line, double edge_s, trace::View current, trace::View leg_V);

}  // namespace sunshaft::plant
