// The wiring: Works turned into the circuit graph, with every test point a named node.
//
// dc part: modules .. strings .. DC run .. isolator .. drive input = link.  ac part: output terminals .. drop cable ..
// splice .. windings .. star point. Between them stands the bridge, which is not a resistor: the live plant switches it
// (plant/), the still bench puts its diodes in (wire_bridge).
//
// Labelled branches, for clamps; all positive in a healthy system at work: "s1" string current out of s1+, "dc+" into
// the drive, "dc-" back out of it, "s1.m1.1" what the first sub-string of that module delivers, "supply" (a source:
// minus what it delivers), "u" "v" "w" from the drive into the pump wires.
#pragma once

#include <string>
#include <vector>

#include "circuit/circuit.hpp"
#include "site/works.hpp"

namespace sunshaft::site {

// One third of a module under the light it gets, with its faults: the law between two of the module's inner nodes.
solar::SubString sub_string(const Array& array, const Module& module, int part);

// Connectors of the array by the place faults and acts know them by ("s1.m3-"), the two nodes each joins, and its
// resistance now (inf: open).
struct Connector {
    std::string place, from, to;
    double ohm;
};
std::vector<Connector> connectors(const Works& works);

// Nodes link+ and link- are the terminals of the link capacitor (its own branch is left out).
void wire_dc(const Works& works, circuit::Circuit& circuit);
void wire_ac(const Works& works, circuit::Circuit& circuit);
// Free-wheel diodes (and shorted devices) from drive.u/v/w to link+ and link-, the bleed resistor.
void wire_bridge(const Works& works, circuit::Circuit& circuit);
// The guard circuits: dry.1 .. wires .. probe .. dry.2, float.1 .. wires .. contact .. float.2.
void wire_guards(const Works& works, circuit::Circuit& circuit);
// Meters across points that both exist in the circuit by now.
void wire_loads(const Works& works, circuit::Circuit& circuit);

}  // namespace sunshaft::site
