// The account of a call-out: what was wrong, where the evidence first sufficed, what each reading told, and points that
// each cite one rule.
//
// Decisions are judged, not luck: after every reading the suspects are weighed by what had been read till then
// (diagnose/suspects.hpp), the same for everybody. A named fault that one's own readings do not bear earns nothing,
// even when it is true.
#pragma once

#include <functional>
#include <string>
#include <vector>

#include "callout/callout.hpp"
#include "diagnose/suspects.hpp"

namespace sunshaft::callout {

// Minutes of the whole visit (scenarios/priors.toml, [minutes]): changes of state, and each reading.
double minutes(const diagnose::Case& notes, const diagnose::Priors& priors);

struct Step {
    std::size_t seen;      // of the case
    double from, minutes;  // when it began, and how long it took with the change of state before it
    std::string what, shown;
    double truth;   // probability of what was wrong, after it
    int left;       // suspects still above 1 in 20
    double bits;    // by how much it lessened what was not known
    bool needless;  // it could not change the act: the evidence sufficed before it
    bool free;      // eyes and ears: never one too many
};
struct Point {
    const char* rule;  // "C1"
    std::string why;
    double points, of;
};
struct Account {
    std::string said, truth, named;  // in words
    std::vector<Step> steps;
    int suffices = -1;  // the first step after which the evidence sufficed; -1: it never did
    double minutes = 0.0;
    bool right = false, borne = false;
    int unsafe = 0;
    std::vector<Point> points;
    double mark = 0.0;         // 0 .. 100
    std::string well, change;  // one thing done well, one to change
};

struct Conducted {
    diagnose::Case notes;
    Named named;                      // what the learner says it is
    std::vector<std::string> unsafe;  // acts carried out although they were refused
};
// cache: where signatures are kept. progress may return false: then it throws diagnose::Stopped.
Account judge(const Callout& callout, const Conducted& conducted, const diagnose::Priors& priors,
              const std::string& cache, const std::function<bool(double)>& progress = {});

std::vector<std::string> words(const Account& account);  // lines of at most 110 columns
std::string title_of(const Named& named);                // "bad splice ..., at v", "nothing: the site is healthy"

}  // namespace sunshaft::callout
