// Where a point lies and what feeds a site, in the words of this room.
#pragma once

#include <string>

#include "circuit/circuit.hpp"
#include "site/points.hpp"

namespace sunshaft::bench {

inline constexpr double bright_W_m2 = 1000;  // a cold morning's full sun

inline bool of_output(const std::string& p) { return site::on_output(site::part_of(p)); }
inline bool of_guard(const std::string& p) { return site::part_of(p) == site::Part::guard; }
inline bool of_metal(const std::string& p) { return site::part_of(p) == site::Part::metal; }
inline bool of_string(const std::string& p) { return site::part_of(p) == site::Part::string; }
inline bool of_array(const std::string& p) { return site::on_array_side(site::part_of(p)); }
inline bool of_dc(const std::string& p) { return site::on_link_side(site::part_of(p)); }
inline bool of_second(const std::string& p) { return site::part_of(p) == site::Part::second; }
inline bool of_drive(const std::string& p) { return site::part_of(p) == site::Part::drive; }

inline bool mains(const site::Works& w) { return w.supply.kind == site::Supply::Kind::mains; }
inline bool array(const site::Works& w) { return w.supply.kind == site::Supply::Kind::array; }

// A test point in a site's wiring. Throws site::BadInput where there is none of that name.
circuit::Node node_at(const circuit::Circuit& wiring, const std::string& name);

}  // namespace sunshaft::bench
