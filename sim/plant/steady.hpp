// Steady states without waiting for them.
//
//   periodic()       the periodic state a running site goes into, by shooting: Newton's method on "a turn later it is
//                    the same", a neighbour's state as the first guess, its Jacobian taken over and bettered as it
//                    goes (C. G. Broyden, Math. Comp. 19 (1965) 577; T. J. Aprille, T. N. Trick, Proc. IEEE 60
//                    (1972) 108-114)
//   runs_on()        the same where no two turns are quite alike: windows are
//   regulated()      a link held at the tracker's voltage, a tracker that climbs going to and fro about it
//   take_up()        a site takes over where a neighbour runs
//   starts_alike()   whether it would have come there by itself, too
//   Patience         a settle() that knows what will not come to rest: a tracker that hunts to and fro, a start that
//                    fails the same way time and again
//
// What is not found is said with its reason, and the state is left as it was: run on from there, or settle() from a
// start. Several steady states can stand beside each other (full speed, collapsed array, standstill): periodic() finds
// the one near its guess, and says of an unstable one that it is.
#pragma once

#include <string>
#include <vector>

#include "plant/run.hpp"

namespace sunshaft::plant {

struct Periodic {
    bool found = false;
    std::string reason;            // why not
    double period = 0.0;           // s
    int turns_run = 0;             // periods that were run to find it
    double off = 0.0;              // largest change over a period, in units of reference()
    double multiplier = 0.0;       // largest by magnitude; what is beside the periodic state shrinks so much a period
    std::vector<double> jacobian;  // of the map over a period, row-major, as last known; scaled by reference()
};
// In: a running state near the periodic one. Out, where found: the state there, some turns on. Needs a field turned
// from outside with whole windows of the modulator in a turn and an induction motor, or one that the rotor leads at
// full amplitude; no bridged turns, no broken cage, and a control that has nothing left to move; else says so at once.
Periodic periodic(Plant& plant, State& state, const Periodic* neighbour = nullptr);

// The same for a control whose output dips now and then with the link's ripple, as behind unequal phases: runs on, five
// seconds at most, until windows of half a second are alike; or, with what beats with the slip, means of some seconds.
// no: left as it was.
enum class Stays { no, even, beats };
Stays runs_on(Plant& plant, State& state);

// Largest change from one window's means to the next's, of the larger of value and a tenth of the reference (run.hpp).
double change(const Means& a, const Means& b, const X& reference);

// A link that the setting holds: at a voltage (true, V) where the tracker would bring it, without a tracker where a
// weak sun holds the ramp. A tracker that climbs has no rest and goes to and fro there: it is held meanwhile. In: a
// running state. Out: one of those it visits; no: left as it was, since it lies elsewhere or still moves.
Stays regulated(Plant& plant, State& state, double at_V);

// state: as plant.start() gives it. Levels, temperatures and damage stay its own; all that moves quickly becomes the
// neighbour's, volts of the control in the measure of the array.
void take_up(Plant& plant, State& state, const site::Site& neighbour, const State& running);

// Whether a start on the one site comes to run as on the other, as far as that can be told from the parts: the same
// drive, bridge and kind of motor, friction to break away no greater, phases whole and alike, an array that reaches the
// thresholds with volts to spare. False: unknown.
bool starts_alike(const site::Site& runs, const site::Site& asked);

// Whether no maximum of the source's power lies above this link voltage: a start, which comes down from the open array,
// meets none on its way there, where it could have stayed.
bool from_above(const site::SourceCurve& source, double link_V);

// Whether the control has counted something that will stop it, and is not there yet.
bool about_to_stop(const drive::ControlState& control);

// For settle()'s progress. Stops it where a tracker's to and fro has no trend any more, where a site swings evenly (a
// broken cage, a carrier beside the field's turns, an array that just reaches the ceiling), and where a start has
// failed from the same rest as the one before: `cycle` is then the time from start to start.
class Patience {
  public:
    Patience(const site::Site& site, const State& state) : site_(&site), state_(&state) {}
    bool operator()(double fraction);
    double cycle = 0.0;  // s; 0: none was seen
    bool hunts = false, swings = false;

  private:
    bool failed_again();
    bool no_trend();
    bool even(std::size_t looks, double of_a_step);  // as nearly as that share of a step of the tracker
    const site::Site* site_;
    const State* state_;
    long seen_ = 0;  // of the log
    struct Start {
        double t, volt;
        int trips;
    };
    std::vector<Start> starts_;
    bool rested_ = false, touches_ = false;
    struct Sample {
        double t, supply_J, lifted_J, target_V;
        long logged;
    };
    std::vector<Sample> samples_;
};

}  // namespace sunshaft::plant
