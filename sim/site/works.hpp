// Works: every physical part that stands on the site, in SI units, still open to edits.
//
//   Scenario --set_up()--> Works --faults and acts edit it--> compile() --> Site (site.hpp)
//
// A fault or an act changes parts here (a resistance, a diode, a parameter), never a reading. Infinity means open.
// Two works are the same (==) where every member is: the compiler compares them, so none can be forgotten.
#pragma once

#include <array>
#include <cmath>
#include <limits>
#include <string>
#include <variant>
#include <vector>

#include "drive/bridge.hpp"
#include "drive/settings.hpp"
#include "motor/bridged_turns.hpp"
#include "motor/double_cage.hpp"
#include "motor/induction.hpp"
#include "motor/permanent_magnet.hpp"
#include "motor/synchronous_reluctance.hpp"
#include "site/scenario.hpp"
#include "solar/module.hpp"
#include "water/pump.hpp"
#include "water/rising_main.hpp"
#include "water/tank.hpp"
#include "water/well.hpp"

namespace sunshaft::site {

inline constexpr double open_circuit = std::numeric_limits<double>::infinity();

// A figure that need not be given: not given is the same as not given, which no number says of itself.
struct IfGiven {
    double value = not_given;
    IfGiven& operator=(double given) {
        value = given;
        return *this;
    }
    operator double() const { return value; }
    friend bool operator==(const IfGiven& a, const IfGiven& b) {
        return a.value == b.value || (std::isnan(a.value) && std::isnan(b.value));
    }
};

// A joint that can be parted: series resistance when together, leakage across when open.
struct Joint {
    double ohm = 0.001;
    double leak_ohm = open_circuit;  // across the gap when open
    bool open = false;
    double through() const { return open ? leak_ohm : ohm; }
    bool operator==(const Joint&) const = default;
};

struct Module {
    solar::ModuleData data{};
    std::array<double, 3> light{1.0, 1.0, 1.0};  // share of the site's irradiance on each sub-string
    std::array<solar::Bypass, 3> bypass{};
    std::array<solar::DarkCells, 3> dark{};  // single shaded cells in each sub-string
    double series_ohm = 0.0;                 // added to the data's own
    double shunt_factor = 1.0;               // multiplies R_sh
    double shunt_ohm = open_circuit;         // beside the cells; unlike R_sh it does not move with the light
    bool reversed = false;
    // What an eye sees of it, shares: dirt over all of it; of a part of it, shade or what lies there; of that, brown or
    // cracked cells.
    double dirt = 0.0, shadow = 0.0, worn = 0.0;
    bool covered = false;  // with its string; Array::covered is all of them
    bool operator==(const Module&) const = default;
};

// A diode in series with a string, against current from its neighbours.
enum class BlockingDiode { none, good, open, shorted };

struct String {
    std::vector<Module> modules;    // from the plus end: m1 next to s1+
    std::vector<Joint> joints;      // modules + 1: before m1, between, after the last
    std::vector<double> earth_ohm;  // as joints: to the frame, from m1's plus lead and each module's minus lead
    Joint fuse{};                   // between s1+ and array+; open: taken out
    bool fuse_blown = false;        // whether it is in its holder or not
    BlockingDiode blocking = BlockingDiode::none;  // beside the fuse
    bool reversed = false;
    bool parallel = false;  // wired plus to plus by mistake: each module straight to the string's ends
    double through_fuse() const { return fuse_blown ? open_circuit : fuse.through(); }
    bool operator==(const String&) const = default;
};

struct Pole {
    Joint run, contact;
    bool operator==(const Pole&) const = default;
};  // array+ .. iso.in+, iso.in+ .. iso.out+

// Surge arrester at the drive's input: a varistor from each pole to earth.
struct Arrester {
    bool fitted = false;
    double volt = 0.0;                                         // V at 1 mA
    double plus_ohm = open_circuit, minus_ohm = open_circuit;  // across a worn varistor
    bool operator==(const Arrester&) const = default;
};

struct Array {
    std::vector<String> strings;
    double irradiance = 0.0, module_degC = 25.0;
    double coldest_degC = -10.0;  // of the modules on the coldest bright morning here
    bool covered = false;
    Pole plus, minus;
    Joint dc_plus, dc_minus;  // iso.out .. dc terminals: the drive's own input connectors
    bool swapped = false;     // plus and minus confused at the drive's input
    Arrester arrester{};
    double leak_plus_ohm = open_circuit, leak_minus_ohm = open_circuit, capacitance_F = 0.0;
    double breakdown_V = 15.0;  // of one cell, backwards
    bool shorted = false;       // pole to pole on the array's side of the isolator, by a shorting link
    double sunlight() const { return covered ? 0.0 : irradiance; }
    bool operator==(const Array&) const = default;
};

// Beside an array: three phases through a rectifier of six diodes, behind a change-over switch at the drive's input.
// The mean of its DC voltage, 3 sqrt(2)/pi of line to line (any text on power electronics), behind two phases'
// resistance and two diodes, which let nothing back. Left out: its ripple of six times the line frequency (4 % rms) and
// the 5 % more that an idle link is charged to, the overlap of phases, a generator that sags.
struct SecondSupply {
    bool fitted = false, mains = false;
    double volt = 0.0, ohm = 0.0;  // DC
    Joint breaker{};               // before the rectifier; open: a generator stands still
    bool chosen = false;           // the change-over switch is on it, not on the array
    bool welded = false;           // its contacts on the array's side do not open
    double line_V() const { return volt * (3.14159265358979 / 3) / 1.41421356237310; }  // rms
    double highest_V() const { return fitted ? volt * (3.14159265358979 / 3) : 0.0; }   // peak, line to line
    bool on() const { return fitted && !breaker.open; }
    bool feeds() const { return on() && chosen; }
    // The array reaches the drive's input, its isolator apart.
    bool lets_array() const { return !fitted || !chosen || welded; }
    bool operator==(const SecondSupply&) const = default;
};

struct Supply {
    enum class Kind { array, bench, mains } kind = Kind::array;
    double voltage = 0.0, ohm = 0.0, frequency = 50.0;
    SecondSupply second{};
    bool operator==(const Supply&) const = default;
};

struct Link {
    double farad = 1e-3, esr_ohm = 0.0, bleed_ohm = open_circuit, precharge_ohm = 0.0;
    double electronics_W = 0.0, dropout_V = 0.0, overvoltage_V = 0.0;
    double earth_F = 0.0, monitor_ohm = open_circuit;  // fitted from both poles to earth: together; each
    bool operator==(const Link&) const = default;
};

using drive::Control;
using drive::DriveSettings;
using drive::Modulation;
using drive::Tracker;

// One conductor of the motor side, from the drive's terminal to the star point.
struct Phase {
    Joint terminal{0.0};                      // drive.u .. lead.u (pulling the pump wires opens all three)
    Joint cable{};                            // lead.u .. cable.u; ohm is the copper of the whole drop cable
    Joint splice{};                           // cable.u .. motor.u
    double splice_opens_degC = open_circuit;  // above this the joint there parts, 25 K below it touches again
    Joint winding{};                          // motor.u .. motor.n
    double core_above = 1.0;                  // share of the core's length above its break, where the cable is open
    double earth_leak_ohm = open_circuit;     // motor.u .. casing
    double between_leak_ohm = open_circuit;   // at the splice, from this phase to the next (u-v, v-w, w-u)
    double between_cell_V = 0.0;              // wet metal is a cell as well, in series with that leak
    double earth_cell_ohm = open_circuit;     // motor.u .. casing too: a wet joint and its cell in series
    double earth_cell_V = 0.0;                // V of the core against the metal round it
    double through() const { return terminal.through() + cable.through() + splice.through() + winding.through(); }
    bool operator==(const Phase&) const = default;
};

using Motor = std::variant<motor::Induction, motor::DoubleCage, motor::PermanentMagnet, motor::SynchronousReluctance>;
// What any of them says of itself (motor/machine.hpp).
inline bool self_commutated(const Motor& motor) {
    return std::visit([](const auto& m) { return m.self_commutated; }, motor);
}
inline bool has_cage(const Motor& motor) {
    return std::visit([](const auto& m) { return m.has_cage; }, motor);
}
inline bool has_magnets(const Motor& motor) {
    return std::visit([](const auto& m) { return m.has_magnets; }, motor);
}
inline int pole_pairs(const Motor& motor) {
    return std::visit([](const auto& m) { return m.pole_pairs; }, motor);
}

struct Shaft {
    double inertia = 1e-3, viscous = 0.0, dry_friction = 0.0;  // kg m2, N m s, N m
    // N m, of the motor's bearings, besides; not given: 3 % of rated torque (plant/chain.hpp)
    IfGiven breakaway;
    double load_torque = 0.0, fan = 0.0;  // N m, N m s2
    IfGiven held_speed;                   // rad/s; given: the speed is imposed
    double coupling_slip = 0.0;           // share of the speed the pump falls behind
    bool operator==(const Shaft&) const = default;
};

using Pump = std::variant<std::monostate, water::Centrifugal, water::ProgressiveCavity>;

struct Hydraulics {
    Pump pump{};
    water::RisingMain main{};
    double static_level = 30, outlet_height = 8, pump_depth = 45;  // m below / above ground
    double drawdown = 0.0, recovery_s = 120;                       // m per (m3/s), s
    double valve_opening = 1.0;
    bool valve_shut = false;                       // by hand, whatever its opening was
    double intake_loss = 0.0;                      // K of what blocks the pump's own way, below any gauge
    double suction_loss = 0.0;                     // what of that lies before the pump
    double bore_depth = 60, bore_diameter = 0.15;  // m
    double leak_area = 0.0, leak_height = 0.5;     // m2 (contraction included); share of the rise
    double degC = 15.0;                            // of the water
    water::Tank tank{10.0};
    double tank_fill = 0.4, tank_use = 0.0;  // at the start; m3/s
    double dry_life_s = 120.0;
    double npsh = 0.0;           // m, required by a centrifugal pump at rated speed and best flow; 0: none
    double best_flow = 0.0;      // m3/s, of that pump
    double vapour_head = 0.2;    // m of water, of its vapour pressure
    double rated_speed = 300.0;  // rad/s, of the pump
    double sand = 0.0;           // kg/m3 of the water pumped
    double air = 0.0;            // share of the pump that it fills
    bool check_valve = true;
    bool operator==(const Hydraulics&) const = default;
};

// What the drive's guard terminals see: the dry-run probe in the bore, the float in the tank.
struct Guard {
    bool fitted = true;
    Joint wire{2.0};                      // the pair of wires, there and back
    double shunt_ohm = open_circuit;      // across the sensor: dirt, damage
    bool pulled = false, jumper = false;  // at the drive's terminals
    bool operator==(const Guard&) const = default;
};
struct Guards {
    Guard dry{}, full{};
    double probe_depth = 43.0;            // m below ground
    bool probe_wet = true;                // now; set_up: with the water at rest
    double wet_ohm = 8e3, dry_ohm = 5e6;  // of the probe; common practice, no source
    bool float_up = false;                // now; up: tank full, contact open
    bool float_stuck_up = false;
    bool float_lifted = false;  // by hand
    bool powered = false;       // the drive feeds the circuits: its electronics are alive
    double contact_ohm = 0.2;

