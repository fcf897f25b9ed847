// The wiring: Works turned into the circuit graph, with every test point a named node.
//
// dc part: modules .. strings .. DC run .. isolator .. drive input = link.  ac part: output terminals .. drop cable ..
// splice .. windings .. star point. Between them stands the bridge, which is not a resistor: the live plant switches it
// (plant/), the still bench puts its diodes in (bridge_diodes).
#pragma once

#include "circuit/circuit.hpp"
#include "site/works.hpp"

namespace sunshaft::site {

// Nodes link+ and link- are the terminals of the link capacitor (its own branch is left out).
void wire_dc(const Works& works, circuit::Circuit& circuit);
void wire_ac(const Works& works, circuit::Circuit& circuit);
// Free-wheel diodes (and shorted devices) from drive.u/v/w to link+ and link-, the bleed resistor.
void wire_bridge(const Works& works, circuit::Circuit& circuit);

}  // namespace sunshaft::site
