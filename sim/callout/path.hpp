// The way the suspects engine itself would take to a call-out's end: a look round that costs next to nothing, then the
// tests anybody has, chosen by what each promises, read on the site as it is. It does not know what is wrong; only
// whoever carries its tests out does.
#pragma once

#include <functional>
#include <string>
#include <vector>

#include "callout/callout.hpp"
#include "diagnose/suspects.hpp"

namespace sunshaft::callout {

struct Leg {
    std::string test, name;  // of bench/field_tests.hpp; looking and listening at first: no test
    double from = 0.0, minutes = 0.0;
    std::string shown;
    int left = 0;  // suspects still above 1 in 20 after it
};
struct Path {
    std::vector<Leg> legs;
    double minutes = 0.0;
    bool suffices = false;  // its evidence does, at the end
    int group = 0;          // how many suspects no test at hand splits then
};

inline constexpr double suffices_from = 0.75;  // of one group that no test at hand splits
inline constexpr double still_left = 0.05;

// The probability of the most probable group. grouped: suspects whose groups are known; its own otherwise.
double leading(const diagnose::Answer& answer, const std::vector<diagnose::Suspect>& grouped = {});
int left(const diagnose::Answer& answer);

// progress may return false: then it throws diagnose::Stopped.
Path best_path(const Callout& callout, const diagnose::Priors& priors, const std::string& cache,
               const std::function<bool(double)>& progress = {});

}  // namespace sunshaft::callout
