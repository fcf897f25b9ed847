// What a person says a display or a gauge shows, made a figure: "3,6", "OL", "about 230 V", "jumps 180 to 210",
// "less than 5", "falls slowly", "no water", "could not reach".
//
//     typed("3,6 k", "ohm")            3600 ohm, between 3550 and 3650
//     typed("200", "Mohm")             200 Mohm: a bare figure is taken in the unit the mode is read in
//     typed("1 .", "ohm")              over range
//     typed("jumps 180 to 210", "V")   195 V, anything between 180 and 210
//
// A comma is a decimal sign, unless a point follows it or there are several. Nothing throws: what is not understood is
// Kind::words, to be read back as such.
#pragma once

#include <string>
#include <string_view>

namespace sunshaft::diagnose {

struct Typed {
    enum class Kind {
        figure,   // value, and between low and high
        over,     // over range; above `low` where a range or a limit was named
        nothing,  // not measured, could not be reached
        words     // not understood
    };
    enum class Moves { no, falls, rises, jumps };
    Kind kind = Kind::words;
    double value = 0.0;            // SI
    double low = 0.0, high = 0.0;  // what was said to be possible, SI; half a digit either side of a plain figure
    std::string unit;              // "V" "A" "ohm" "F" "Hz" "m3/s" "m" "W/m2" "degC" "m3" "" (a share)
    bool bare = false;             // neither unit nor prefix was said
    bool about = false;
    bool at_least = false, at_most = false;  // "more than", "less than": value is that limit
    Moves moves = Moves::no;
    std::string said;               // made fit to be shown
    std::string read_back() const;  // "about 230 V", "over range", "not measured"; with the said words where not
                                    // understood
};
// usual: the unit a bare figure is taken in: "V" "A" "ohm" "Mohm" "nF" "Hz" "m3/h" "m" "W/m2" "degC" "m3" "s"; it also
// says what a lone "m", "M", "F" or "%" can mean.
Typed typed(std::string_view text, std::string_view usual);

}  // namespace sunshaft::diagnose
