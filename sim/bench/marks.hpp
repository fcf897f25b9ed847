// What heat does to a site where hand, eye and nose find it: how warm the drive's box gets, contacts that have
// discoloured, what smells. All of it from the losses and temperatures of the plant and its wiring.
#pragma once

#include <string>
#include <vector>

#include "bench/bench.hpp"

namespace sunshaft::bench {

// What a contact's body gets to in still air with so many watts in it, degC: a rod of 20 mm by 110 mm, as a connector.
double joint_degC(double watt, double air_degC);
// Of a connector's body: above, it burns (common practice, no source).
inline constexpr double plastic_bears_degC = 105.0;

// What heat leaves on a contact, for good.
enum class Mark : unsigned {
    clean,
    discoloured,  // above 70 degC, what a conductor in PVC bears for long (IEC 60364-5-52, from memory)
    scorched      // above plastic_bears_degC, or burnt away
};
// A contact that can be looked at once all is dead: "isolator+", "drive.u", a connector "s1.m3-". Heat of full running
// marks it, whatever runs now: at the array the most that full sun lets it carry while the drive takes no more than its
// motor's rating, at the drive's outputs the motor's rated current. What acts have parted counts as whole, what has
// burnt away as scorched. Solves the wiring once, runs nothing.
struct Lug {
    std::string place;
    double watt = 0.0, degC = 0.0;
    bool burnt = false;
    Mark mark() const;
};
std::vector<Lug> lugs(const Bench& bench);

// The drive's box, once it has run for long as it runs now, degC: heat sink, and what turns to heat in the output
// terminals beside it. One that stands has what its heat sink has now. Runs a copy by a turn of the field.
double box_degC(const Bench& bench);

// Of each third of a module the cell that is driven backwards hardest, with link_V across the drive's input: place, W,
// degC; none without an array. (gauges.cpp)
std::vector<Bench::Warm> hot_cells(const site::Works& works, double link_V);

// What a nose finds at box, isolator and connectors: 0 nothing, 1 dust or varnish that was warm, 2 something burnt.
unsigned smells(const Bench& bench);

}  // namespace sunshaft::bench
