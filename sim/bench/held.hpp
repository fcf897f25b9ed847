// A meter as the hand really holds it, on its way to a reading. Private to what observes.
#pragma once

#include <string>
#include <vector>

#include "bench/bench.hpp"
#include "meter/reading.hpp"

namespace sunshaft::bench {

struct Held {
    meter::Spec spec;
    meter::Mode mode;
    Probes probes;
    meter::Context context;
    std::vector<std::string> names = {};  // of the signals to be recorded; none: the mode drives the circuit
    std::vector<double> signs = {};       // of these
    double load_ohm = 0.0;                // load on the circuit
    double behind_ohm = 0.0;              // of a drive terminal that hangs on the leakage of its blocked devices alone
    double jack_fuse_A = 0.0;             // > 0: the red lead sits in the current jack
    // > 0: corner of a capacitance into the meter, which is all that ties the red lead
    double coupled_Hz = 0.0;
};

// The modes with a source of the meter's own: lifts a voltmeter's leads; a tenth of a second passes on a live circuit.
meter::Reading read_driven(Bench& bench, const Held& held);

}  // namespace sunshaft::bench
