// Turns of one stator winding bridged by a failed insulation: a loop coupled to the machine, whatever the machine.
//
// A share m of the turns of phase k, of resistance r2, the rest r1, bridged by R_f, which carries i_f out of the
// winding at the tap, so that the bridged turns carry i_k - i_f. With J = m i_f the machine sees the currents
// i' = i - J in phase k alone, and the bridge is a branch from the terminal to the star point:
//
//   v_k - v_n = r1 i_k + r2 (i_k - i_f) + [the machine's own, of i'] + (L_ls/3) d(i'_u + i'_v + i'_w)/dt
//   v_k - v_n = R_b J + L_b dJ/dt + (r1 - r2 (1 - m)/m) i_k,    R_b = (R_f + r2 (1 - m)) / m^2
//
// as of an autotransformer. What the bridged turns leak decides L_b, and nothing else: in proportion to their share,
// without leakage coupling to the rest, L_b = (1 - m)/m L_ls; with its square (m^2 L_ls and (1 - m)^2 L_ls and the
// coupling m (1 - m) L_ls, all turns in the same slots), L_b = 0. A winding of coils in slots of their own is nearer to
// the first, which is used unless the scenario asks for the other; bolted turns carry up to twice as much with the
// second.
// Derived from the model of R. M. Tallam, T. G. Habetler, R. G. Harley, "Transient model for induction machines with
// stator winding turn faults", IEEE Trans. Ind. Appl. 38 (2002) 632-637, whose equations it gives for R_f at the
// star end. A star-point voltage of the machine's own (trapezoidal magnets) pulls at the shaft through J.
// Left out: the field of a few coils in space (slot harmonics, a torque of unbalanced pull), saturation by the loop.
#pragma once

#include "motor/machine.hpp"

namespace sunshaft::motor {

struct BridgedTurns {
    int phase = 0;
    double share = 0.0;        // m, of one winding's turns; 0: none
    double contact_ohm = 0.0;  // R_f
    bool by_share = true;      // leakage in proportion to the share; false: to its square
    bool parted = false;       // the loop has burnt through, and its winding with it
    bool on() const { return share > 0.0 && !parted; }

    double branch_H(double leakage) const { return by_share ? (1.0 - share) / share * leakage : 0.0; }
    double branch_ohm(double turns_ohm) const {  // turns_ohm: r2
        return (contact_ohm + (1.0 - share) * turns_ohm) / (share * share);
    }
    // Of the whole winding, to direct current.
    double still_ohm(double winding_ohm) const {
        const double turns = share * winding_ohm;
        const double both = turns + contact_ohm;
        return winding_ohm - turns + (both > 0.0 ? turns * contact_ohm / both : 0.0);
    }
    bool operator==(const BridgedTurns&) const = default;
};

// A machine with such a loop.
template <Machine M>
struct Bridged : M {
    BridgedTurns turns{};
};
template <class M>
inline constexpr bool is_bridged = requires(const M& m) {
    m.turns;
};

}  // namespace sunshaft::motor
