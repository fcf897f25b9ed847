// Numbers on the screen: unit prefixes, and never more digits than there are.
#pragma once

#include <string>
#include <string_view>

#include "text/figure.hpp"

namespace sunshaft::view {

// The formatter itself is sim/text/figure.hpp; here micro gets its letter and percent its digits.
using text::Figure;
Figure figure(double value, std::string_view unit, int digits = 4);
// With the resolution of the instrument that showed it: 237.13 V at 0.1 V is {"237.1", "V"}.
Figure figure_at(double value, std::string_view unit, double resolution);
// Tick labels: all with the same prefix and as many decimals as the step needs.
std::string tick_text(double value, double step, double largest, std::string_view unit);
// Prefix and unit that tick_text uses, for the axis title: "ms".
std::string tick_unit(double largest, std::string_view unit);
// Percent, of a fraction: "97.2 %".
std::string percent(double fraction, int digits = 3);
// A figure of a table whose unit stands in its head: four digits, none below a thousandth, five places at most.
std::string cell(double value);
// A difference: "+4.2", "-17", "0".
std::string signed_figure(double value, int decimals);
// A clock of simulated time: "2:03.50" minutes and seconds, from an hour on "1:01:33".
std::string clock_text(double seconds);
// Rate of time: "real time", "1/1000", "10x".
std::string rate_text(double rate);

}  // namespace sunshaft::view
