// What the hand that holds the meter, and the meter's own state, make of a reading: site::Hands carried out on the
// meter's chain. With healthy hands nothing is touched.
#pragma once

#include <string>
#include <vector>

#include "bench/bench.hpp"

namespace sunshaft::bench {

// Of the shunt in a current jack and its leads, ohm, and what its fuse carries, A, where the meter's file does not tell
// (common practice, no source).
inline constexpr double usual_jack_ohm = 0.03, usual_jack_fuse_A = 10.0;

// The switch as it really stands, the leads as they are really placed, the range set by hand, a sunken reference's test
// voltages and sources.
void mishandle(const site::Hands& hands, meter::Spec& spec, meter::Mode& mode, Probes& probes, meter::Context& extra);

// Share of the voltage on the circuit that reaches the meter's input, and what the two together load the circuit with
// (0: nothing).
struct LeadLoss {
    double share, load_ohm;
};
LeadLoss through_leads(const site::Hands& hands, double input_ohm);

// What a clamp is closed round, Probes::around taken apart. Throws site::BadInput when a name is missing.
struct Strand {
    std::string name;
    double sign;
};
std::vector<Strand> strands(const std::string& around);

// The current a clamp is set for, by what it is closed round: direct on the array's side.
meter::Mode clamp_mode(const std::string& around);

// Conductor that lies next to the clamped one; empty when there is none.
std::string neighbour(const site::Works& works, const std::string& around);

}  // namespace sunshaft::bench
