// Hazards: what can hurt someone or destroy something before an act is done or a meter touches two points. Data first:
// the kind, where, the figure, what must be true before it; the words come from it. Refusing, asking and counting all
// use this.
//
//   const Scene now = scene(*bench.site(), bench.plant().look(bench.state()));   // a window: scene(*snapshot.site,
//   snapshot.now)
//   for (const Hazard& h : needs(now, act)) ...           // before an act
//   for (const Hazard& h : needs(now, probes, mode, &meter)) ...   // before a touch
//   for (const Hazard& h : standing(now)) ...             // all the time
//   words(list)                                           // to be read out, most severe first, each sentence once
//   refused(list)                                         // something in it must not be done: ask, and say order(list)
//
// A program that acts for its user goes through Conduct: it judges every act and touch, throws Refused where one must
// not be done, and where the user insists carries it out and keeps it as unsafe. A window asks with a card: needs(),
// words(), and where refused() a second press and order().
//
// needs() takes some microseconds, but solves the wiring (some milliseconds) where currents in strings matter: ask when
// something is about to be touched or has changed, not in every frame.
#pragma once

#include <optional>
#include <stdexcept>
#include <string>
#include <vector>

#include "bench/bench.hpp"
#include "meter/meter.hpp"

namespace sunshaft::bench {

enum class Danger {
    test_into_electronics,  // an insulation tester's volts into drive, guard or arrester
    ohms_on_live,           // a meter's own source against a live circuit
    meter_not_rated,        // V that can be present against the meter's category
    arc,                    // A in what is to be opened
    shorted_live,           // V, A: a short across a source that is connected
    changed_live,           // a change-over switch about to be turned while the drive runs
    live_wires,             // V on what is to be disconnected or put back
    shut_valve,             // a screw-type pump at work, and the valve about to be shut
    pump_running,           // a pump about to be disconnected under way
    dry_pump,               // m: the dip meter showed the intake dry, and its guard is about to be bridged
    undipped,               // that guard about to be bridged, and nobody has dipped the well
    stored_charge,          // V, J on the link behind an open isolator
    never_discharges,       // the same without a bleed
    earth_capacitors,       // V on capacitors fitted from the input's poles to earth
    circulating,            // A between strings with the isolator open
    back_spin,              // V made by water running back
    live_cable,             // V on a motor cable at the mains
    live_link,              // V that can be present on the link of a drive that is fed; where "outputs": it switches
    not_proved,             // a link whose voltage nobody has measured
    live_modules,           // in any light
    live_pole,              // V that can be present at the points
    live_in_light,          // V the isolator does not switch off
    frame_live,             // one pole may be tied to metal that is touched
    switched_output,        // terminals of a live drive
    dead_test,              // the order of work for a test that belongs on a dead circuit
    insulation_test,        // the same for one that charges what it tests
    unplugging,             // a connector or fuse to be opened
    shorting_link,          // V, A: the array's short-circuit test
    dry_run,                // m: the guard no longer protects the pump
    overflow,               // the tank's guard no longer stops the pump
    tank,                   // whoever reaches into one
    isolator,               // what an isolator does not do
    two_sources,            // V of a second supply that the isolator does not switch off
    disconnecting,          // the order of work before wires come off
    joining,                // polarity and order before a connector is closed
    reversal,               // a pump that turns backwards
    against_valve,          // a pump that works against a shut valve
    starts_alone,           // the pump may start at once
    dark_lamps,             // dark is not dead
    stopped,                // stopped is not dead
    cover,                  // light that gets through; work on modules
    full_voltage,           // V that are back at once
    written_down,           // a guard is back
    authorised              // who may do this at all
};
const char* name(Danger kind);  // "stored-charge"

// What must be true before it is done.
enum class First {
    isolated,
    covered,
    waited,
    proved_dead,
    no_current,
    standing_still,
    disconnected,
    water_measured,
    watched
};
const char* name(First what);  // "proved-dead"

struct Hazard {
    Danger kind;
    std::string where = {};                                      // "s1.m3-", "drive.u - drive.v", "link"
    double volts = 0.0, joules = 0.0, amps = 0.0, metres = 0.0;  // what applies; 0: nothing to say
    double braking_V = 0.0;                                      // where a motor that brakes can lift the link to
    std::string meter_rating = {};                               // "CAT III 600 V"
    std::vector<First> first = {};                               // in the right order
    bool refuse = false;                                         // must not be done now
    bool at_most = false;                                        // volts are the highest there can be, ever
};

// The moment that is judged. Points into the works: keep them alive.
struct Scene {
    const site::Works* works;
    bool fresh = true;                 // nothing has run yet: with the isolator closed in light the drive is about to
    bool running = false;              // the output switches
    double link_V = 0.0, shaft = 0.0;  // V, rad/s
    // What the dip meter showed when the well was last dipped, m below ground; nobody knows it until then.
    std::optional<double> dipped = {};
};
Scene scene(const site::Works& works);  // before anything has run
Scene scene(const site::Site& site, const plant::Instant& now);

// The highest voltage that can be present on this site's power circuit, V: open circuit at 1000 W/m2 and the site's
// lowest module temperature, over every path through a string as it is wired, whatever is open or closed, covered or
// dark; a bench supply's or the mains' (line to line, rms). A braking motor can lift the link further
// (Hazard::braking_V). Between two points: in different strings, or metal that one of them leaks to, both strings'
// volts can add up once each of them is open somewhere.
double highest_V(const site::Works& works);
double highest_V(const site::Works& works, const std::string& a, const std::string& b);
// Currents in the strings in order, A, with link_V at the drive's input; NaN: with the isolator open.
std::vector<double> string_currents(const site::Works& works, double link_V);

// Most severe first, each once. An act that its site has no place for has no hazards: Bench::edit says what is wrong
// with it.
std::vector<Hazard> needs(const Scene& scene, const site::Act& act);
// meter: none, its rating is not judged.
std::vector<Hazard> needs(const Scene& scene, const Probes& probes, meter::Mode mode,
                          const meter::Spec* meter = nullptr);
// What an act of this kind can bring, without figures: on any site, or on this one.
std::vector<Hazard> needs(const std::string& act_kind, const std::string& place = {},
                          const site::Works* works = nullptr);

// What is dangerous about the site as it stands, whoever touches what: for the line that is always in sight.
// link_known: false where nobody may know the link's voltage without a meter.
std::vector<Hazard> standing(const Scene& scene, bool link_known = true);

// What a fault makes dangerous for as long as it lasts, in the few words of a list; figure: V or A, where there is one.
enum class Lasting {
    frame_live,       // V against the other pole
    casing_live,      // V on motor, pipe and water
    charged,          // V on the link after switch-off
    above_rating,     // V beyond what the site was built for
    circulating,      // A between strings with the isolator open
    through_drive,    // A that nothing but the isolator stops
    behind_isolator,  // V on its far side while it is open
    no_dry_guard,
    no_float
};
std::string in_a_list(Lasting what, double figure = 0.0);

bool refused(const std::vector<Hazard>& hazards);
std::string words(const Hazard& hazard);
std::vector<std::string> words(const std::vector<Hazard>& hazards);
// The same as one line, from the longest wording to the shortest, for whoever has little room: whole sentences, every
// step in each.
std::vector<std::string> one_line(const std::vector<Hazard>& hazards);
// Why it is refused, and what comes first, in the right order; empty where nothing is refused.
std::vector<std::string> reasons(const std::vector<Hazard>& hazards);
std::string order(const std::vector<Hazard>& hazards);
// For whom this moment's volts would tell what nobody has measured: the highest this site can have, in their place.
std::vector<Hazard> at_most(std::vector<Hazard> hazards, const site::Works& works);
// Two lists as one, most severe first, each once.
std::vector<Hazard> joined(std::vector<Hazard> a, const std::vector<Hazard>& b);

// An act or a touch that must not be done now.
struct Refused : std::runtime_error {
    Refused(std::string what, std::vector<Hazard> why);
    std::string act;  // "pull@pump", "ohm at lead.u - lead.v"
    std::vector<Hazard> hazards;
};

// Whoever works on a bench, watched.
class Conduct {
  public:
    explicit Conduct(bool anyway = false) : anyway_(anyway) {}
    // What is to be done at one moment, in the order given: each act meets the site as those before it leave it. Throws
    // Refused unless the user insists.
    void before(Scene scene, const std::vector<site::Act>& acts);
    void before(const Scene& scene, const Probes& probes, meter::Mode mode, const meter::Spec* meter);

    // The dip meter has shown so much, m below ground: acts from now on are judged by it (unless the scene says more).
    void dipped(double level) { dipped_ = level; }
    const std::vector<Hazard>& hazards() const { return hazards_; }  // of all that was done so far
    struct Unsafe {
        std::string act;
        std::vector<Hazard> hazards;
    };
    const std::vector<Unsafe>& unsafe() const { return unsafe_; }

  private:
    void judge(const std::string& what, const std::vector<Hazard>& hazards);
    bool anyway_;
    std::optional<double> dipped_;
    std::vector<Hazard> hazards_;
    std::vector<Unsafe> unsafe_;
};

}  // namespace sunshaft::bench
