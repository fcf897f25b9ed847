// What a point's name says of where it lies, and what feeds a site; for the rows of hazards.
#pragma once

#include <cctype>
#include <string>

#include "site/works.hpp"

namespace sunshaft::bench {

inline constexpr double bright_W_m2 = 1000;  // a cold morning's full sun

inline bool starts_with(const std::string& text, const char* stem) { return text.rfind(stem, 0) == 0; }

inline bool of_output(const std::string& p) {
    return starts_with(p, "drive.") || starts_with(p, "lead.") || starts_with(p, "cable.") || starts_with(p, "motor.");
}
inline bool of_guard(const std::string& p) { return starts_with(p, "dry.") || starts_with(p, "float."); }
inline bool of_metal(const std::string& p) { return p == "frame" || p == "casing" || p == "earth" || p == "pe"; }
inline bool of_string(const std::string& p) {
    return p.size() > 1 && p[0] == 's' && std::isdigit(static_cast<unsigned char>(p[1]));
}
inline bool of_array(const std::string& p) {
    return of_string(p) || starts_with(p, "array") || starts_with(p, "iso.in");
}
inline bool of_dc(const std::string& p) {
    return starts_with(p, "iso.out") || starts_with(p, "dc") || starts_with(p, "link");
}

inline bool mains(const site::Works& w) { return w.supply.kind == site::Supply::Kind::mains; }
inline bool array(const site::Works& w) { return w.supply.kind == site::Supply::Kind::array; }

}  // namespace sunshaft::bench
