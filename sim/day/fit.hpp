// Will it fit: the figures of a site against what its parts bear, each as a margin with its rule and where that comes
// from.
//
// Nothing here stands above the local code. Where a figure is missing the row says which key would tell it, and the
// site is not called sound.
#pragma once

#include <limits>
#include <optional>
#include <string>
#include <vector>

#include "day/operating.hpp"

namespace sunshaft::day {

struct Margin {
    enum class Verdict { fits, tight, fails, untold };
    static const char* word(Verdict verdict);  // "fits" ... "FAILS"
    std::string what, rule, source;
    double is = missing_figure, bound = missing_figure;  // SI, in `unit`
    std::string unit;
    bool at_most = true;  // is has to stay below bound; false: above it
    Verdict verdict = Verdict::untold;
    std::string note;    // which key is missing, or what the figures hang on
    bool water = false;  // it is about water; false: electrical
    static constexpr double missing_figure = std::numeric_limits<double>::quiet_NaN();
    // What is left, as a share of the bound; negative: too much.
    double left() const { return at_most ? 1 - is / bound : is / bound - 1; }
    std::string left_words() const;  // "+7 %"; empty: there are no figures to tell it by
};

struct Fit {
    std::vector<Margin> rows;
    bool fails() const;
    bool incomplete() const;
    bool sound() const { return !fails() && !incomplete(); }
};

// Throws site::BadInput as check() does. Takes a day of the sun for the water. meter: that is used there, its file or
// the name of a shipped one (throws meter::SpecError); empty: the usual one.
Fit fit(const Scenario& scenario, const std::string& meter = {});

// The one change of a key that helps most: fewest electrical rows that fail, by least together; of those fewest rows of
// water; then the water of a clear day.
struct Suggestion {
    std::string change;  // "array.modules_in_series=9"
    std::string why;
    std::string row;                               // the weakest of the site as it is
    double row_before = 0.0, row_after = 0.0;      // its margin, as a share; NaN: no figure, or not asked any more
    long fails_before = 0, fails_after = 0;        // rows
    double water_before = 0.0, water_after = 0.0;  // m3, of a clear day at the equinox
    std::string words() const;                     // what it brings
};
std::optional<Suggestion> suggest(const Scenario& scenario, const std::string& meter = {});

}  // namespace sunshaft::day
