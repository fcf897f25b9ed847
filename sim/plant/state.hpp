// State of the plant: everything that changes while it runs, as one plain struct. A run is a function of
// (site, state, time) and nothing else; the state survives when an act or a fault puts a new site in place.
#pragma once

#include <array>
#include <cstdint>

#include "drive/bridge.hpp"
#include "drive/control.hpp"
#include "drive/modulator.hpp"
#include "motor/clarke.hpp"

namespace sunshaft::plant {

// The ODE's state vector, SI. Produced by the stepper, read by everybody.
enum : std::size_t {
    i_alpha,    // A   motor current, amplitude-invariant two-axis
    i_beta,     // A
    v_cap,      // V   link capacitor, behind its ESR
    psi_alpha,  // Wb  rotor flux (induction)
    psi_beta,   // Wb
    speed,      // rad/s of the shaft
    theta,      // rad electrical rotor angle, kept in 0 .. 2 pi at the windows
    flow,       // m3/s in the rising main
    // 0 and not stepped but where there are such:
    i_turns,      // A   J of motor/bridged_turns.hpp
    outer_alpha,  // Wb  flux of the outer one of two cages (motor/double_cage.hpp)
    outer_beta,   // Wb
    state_size
};
inline constexpr std::size_t healthy_states = i_turns;
using X = std::array<double, state_size>;
inline constexpr std::array<const char*, state_size> state_name = {"motor current alpha",
                                                                   "motor current beta",
                                                                   "link voltage",
                                                                   "rotor flux alpha",
                                                                   "rotor flux beta",
                                                                   "shaft speed",
                                                                   "rotor angle",
                                                                   "flow",
                                                                   "current of the bridged turns",
                                                                   "outer cage flux alpha",
                                                                   "outer cage flux beta"};

// Where the energy went since the run began, J. Filled by the driver as a quadrature over its linear pieces.
enum : std::size_t {
    from_supply,  // cells or bench source
    in_dc_run,    // modules' joints, run, contacts, leakages
    in_link,      // ESR, bleed, electronics
    in_bridge,    // on-resistance and diodes
    in_cable,     // drop cable and splice, leakages
    in_splice,    // part of in_cable: the three splices
    in_winding,   // stator copper
    in_cage,      // rotor copper
    in_iron,      // iron of the motor
    in_bearing,   // friction and brake
    in_pump,      // shaft to water: what rubs in it, slips back and swirls
    in_pipe,      // friction in the rising main
    lifted,       // against the static head
    energy_size,
    // Behind the energies, A2 s: integrals of i_alpha^2, i_alpha i_beta, i_beta^2, of which each winding's i^2 is made
    // (line_square()); and what a drive line's i^2 is more than its winding's, where leaks or shorts lie between.
    square_aa = energy_size,
    square_ab,
    square_bb,
    square_beside_u,
    square_beside_v,
    square_beside_w,
    in_turns,  // J: part of in_winding: bridged turns and what bridges them
    account_size
};
using Energies = std::array<double, account_size>;
// Integral of i^2 of winding k, A2 s.
inline double line_square(const Energies& e, std::size_t k) {
    const motor::Vec2& axis = motor::axis[k];
    return axis[0] * axis[0] * e[square_aa] + 2 * axis[0] * axis[1] * e[square_ab] + axis[1] * axis[1] * e[square_bb];
}
// What was booked between two looks at the account.
inline Energies since(const Energies& now, const Energies& then) {
    Energies booked;
    for (std::size_t n = 0; n < account_size; ++n) booked[n] = now[n] - then[n];
    return booked;
}
inline constexpr std::array<const char*, energy_size> energy_name = {"from the supply",
                                                                     "DC run",
                                                                     "link and electronics",
                                                                     "bridge",
                                                                     "cable and splice",
                                                                     "splice alone",
                                                                     "motor winding",
                                                                     "motor cage",
                                                                     "motor iron",
                                                                     "bearings and brake",
                                                                     "pump",
                                                                     "rising main",
                                                                     "lifted as water"};

// How a stretch between two stops begins: after a switching, after an event, or just going on.
enum class Start : std::uint8_t { switched, event, resumed };

// What moves slowly and is looked at every hundredth of a second, at a control window (slow.hpp).
struct Slow {
    double at = 0.0;                        // s, of the last look
    bool held = false;                      // levels, warmth and damage stand still, but not the water in a holed main
    double flow = 0.0;                      // m3/s through the pump then
    Energies account{};                     // then
    double tank_fill = 0.0;                 // 0 .. 1
    double missing = 0.0;                   // m3 of water that the rising main lacks
    double out = 0.0, leak = 0.0;           // m3/s into the tank, out of a hole in the main
    double delivered = 0.0, spilled = 0.0;  // m3 into the tank, over its edge
    double heat_sink_degC = 25.0, winding_degC = 20.0, pump_degC = 15.0;
    std::array<double, 3> splice_degC{15.0, 15.0, 15.0};  // of the joints above the motor, u v w
    std::array<bool, 3> splice_open{};                    // one that opens when warm has opened
    double turns_K = 0.0;                                 // bridged turns above the winding
    double turns_burn = 0.0;                              // 1: the insulation to the casing has gone; lasting
    bool turns_parted = false;                            // their copper has melted; lasting
    double damage = 0.0;                                  // wear of the pump from running dry, 0 .. 0.9; lasting
    double covered = 1.0;                                 // share of the intake under water
    double lift = 1.0;                                    // share of a centrifugal pump's head cavitation leaves
    bool probe_wet = true, float_up = false;
    double dry_V = 0.0, float_V = 0.0;  // at the drive's guard terminals
};

// What the drive has seen of its line currents since its last sample (senses.hpp).
struct Seen {
    std::array<double, 3> ampere{}, at{-1.0, -1.0, -1.0};  // last value of each line, and when, s
    std::array<double, 3> square{}, seconds{}, idle{};     // A2 s and s in sight, s known to carry nothing
    std::array<double, 3> mean_square{};                   // over the last turns, A2
    double sum_square = 0.0, span = 0.0;                   // of the three together, A2 s; s
    drive::Gates gates{};
    double switched = 0.0;  // s, when they last changed
    // A floating terminal's volts against the others' middle at the last looks early and late in its sixth of a turn:
    // V, and at which angle of the output against that leg's axis, rad.
    std::array<double, 2> float_V{}, float_angle{};
};

struct State {
    double t = 0.0;  // s
    X x{};
    drive::Gates gates{};                                                             // asked for now
    drive::Legs legs{drive::Leg::blocked, drive::Leg::blocked, drive::Leg::blocked};  // done now
    // The shaft's friction is memory like a leg's mode: 1, -1: it turns that way; 0: it stands, and holds until more
    // pulls at it than its break-away torque.
    std::int8_t turning = 0;
    drive::ModulatorState modulator{};
    drive::ControlState control{};
    drive::Command command{};
    drive::Window window{};
    int next_edge = 0;
    double window_start = 0.0;
    double water_level = 0.0;  // m below ground, slow
    Slow slow{};
    Energies energy{};
    // When the control last sampled, and the account then: what it gets are exact means of what lies between.
    double sampled_at = 0.0;
    Energies sampled{};
    Seen seen{};
    double energy_start = 0.0;  // s: when the account was opened
    double stored_at_start = 0.0;
    // s: what the solver tries first on a stretch, the long ones by how they begin (Start); here, so that a run can be
    // taken up again.
    double short_step = 1e-5;
    std::array<double, 3> long_step{1e-5, 1e-5, 1e-5};
    long steps = 0, pieces = 0, events = 0;
};

}  // namespace sunshaft::plant
