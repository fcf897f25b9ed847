// A circuit whose capacitors charge and discharge: a DC link after switch-off, a floating array that drifts to
// where its leakage and the meter's own pull leave it.
//
// Each capacitor is replaced by its companion (a voltage source behind gamma h / C) and the stages are solved
// as the circuit at rest is, so that everything legal there is legal here: nonlinear branches, 0 ohm, loops of
// capacitors, ideal sources across capacitors. Capacitors that are tied together at different voltages share
// their charge at t = 0. A falling law (constant-power draw) beside a capacitor is fine.
//
// Method: SDIRK of order 4 with an embedded order 3, L-stable and stiffly accurate (E. Hairer, G. Wanner,
// Solving Ordinary Differential Equations II, 2nd ed., table IV.6.5; the table of SUNDIALS' ARKODE, SDIRK
// 5-3-4, is the same to the last digit), step by step within `tolerance`.
#pragma once

#include <memory>
#include <optional>
#include <vector>

#include "circuit/circuit.hpp"

namespace sunshaft::circuit {

struct CapacitorVolt {
    Branch capacitor;
    double volt;  // v(a) - v(b)
};

// The voltages a solution at rest puts on the capacitors; those between islands are left out.
std::vector<CapacitorVolt> capacitor_volts(const Circuit& circuit, const Solution& at_rest);

class Settle {
  public:
    // At t = 0, sources as they stand in the circuit; capacitors not named are at 0 V. tolerance: error a step,
    // relative to 1 V + the capacitor's voltage. Works on its own copy of the circuit.
    // Throws as Solver::solve() does.
    explicit Settle(const Circuit& circuit, const std::vector<CapacitorVolt>& start = {}, double tolerance = 1e-9);
    ~Settle();
    Settle(Settle&&) noexcept;
    Settle& operator=(Settle&&) noexcept;

    double time() const;  // s
    // Now (at t = 0: just after charges are shared). Nodes joined by a capacitor count as connected.
    Solution solution() const;
    double voltage(Branch capacitor) const;  // v(a) - v(b), V

    // On to time t, s (std::invalid_argument when that is in the past).
    Solution run_to(double t);
    // On to the moment the voltage between two nodes passes `volt`, or to `latest` (then nothing is returned).
    // Returns the time, s; at once when the voltage is there now. The nodes must be connected.
    std::optional<double> run_until(Node red, Node black, double volt, double latest);

  private:
    struct Impl;
    std::unique_ptr<Impl> impl_;
};

}  // namespace sunshaft::circuit
