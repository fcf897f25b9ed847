// Test points and clamp points: the names a probe can be put on (IEC 60445 / IEC 60034-8 letters).
#pragma once

#include <string>
#include <string_view>
#include <vector>

#include "site/works.hpp"

namespace sunshaft::site {

// The part of the chain a point belongs to, from sun to motor, by its name alone.
enum class Part {
    string,        // modules, connectors and ends of a string
    array,         // array end of the DC run
    isolator_in,   // its array side
    isolator_out,  // its drive side
    input,         // of the drive, DC
    link,
    second,  // output of the second supply's rectifier
    drive,   // output terminals
    lead,    // top end of the drop cable
    cable,   // its bottom end
    motor,
    guard,  // dry-run probe, float
    metal,  // frame, casing, earth
    none
};
Part part_of(std::string_view point);
inline bool on_array_side(Part p) { return p <= Part::isolator_in; }
inline bool on_link_side(Part p) { return p >= Part::isolator_out && p <= Part::link; }
inline bool on_output(Part p) { return p >= Part::drive && p <= Part::motor; }

struct PointInfo {
    std::string name;   // "drive.u"
    std::string where;  // "output terminal of phase u at the drive"
    bool reachable;     // by a hand in the field
    bool clamp;         // a clamp goes here, not a probe
};

// All points that exist on this site, from sun to motor.
std::vector<PointInfo> points(const Works& works);

// Names in use all over: u v w and their index.
inline constexpr std::array<const char*, 3> phase_letter = {"u", "v", "w"};
std::string phase_point(std::string_view stem, int phase);  // ("drive", 0) -> "drive.u"

// The fuse of a string is no point but a place: faults, acts and suspects name it so.
std::string fuse_of(std::string_view string);        // "s2" -> "fuse.s2"
std::string fused_string(const std::string& place);  // "fuse.s2" -> "s2"; empty: no fuse
// "s2.m3-", "fuse.s2", "s2" -> "s2"; empty: of no string.
std::string string_of(const std::string& place);

}  // namespace sunshaft::site
