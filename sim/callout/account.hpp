// The account of a call-out: what was wrong, where the evidence first sufficed, what each reading told, and points that
// each cite one rule.
//
// Decisions are judged, not luck: after every reading the suspects are weighed by what had been read till then
// (diagnose/suspects.hpp), the same for everybody. A named fault that one's own readings do not bear earns nothing,
// even when it is true: they bear it where they suffice for it. A test is judged by the information it promised a
// minute when it was chosen; within a fifth of the best at hand it has all its points. "The evidence suffices" is known
// from the readings alone: one group of faults that no test at hand splits holds three quarters.
#pragma once

#include <functional>
#include <optional>
#include <string>
#include <vector>

#include "callout/callout.hpp"
#include "callout/path.hpp"
#include "diagnose/suspects.hpp"

namespace sunshaft::callout {

// Minutes of the whole visit (scenarios/priors.toml, [minutes]): changes of state, and each reading.
double minutes(const diagnose::Case& notes, const diagnose::Priors& priors);

// One test, or one round of looking: readings one after the other that belong together.
struct Step {
    std::size_t first, last;  // readings of the case
    double from, minutes;     // when it began, and how long it took with the change of state before it
    std::string test;         // of bench/field_tests.hpp; empty: none of them
    std::string what, shown;
    double truth = 0.0;     // probability of what was wrong, after it
    int left = 0;           // suspects still above 1 in 20
    double bits = 0.0;      // by how much it lessened what was not known
    double worth = 0.0;     // 0 .. 1: what it promised a minute, as known before it, beside the best at hand then
    bool needless = false;  // it could not change the act: the evidence sufficed, and no test paid
    bool free = false;      // eyes, ears, and a link proved dead: never one too many
    bool misled = false;    // it does not see what was wrong, and spoke against it
};
struct Point {
    const char* rule;  // "C1"
    std::string why;
    double points, of;
    int step = -1;  // which of the steps it cites; -1: all of them
};
struct Account {
    std::string said, truth, named;  // in words
    std::vector<Step> steps;
    int suffices = -1;  // the first step after which the evidence sufficed; -1: it never did
    double minutes = 0.0;
    Path best;                         // the suspects engine's own way
    std::vector<std::string> missing;  // tests of that way which were not done, where the evidence never sufficed
    bool right = false, borne = false;
    std::vector<std::string> unsafe;  // acts, in words
    std::vector<Point> points;
    double mark = 0.0;  // 0 .. 100
    std::string well, change,
        lesson;  // one thing done well, one to change, what trains it: a file of scenarios/lessons
};

inline constexpr double deadly_cap = 40.0;  // of the mark, where an unsafe act was done

struct Conducted {
    diagnose::Case notes;
    Named named;                       // what the learner says it is
    std::vector<std::string> unsafe;   // acts carried out although they were refused
    std::optional<Named> second = {};  // what else it is
};
// cache: where signatures are kept. progress may return false: then it throws diagnose::Stopped.
Account judge(const Callout& callout, const Conducted& conducted, const diagnose::Priors& priors,
              const std::string& cache, const std::function<bool(double)>& progress = {});

std::vector<std::string> words(const Account& account);  // lines of at most 110 columns
std::string act_words(const std::string& act);           // "open@isolator" -> "Open the isolator"
std::string says(const diagnose::Seen& seen);            // as shown, heard or seen
std::string title_of(const Named& named);                // "bad splice ..., at v", "nothing: the site is healthy"

}  // namespace sunshaft::callout
