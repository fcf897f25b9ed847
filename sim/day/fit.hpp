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
    std::string note;  // which key is missing, or what the figures hang on
    static constexpr double missing_figure = std::numeric_limits<double>::quiet_NaN();
    // What is left, as a share of the bound; negative: too much.
    double left() const { return at_most ? 1 - is / bound : is / bound - 1; }
};

struct Fit {
    std::vector<Margin> rows;
    bool fails() const;
    bool incomplete() const;
    bool sound() const { return !fails() && !incomplete(); }
};

// Throws site::BadInput as check() does. Takes a day of the sun for the water.
Fit fit(const Scenario& scenario);

// The one change of a key that helps most: of the margins the worst, then the water of a clear day.
struct Suggestion {
    std::string change;  // "array.modules_in_series=9"
    std::string why;
    double worst_before = 0.0, worst_after = 0.0;  // least margin, as a share
    double water_before = 0.0, water_after = 0.0;  // m3, of a clear day at the equinox
};
std::optional<Suggestion> suggest(const Scenario& scenario);

}  // namespace sunshaft::day
