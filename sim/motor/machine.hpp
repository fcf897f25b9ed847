// What a motor has to offer, so that its header and its name in site::Motor are all the rest of the house needs.
//
//   M             plain data, per phase of the star, at its present temperature
//   M::Equations  the same ready to run: constants worked out once, because the solver comes by a million times a
//                 second
#pragma once

#include <concepts>

#include "motor/clarke.hpp"

namespace sunshaft::motor {

// Reference magnitudes of a motor's states, the scale of tolerances: shaft rad/s, line A, flux Wb.
struct Scale {
    double speed = 0.0, current = 0.0, flux = 0.0;
};

// Share of a magnet or reluctance motor's least inductance that is leakage of the winding (no source): for what flows
// in one winding alone, bridged_turns.hpp.
inline constexpr double leakage_share = 0.3;

template <class M>
concept Machine = requires(M changing, const M m, const typename M::Equations e, Vec2 i,
                           typename M::Equations::Flux psi, double x) {
    { M::kind } -> std::convertible_to<const char*>;      // value of the key motor.kind
    { M::self_commutated } -> std::convertible_to<bool>;  // the drive follows the rotor and sets the amplitude alone
    { M::has_cage } -> std::convertible_to<bool>;         // slips; bars can break
    { M::has_magnets } -> std::convertible_to<bool>;      // turned, it makes volts
    { m.pole_pairs } -> std::convertible_to<int>;
    { m.scale(x, x, x) } -> std::same_as<Scale>;     // peak V of the supply, Hz, ohm of a winding
    { m.spin_V(x) } -> std::convertible_to<double>;  // line to line peak V, turned at rad/s without current
    {changing.warm(x, x)};                           // copper's ohms times this; so many K warmer
    typename M::Equations;
    { M::Equations::has_rotor_flux } -> std::convertible_to<bool>;  // psi is a state, of one cage or two (Flux)
    { e.constant_inductance() } -> std::same_as<bool>;              // it does not follow the rotor's angle
    { e.inductance(x) } -> std::same_as<Sym2>;                      // behind the EMF, at the electrical rotor angle, H
    { e.at(i, psi, x, x).emf } -> std::convertible_to<Vec2>;        // i, psi, shaft rad/s, angle: a Moment
    { e.zero_emf(x, x) } -> std::convertible_to<double>;            // V common to the three phases
    { e.leakage() } -> std::convertible_to<double>;                 // of one stator winding, H
    { e.torque(i, psi, x, x) } -> std::convertible_to<double>;      // i, psi, shaft rad/s, angle
    { e.emf_slope() } -> std::convertible_to<double>;               // d emf / di, for the implicit steppers
    { e.losses(i, psi, i, psi, x, x) } -> std::same_as<Losses>;     // i and psi halfway, their change over the piece
    { e.stored(i, psi, x) } -> std::convertible_to<double>;         // J
    { e.field(psi, x) } -> std::same_as<Vec2>;                      // what turns: rotor or magnet flux, Wb
    { e.linkage(i, psi, x) } -> std::same_as<Vec2>;                 // of the stator windings, Wb; NaN: no two-axis form
};

}  // namespace sunshaft::motor