    static constexpr double limit_ohm = 5e4;  // above: the drive takes the circuit as broken
    double probe_ohm() const { return probe_wet ? wet_ohm : dry_ohm; }
    double float_ohm() const { return float_up || float_stuck_up || float_lifted ? open_circuit : contact_ohm; }
    // Between the drive's terminals, as the drive itself measures.
    static double circuit_ohm(const Guard& guard, double sensor_ohm);
    bool says_dry() const { return dry.fitted && circuit_ohm(dry, probe_ohm()) > limit_ohm; }
    bool says_full() const { return full.fitted && circuit_ohm(full, float_ohm()) > limit_ohm; }
    // The drive feeds each circuit with `feed_V` behind `feed_ohm` (common practice, no source) and takes it as open
    // where more stands at the terminals than limit_ohm would leave. meter_ohm: what else hangs on the terminals.
    static constexpr double feed_V = 5.0, feed_ohm = 1e4;
    static double terminal_V(double circuit_ohm) {
        return circuit_ohm < open_circuit ? feed_V * circuit_ohm / (circuit_ohm + feed_ohm) : feed_V;
    }
    static bool reads_open(double volt) { return volt > terminal_V(limit_ohm); }
    bool operator==(const Guards&) const = default;
};

// A body that warms: loss in, K_per_W to what is round it.
struct Thermal {
    double K_per_W = 1.0, J_per_K = 500.0, round_degC = 25.0;
    bool operator==(const Thermal&) const = default;
};

// Conductors that tie metal parts to the electrode.
struct Bonds {
    Joint frame{0.1};   // array frame .. earth
    Joint casing{0.3};  // motor casing .. earth, along the drop cable
    bool operator==(const Bonds&) const = default;
};

// Who holds the meter, and its state: bent links of the meter's own chain, carried out by bench/hands.hpp.
struct Hands {
    enum class Turn { right, ac_on_dc, dc_on_ac, ohms_live };
    Turn turn = Turn::right;      // of the mode switch
    double lead_ohm = 0.0;        // of both test leads together
    bool swapped = false;         // red and black
    bool current_jack = false;    // the red lead sits in the current jack
    bool fuse_blown = false;      // of the current jack
    double battery_low = 0.0;     // share that the reference has sunk
    IfGiven range_at;             // 0 lowest .. 1 highest range, by hand
    bool two_conductors = false;  // the clamp is closed round a neighbour as well
    bool operator==(const Hands&) const = default;
};

// A meter's input resistance between two test points: a branch like any other.
struct MeterLoad {
    std::string red, black;
    double ohm = open_circuit;
    bool operator==(const MeterLoad&) const = default;
};

struct Works {
    Supply supply{};
    Array array{};
    Link link{};
    drive::Bridge bridge{};
    DriveSettings drive{};
    std::array<Phase, 3> phases{};
    std::array<int, 3> core_at{0, 1, 2};  // which core of the pump cable is on the drive's u, v, w
    double winding_degC = 20.0;           // that windings and cage now have
    double cable_inductance = 0.0;        // H, each core
    double cable_capacitance = 0.0;       // F, each core to earth
    double choke = 0.0;                   // H, fitted in each line at the drive
    double cable_m = 0.0;                 // its length
    double edge_s = 0.0;                  // of the drive's output, rail to rail
    double motor_surge_ohm = 2000.0;      // of a winding to such an edge
    Motor motor{};
    motor::BridgedTurns turns{};  // of one of its windings
    Shaft shaft{};
    Hydraulics water{};
    Guards guards{};
    Thermal heat_sink{}, motor_heat{};
    Thermal splice_heat{4.0, 30.0, 15.0};  // a crimp under its sleeve in water; common practice, no source
    std::vector<MeterLoad> loads;
    Hands hands{};
    Bonds bonds{};
    bool operator==(const Works&) const = default;
};

// Where the shipped module table lies; scenarios name its rows.
std::string asset(const std::string& name);

// Throws BadInput (load.hpp) when a name in the scenario is unknown or the figures cannot belong together.
Works set_up(const Scenario& scenario);

}  // namespace sunshaft::site
