// The bench: one site being worked on. Faults and acts, time, leads: what a person does, in order. What is read there:
// bench/observe.hpp.
//
// The headless program and the window's physics thread both work through this; neither touches the solver. Every edit
// compiles a new immutable site and carries the plant's state over. A bad edit throws site::BadInput and changes
// nothing.
#pragma once

#include <functional>
#include <memory>
#include <string>
#include <vector>

#include "circuit/settle.hpp"
#include "meter/reading.hpp"
#include "plant/run.hpp"
#include "site/site.hpp"

namespace sunshaft::bench {

// Where the leads are. Names of site/points.hpp; empty: not placed. `around` is what the clamp is closed round: a
// conductor, or several with commas, a minus before one that passes the jaws the other way: "u", "uvw", "u,v",
// "dc+,-s1".
struct Probes {
    std::string red = {}, black = {}, around = {};
    friend bool operator==(const Probes&, const Probes&) = default;
};

// What stands changed on the site. The whole of it is replaced at once, so undo and redo are copies.
struct Edits {
    std::vector<std::string> set = {};  // "sun.irradiance_W_m2=600", in order
    std::vector<site::Fault> faults = {};
    std::vector<site::Act> acts = {};  // in order
};

// The scenario with its keys set, faults and acts tried on it in order: the keys first, what is still to come as well.
// Whoever takes edits from a user asks this. Throws site::BadInput for the first that cannot be carried out.
Scenario checked(Scenario scenario, const Edits& edits);

class Bench {
  public:
    explicit Bench(Scenario scenario, const Edits& edits = {});
    // A bench of its own from here on, to try something on: nobody is asked before its acts.
    Bench(const Bench& other);
    Bench(Bench&&) noexcept = default;
    Bench& operator=(Bench&&) noexcept = default;

    const Scenario& scenario() const { return scenario_; }  // with Edits::set carried out
    const Edits& edits() const { return edits_; }
    std::shared_ptr<const site::Site> site() const { return site_; }
    plant::Plant& plant() { return *plant_; }
    const plant::Plant& plant() const { return *plant_; }
    plant::State& state() { return state_; }
    const plant::State& state() const { return state_; }
    double time() const { return state_.t; }
    // What the drive has done since the bench was set up, and why; the last ten thousand. words() in drive/control.hpp.
    const std::vector<drive::LogEntry>& events() const { return events_; }

    // Puts these edits in place of the present ones. Faults and acts whose time is still to come wait for it.
    void edit(const Edits& edits);
    // As the same site once stood with the same edits, for long.
    void take(const plant::State& state);
    // The meter's input resistance loads the wiring where it is not stiff (0: nothing connected). Leads that lie on a
    // floating circuit drag it to where they leave it in the time its capacitance to earth takes.
    void connect(const Probes& probes, double meter_ohm);
    // Other meters that stay where they are, each by its input resistance: they load the wiring at rest and the running
    // plant alike, whatever the leads above do. Replaces those left before. Throws site::BadInput for an unknown point.
    void leave(std::vector<site::MeterLoad> meters);

    // Is asked before timed acts are carried out, all of one moment together (bench/hazards.hpp); may throw, then they
    // are not.
    using BeforeActs = std::function<void(Bench&, const std::vector<site::Act>&)>;
    void ask(BeforeActs before_acts) { before_acts_ = std::move(before_acts); }

    // Runs for some seconds, stopping to put timed faults and acts in place.
    void advance(double seconds, plant::Recorder* recorder = nullptr);
    plant::Settled settle(double longest = 60.0, const std::function<bool(double)>& progress = {});
    // How warm windings, cage and magnets get by running on for so long as it runs once settled; tried on a copy.
    double warm_degC(double seconds) const;
    // Puts them there.
    void warm(double degC);

    // Nothing switches and nothing turns: the still bench (the wiring solved as a network) gives the readings.
    bool still() const;
    // The same for what hangs on the DC side alone: with the output off a shaft may still be running down.
    bool still_at(const Probes& probes) const;
    // What the chain of a meter must know about these points at this moment.
    meter::Context context(const Probes& probes) const;
    // The wiring with the drive off, with the link's charge and the leads that lie on it.
    circuit::Circuit wiring_at_rest() const;
    // Where the leads lie (connect()).
    const Probes& probes() const { return probes_; }
    // Voltage between two points with the drive off, loaded by `meter_ohm`: at this moment where these are the leads
    // that lie there (connect()), else as it comes to rest.
    double still_voltage(const std::string& red, const std::string& black, double meter_ohm);
    // What is not electrical: flow (m3/s), head (m), water (m below ground), tank (m3), sun (W/m2), module_temp,
    // joint_temp, cell_temp (degC; the hottest cell of the array, cell_temp.s1.m3.2 that of one third of a module),
    // connector_temp (degC; the hottest of the array, connector_temp.s1.m3- that one); and what eyes
    // and ears tell (senses.cpp): lamps, the drive's own display (drive_V, drive_Hz, drive_A, drive_stop), outlet,
    // sound. Throws site::BadInput for another name. Some let a fifth of a second of the plant's time pass.
    struct Gauge {
        double value;
        std::string unit, how;
        std::string says = {};  // of eyes and ears: the words; value then only tells one from another
        std::optional<double> rest = {}, pumped = {};  // water: the level at rest, and where pumping brings it, m
        std::string shown() const;                     // as one writes it down: "3.1 m3/h", "runs evenly"
    };
    static const std::vector<std::string>& gauges();
    static bool is_gauge(const std::string& name);
    // ahead: of the water, where pumping will bring it as well (pumped_level).
    Gauge gauge(const std::string& name, bool ahead = true);
    // Where the water settles while the pump runs on at this sun, m below ground: the level whose flow holds it there.
    // `runs`: false, it does not pump and the level is that at rest; `stops`: a guard stops it before. Tries some
    // settled runs on a copy of the state: a second or so.
    struct Pumped {
        double level;
        bool runs, stops;
    };
    Pumped pumped_level();
    // The array's connectors with the heat in them now, and how warm they get when it lasts; none without an array.
    // Takes a fifth of a second of the plant's time.
    struct Warm {
        std::string place;
        double watt, degC;
    };
    std::vector<Warm> connectors();

  private:
    Gauge sense(const std::string& name);
    void compile();
    site::Now now() const;
    void refresh();  // the wiring follows what has moved: guards, electronics, warm copper
    bool restarting() const;
    void collect();
    std::optional<double> falling() const;
    double next_change() const;
    circuit::Solution resting(bool settled);
    void keep_charges();  // before the wiring changes: what its capacitors carry over
    Scenario base_, scenario_;
    Edits edits_;
    Probes probes_;
    double meter_ohm_ = 0.0;
    std::vector<site::MeterLoad> left_;
    std::shared_ptr<const site::Site> site_;
    std::unique_ptr<plant::Plant> plant_;
    plant::State state_;
    // Capacitors to earth of the wiring at rest, from the last change on.
    struct Charge {
        std::string a, b;
        double volt;
    };
    std::vector<Charge> charges_;
    double charges_at_ = 0.0;      // s
    bool charges_moving_ = false;  // false: come to rest
    std::shared_ptr<circuit::Settle> settle_;
    double settle_link_ = 0.0;  // V it was set up with
    site::Now compiled_for_;
    BeforeActs before_acts_;
    std::vector<drive::LogEntry> events_;
    long collected_ = 0;
};

}  // namespace sunshaft::bench
