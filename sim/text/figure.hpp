// Every figure a user sees is written here: the command line, the reasons, the gauges, the window. SI in, words out.
//
//     text::quantity(237.134, "V")              "237.1 V"      a figure in a sentence: four digits at most, none idle
//     text::figure(4.7e3, "ohm", 3)             "4.70","kohm"  number and unit apart; idle zeros stay, columns do not
//                                               jump
//     text::figure_at(237.134, "V", 0.1)        "237.1 V"      no finer than an instrument's step
//     text::among(-2.6e-4, "A", 10.01)          "0 A"          beside a larger one: no finer than its last digit
//     text::column(0.4, "V", 250.1)             "0.4"          the same as a number of a table, in the unit itself
//     text::plain(1.6e-6)                       "0.0000016"    as it is typed: shortest, exact, without exponent
//     text::range(4700, 15300, "ohm")           "4.7 to 15.3 kohm"   a band: digits its width can bear
//     text::percent(0.0931)                     "9.3 %"
//
// What lies below the floor of its quantity (floor_of: the solver's and the meters' own noise) is 0, never an exponent,
// never "-0". Prefixes are those people say: mA, kohm, kW, but no kV below 10 kV and no mm of water level. A quantity
// that is no number is "-"; an endless resistance is "open".
#pragma once

#include <string>
#include <string_view>

namespace sunshaft::text {

struct Figure {
    std::string number, unit;
    std::string text() const { return unit.empty() ? number : number + " " + unit; }
};

// Below it a quantity of this unit is nothing, SI: "V", "A", "ohm", "F", "Hz", "s", "W", "m", "m3/h" ...; another unit:
// 1e-6.
double floor_of(std::string_view unit);

// A power of ten and its letter ("u" for micro), for values up to `largest` of a unit; columns and axes share one.
struct Prefix {
    int exponent;
    const char* sign;
};
Prefix prefix_for(double largest, std::string_view unit);

// `digits` significant ones (2 .. 7). A number of more digits before the point keeps them all.
Figure figure(double value, std::string_view unit, int digits = 4);
Figure figure_at(double value, std::string_view unit, double step);
std::string quantity(double value, std::string_view unit, int digits = 4);  // without idle zeros; "%": of a fraction
// Of figures that stand side by side and belong together: `digits` of the largest set the last digit of all.
std::string among(double value, std::string_view unit, double largest, int digits = 4);
std::string column(double value, std::string_view unit, double largest, int digits = 4);
std::string plain(double value);
// Rounded outwards to two digits of its half width.
std::string range(double low, double high, std::string_view unit);
std::string percent(double fraction, int digits = 2);  // from 10 % on one digit more; under 0.01 %: said so

// "-0.00" says nothing that "0.00" does not.
std::string fixed(double value, int decimals);
// Decimals that show a step: 0.1 -> 1, 0.25 -> 2, 10 -> 0.
int decimals_of(double step);

}  // namespace sunshaft::text
