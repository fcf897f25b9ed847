// The motor side with its inner nodes eliminated: what the live plant needs of the wiring between the bridge legs and
// the windings, for each pattern of driven and floating legs.
//
// Every leg is a source s_k behind the resistance of the conducting part (on-resistance, or 0 for a diode), or floats.
// With motor currents i_k drawn at motor.u/v/w, every node voltage (against link-) is
//   v_node = sum_j A(node, j) s_j - sum_j Z(node, j) i_j        (+ an island's own offset, see below)
// and the leg currents are i_leg = G s + B i.
//
// Islands: nodes with no path to a driven leg, whose potential only the machine decides. The offset of an island is
// the voltage of its first motor node (its Z row is zero). The motor currents into an island sum to zero, which takes
// away free current directions; so does an open winding. An island without a motor node imposes nothing.
//
// A resistance above open_above_ohm counts as open where it is all that ties motor nodes to a driven leg, or where it
// ends at a leg in its diode (a current through 10 kohm and some mH would have a time constant of 100 ns: stiff, and of
// no weight; its voltage would be wrong between the steps). Between nodes that are tied anyway it is kept, up to
// leak_above_ohm: above, it is insulation, and left to the still bench. Metal parts (casing, earth) are followed within
// the motor side only.
#pragma once

#include <array>
#include <string>
#include <vector>

#include "circuit/circuit.hpp"
#include "drive/bridge.hpp"
#include "motor/clarke.hpp"

namespace sunshaft::site {

inline constexpr double open_above_ohm = 1e4, leak_above_ohm = 1e6;

enum class LegDrive : unsigned char { device, diode, floating };
using Pattern = std::array<LegDrive, 3>;
inline int index(const Pattern& p) {
    return static_cast<int>(p[0]) + 3 * static_cast<int>(p[1]) + 9 * static_cast<int>(p[2]);
}

struct PhaseNode {
    static constexpr int drive = 0, lead = 3, cable = 6, motor = 9, count = 12;
};  // + phase index

struct Reduced {
    std::array<motor::Vec3, PhaseNode::count> A{}, Z{};
    std::array<int, PhaseNode::count> island{};  // -1: tied to a driven leg; else number of the floating island
    std::array<motor::Vec3, 3> G{}, B{};         // leg currents
    // Free directions of the motor current in (alpha, beta): 0, 1 or 2; for 1, `direction` spans them (unit length).
    int free_directions = 2;
    motor::Vec2 direction{1.0, 0.0};
};

class PhaseNetwork {
  public:
    PhaseNetwork() = default;
    // Takes from the circuit every resistor between the twelve phase nodes (and casing, earth), and from the windings
    // (motor.k .. motor.n) only whether they are open; their resistance is the machine's.
    PhaseNetwork(const circuit::Circuit& circuit, double on_resistance);
    const Reduced& operator[](const Pattern& p) const { return table_[static_cast<std::size_t>(index(p))]; }
    bool winding_open(int phase) const { return winding_open_[static_cast<std::size_t>(phase)]; }

  private:
    std::array<Reduced, 27> table_{};
    std::array<bool, 3> winding_open_{};
};

}  // namespace sunshaft::site
