// Test points and clamp points: the names a probe can be put on (IEC 60445 / IEC 60034-8 letters).
#pragma once

#include <string>
#include <string_view>
#include <vector>

#include "site/works.hpp"

namespace sunshaft::site {

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

}  // namespace sunshaft::site
