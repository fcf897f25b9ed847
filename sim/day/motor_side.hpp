// The motor side over a day: what bridge, cables and motor do on the mean of a turn, at a link voltage and a speed.
//
// Two ways to the same figures, both through plant::Chain, the live run's own equations and parameters:
//
//   averaged   where every leg is always tied to a rail (180 degree six-step, PWM, sine) and the machine's equations
//              are linear at a given speed: state-space averages over the carrier (R. D. Middlebrook, S. Cuk, "A
//              general unified approach to modelling switching-converter power stages", IEEE PESC 1976) leave a linear
//              system with a periodic drive, whose steady turn follows from one matrix exponential: harmonics of
//              six-step of every order, unequal phases, leaks, open lines, bridged turns and all. Saturation: the
//              secant at the turn's own flux. Some microseconds.
//   switched   where legs float or the rotor's angle matters (120 degree commutation, open devices, broken bars,
//              magnets): the live solver itself, on a stiff link with the shaft held; of six steps on lines alike a
//              third of a turn. Some hundred microseconds.
//
// Figures are kept at nodes as they are first asked for. For a motor that slips: frequency, share of the V/f line's
// volts, slip; for one that leads its drive: frequency and volts above its own EMF. Between nodes what goes with the
// square of volts per hertz is straight when divided by it.
#pragma once

#include <array>
#include <memory>

#include "plant/state.hpp"
#include "site/site.hpp"

namespace sunshaft::day {

// Means over a turn of the field. SI.
enum : std::size_t {
    torque_Nm,  // electromagnetic
    bridge_in,  // W from the link
    square_u,   // A2 in the drive's lines
    square_v,
    square_w,
    winding_aa,  // A2: products of the winding currents, two-axis
    winding_ab,
    winding_bb,
    lost_bridge,  // W
    lost_cable,
    lost_winding,
    lost_cage,
    lost_iron,
    lost_turns,   // part of lost_winding
    peak_square,  // A2: the highest instant of any line
    turn_size
};
using Turn = std::array<double, turn_size>;

// Steady water at a speed of the shaft.
struct Flowing {
    double flow = 0.0, torque = 0.0;  // m3/s in the main; N m the shaft has to bring
};

class MotorSide {
  public:
    // works: with faults, at the windings' present warmth. open_V: of the array, in the sun of the scenario.
    static std::unique_ptr<MotorSide> make(const Scenario& scenario, const site::Works& works, double open_V);
    virtual ~MotorSide() = default;

    // field_Hz: electrical, above 0. volts: link voltage times amplitude. slip_Hz: of a motor that slips, field less
    // rotor; not asked of one that leads.
    virtual double torque(double field_Hz, double volts, double slip_Hz) = 0;
    virtual double power(double field_Hz, double volts, double slip_Hz) = 0;  // W from the link
    virtual Turn turn(double field_Hz, double volts, double slip_Hz) = 0;
    // The same worked out there, not between nodes.
    virtual Turn exact(double field_Hz, double volts, double slip_Hz) = 0;
    virtual bool leads() const = 0;          // the rotor leads, the drive sets the amplitude
    virtual bool averaged() const = 0;       // else switched
    virtual double pull_out_Hz() const = 0;  // about the slip of most torque
    // Of the shaft, seen in the way the field turns: 1, or -1 where two wires are exchanged.
    virtual double sense() const = 0;
    virtual int pole_pairs() const = 0;
    // Volts of the link times amplitude at which a motor that leads just carries nothing, about.
    virtual double idle_V(double field_Hz) const = 0;
    // Of a motor that leads: between which volts, these among them, its torque is straight.
    virtual std::array<double, 2> straight(double field_Hz, double volts) const = 0;
    // The nearest frequency at which figures are worked out, not between two.
    virtual double kept_Hz(double field_Hz) const = 0;
    virtual double hold_Nm() const = 0;  // what holds the shaft at rest
    // With well, main, guards and wear as in the state (its speed and flow are not asked).
    virtual void follow(const plant::State& s) = 0;
    virtual Flowing flowing(double speed) = 0;
    // Adds what shaft and water turn over in dt at a steady speed and flow, J.
    virtual void account(double speed, double flow, double dt, plant::Energies& e) = 0;
};

}  // namespace sunshaft::day
