// What is seen on a site: an instrument, how it is set, and a place. The central word: the command line, the window's
// meters, the field tests and the blind map all look at a bench through these functions, and none of them changes it.
#pragma once

#include <memory>
#include <optional>
#include <string>
#include <utility>
#include <vector>

#include "bench/bench.hpp"
#include "meter/reading.hpp"
#include "meter/watch.hpp"

namespace sunshaft::bench {

// The plainest shipped meter for a mode: averaging volts, true rms for the rest, Hall clamp for direct current.
const meter::Spec& usual_meter(meter::Mode mode);

struct Observation {
    Probes probes = {};  // two points, or a conductor in the clamp
    meter::Mode mode = meter::Mode::dcv;
    std::string gauge = {};                              // in place of a meter: a name of Bench::gauge()
    std::shared_ptr<const meter::Spec> instrument = {};  // none: the usual one for the mode
    // What is set by hand: manual_range, relative, test_V, temperature_degC, keep_waves; and source_F where the red
    // lead lies on a wire that this capacitance alone couples to its point. The rest is the bench's own to tell.
    meter::Context set = {};

    const meter::Spec& spec() const { return instrument ? *instrument : usual_meter(mode); }
    std::string where() const;  // "lead.u against lead.v", "clamp on u", "water"
    std::string id() const;     // the same in English, whatever is spoken
};

// What the display shows, with its band, reasons and cautions: over enough whole turns from now on, or of the wiring at
// rest, as the mode wants. An ohmmeter on a live circuit shows its nonsense. Throws site::BadInput for a point that is
// not there, std::invalid_argument for a mode that the meter has not.
meter::Reading observe(const Bench& bench, const Observation& what);

// Rows that are compared: where the site runs all are of one stretch of whole turns, at least so long, nothing loading
// the circuit. A gauge's value is as one who reads it by eye knows it (band: value). No reading where the mode asks for
// a dead circuit and this one is live.
struct Seen {
    Observation what;
    std::optional<meter::Reading> reading;
    std::optional<Bench::Gauge> gauge;
};
std::vector<Seen> observe(const Bench& bench, const std::vector<Observation>& what, double seconds = 0.4);

// The display from now on for some seconds, from the moment the leads are placed; and the surge a clamp that waits from
// now on catches (trigger 0: the meter's own, meter/watch.hpp). Throw as observe() does.
meter::Watch watch(const Bench& bench, const Observation& what, double seconds);
meter::Surge surge(const Bench& bench, const Observation& what, double seconds, double trigger_A = 0.0);

// For one who records by himself, as a window does: how the hand holds this meter, which may be wrong. What is to be
// recorded, added with its sign (none: the mode drives the circuit, and only observe() above does it), where the leads
// really lie, and what they load. Then the reading of such a recording, over whole turns. Throw as observe() does.
struct Grip {
    std::vector<std::pair<std::string, double>> signals;
    Probes probes;
    double load_ohm;
};
Grip grip(const Bench& bench, const Observation& what);
meter::Reading observe(const Bench& bench, const Observation& what, trace::Trace recorded);

}  // namespace sunshaft::bench
