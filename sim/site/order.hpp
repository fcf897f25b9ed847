// The one-line orders of the command line: KIND@PLACE[=VALUE][@SECONDS]. Only for faults.cpp, acts.cpp and load.cpp.
#pragma once

#include <optional>
#include <string>
#include <string_view>
#include <vector>

namespace sunshaft::site {

inline constexpr double latest_s = 86400.0;  // a fault or an act comes within a day

struct Order {
    std::string kind, place;  // place empty: left out
    std::optional<double> value;
    double time = 0.0;  // s
};
// Throws BadInput without prefix.
Order parse_order(const std::string& text);

std::string unknown_word(const std::string& word, std::string_view expected,
                         const std::vector<std::string_view>& known);
std::string unknown_place(const std::string& place, const std::vector<std::string>& known);

}  // namespace sunshaft::site
