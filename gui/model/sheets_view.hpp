// What the sheets beside the bore show, worked out from a snapshot: splice, motor in section, power on its way. Pure;
// scales and projects figures, computes none.
#pragma once

#include <array>
#include <optional>
#include <string>
#include <vector>

#include "model/format.hpp"
#include "model/snapshot.hpp"

namespace sunshaft::view {

struct SpliceLine {
    std::string letter;            // "U"
    Figure amps, ohms, watts;
    std::optional<Figure> kelvin;  // above the water, when the plant computes it
    double heat = 0.0;             // tint 0 .. 1: half at 25 W in one joint
    bool open = false;
    bool stands_out = false;       // open, or takes far more watts than its neighbours
};
std::array<SpliceLine, 3> splice_lines(const Snapshot& snapshot);
// "Splice at 35.6 m", "Splice, just above the pump", "Splice at the motor" where there is no bore.
std::string splice_title(const Snapshot& snapshot);

struct PowerRow {
    enum class Kind { source, loss, lifted } kind = Kind::loss;
    std::string name, why;  // why: for the hover text
    double watts = 0.0, healthy_watts = 0.0;
    double from = 0.0, to = 0.0;  // of the bar, shares of the source's power
    bool stands_out = false;      // takes at least half as much again as on the healthy site, and 1 % of the source
};
std::vector<PowerRow> power_rows(const Snapshot& snapshot);

// One slot of the stator. Angle in mechanical radians, counter-clockwise from the axis of phase u (drawn upwards).
struct Slot {
    double angle = 0.0;
    int phase = 0;
    int sense = 1;      // +1: positive current comes out of the page
    double share = 0.0; // of the current now, -1 .. 1, positive out of the page
};
struct MotorSection {
    std::vector<Slot> slots;
    int pole_pairs = 1;
    double field_angle = 0.0;   // mechanical, of one north pole of the rotor's flux
    double flux_share = 0.0;    // of the largest seen, 0 .. 1
    bool field = false;         // there is a flux to draw
    double field_Hz = 0.0, rotor_Hz = 0.0;  // turns per second
    std::optional<double> slip;
    double winding_heat = 0.0;  // tint: 0 at 60 degC, 1 at 155 degC (insulation class F, IEC 60085)
    bool magnets = false;
};
MotorSection motor_section(const Snapshot& snapshot);

// Slots of a two-layer star winding: six belts for each pole pair, u -w v -u w -v counter-clockwise, the belts of phase u
// a quarter turn (electrical) on either side of its axis.
std::vector<Slot> slots(int pole_pairs);

// The track of the flux over a turn: largest radius lately seen in each direction.
class FluxPath {
  public:
    static constexpr std::size_t directions = 96;
    void add(double alpha, double beta);
    void clear() { *this = {}; }
    bool closed() const { return seen_ >= directions * 3 / 4; }
    double largest() const;
    // Radius in Wb; 0: never seen.
    double radius(std::size_t direction) const { return radius_[direction]; }

  private:
    std::array<double, directions> radius_{};
    std::size_t seen_ = 0;
};

// What moves from snapshot to snapshot: angles and distances are the sums of the speeds shown, over simulated time, so
// slow motion slows them and a halt stops them.
class Motion {
  public:
    void follow(const Snapshot& snapshot);
    double shaft_angle = 0.0;    // rad, mechanical
    double water_m = 0.0;        // way of the water in the rising main, m
    double turn_per_look = 0.0;  // rad the shaft went since the last snapshot: beyond what an eye can follow from 0.7 on
    bool blurred() const { return turn_per_look > 0.7 || turn_per_look < -0.7; }
    FluxPath flux, healthy_flux;

  private:
    std::uint64_t number_ = 0;
    double t_ = 0.0;
    const void* scenario_ = nullptr;
    std::string site_;
};

// What a hover text says of a test point's voltage now: "now +311.2 V against link-"; empty when it has none.
std::string potential_words(const Snapshot& snapshot, const std::string& point);

}  // namespace sunshaft::view
