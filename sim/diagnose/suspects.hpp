// From readings to suspects: what is wrong, with what probability, which reading to doubt, what to do next.
//
//     Diagnosis d(c, load_priors(shipped_priors()), cache_folder());
//     const Answer a = d.answer();
//
// Probabilities are those of the hypotheses given all that was read: prior (priors.toml) times likelihood (weigh.hpp),
// the nuisances a case shares marginalised, severities integrated. The answer does not depend on the number of threads,
// on the order of readings or of the catalogue.
#pragma once

#include <array>
#include <functional>
#include <optional>
#include <string>
#include <vector>

#include "bench/field_tests.hpp"
#include "diagnose/case.hpp"
#include "diagnose/facts.hpp"
#include "diagnose/hypotheses.hpp"
#include "diagnose/priors.hpp"
#include "diagnose/today.hpp"

namespace sunshaft::diagnose {

inline constexpr std::array<const char*, 6> wheres = {"waiting", "array", "box", "above-ground", "bore", "data"};

// A split names what would part the members of a group.
struct Split {
    std::string test;
    double minutes = 0.0;
    std::vector<bench::Hazard> hazards;
};
// One reading beside what health and a suspect would show.
struct Compared {
    std::size_t seen;
    std::string what, read, healthy, suspect;
    double off_healthy = 0.0, off_suspect = 0.0;  // in standard deviations
};
// A second cause of one suspect.
struct Second {
    std::string fault, place, title;
    double severity = 1.0;
};
struct Suspect {
    std::string fault, place;
    double severity = 1.0, probability = 0.0;
    std::string group, title, where;  // title in English, as its row has it: text::tr()
    std::optional<Split> split = {};
    std::array<double, 6> lies = {};     // shares of it by `wheres`, together 1; nothing-here-fits: none
    std::vector<Compared> columns = {};  // of the first few: every reading
    std::vector<Second> with = {};       // what is wrong besides
};
struct Doubt {
    std::size_t seen;
    std::string why;
    double probability;
    int times = 1;  // it was read
};
struct Outcome {
    std::string shown, means;
    double probability;
    std::vector<double> after = {};  // what would be left of each of Answer::suspects
};
struct Proposal {
    std::string test, name, how;
    std::vector<std::string> act, undo;    // what is done before; and after, where something is not to stay so
    bench::Observation what;               // the first to be read ...
    std::vector<bench::Observation> also;  // ... and what is read on the same visit
    std::string meter;
    double minutes = 0.0, gain_bits = 0.0;  // with the way there; told by it alone
    double minutes_there = 0.0;             // without the way: for what is done on the same visit
    int visit = 0;                          // what shares a number is done on one visit
    int exposure = 0;                       // 0 ask, 1 look, 2 display, 3 clamp or by hand, 4 dead, 5 live
    std::vector<Outcome> outcomes;
    std::vector<bench::Hazard> hazards;
    std::string lacks;          // what must be brought for it; empty: it can be done now
    bool now = true;            // in this light, as far as its hour is known
    double from_h = not_given;  // else: from this hour of the clock on; not given: not again on this day
    bool weak_light = false;    // it looks at the array in a light too weak for good volts to prove anything
};
// Readings before a repair that are put down to what was repaired.
struct PutDown {
    std::size_t first, last;  // counted from 1
    std::string repaired;     // title of the fault
};
struct Stop {
    std::string advice;  // measure | lift | repair | recount | repeat | wait | hand-over
    double minutes = 0.0;
    std::string text;
    std::vector<std::string> tests = {};      // named in it
    std::vector<bench::Hazard> hazards = {};  // of all that it names; said before it
};
inline constexpr double nothing_fits = 0.001;  // Answer::fits below this: do not trust the order
struct Answer {
    std::array<double, 6> where{};
    std::vector<Suspect> suspects;  // most probable first; sum to one
    std::vector<Doubt> doubtful;
    std::vector<Proposal> next, bring;
    Stop stop;
    std::optional<Today> today;          // with tests, where the case tells its hour
    std::optional<std::size_t> against;  // of the first suspect's columns: the reading that speaks most against it
    double fits = 1.0;                   // how probable it is that readings fit the best of all hypotheses no better
    std::vector<PutDown> put_down;       // in order
    std::vector<std::string> notes;      // what is not weighed, and why
    std::vector<std::string> read_back;  // by reading
    long computed = 0;                   // sites run for it
};

class Diagnosis {
  public:
    // Throws site::BadInput.
    Diagnosis(Case c, Priors priors, const std::string& cache);
    ~Diagnosis();
    // tests: also what to do next (takes longer). Throws Stopped where progress() says false.
    Answer answer(const std::function<bool(double)>& progress = {}, bool tests = true);
    // The same without tests, from two severities of each fault: rough, in about half the time. What it works out
    // answer() need not.
    Answer first(const std::function<bool(double)>& progress = {});

  private:
    Answer weighed(const std::function<bool(double)>& progress, bool tests, bool rough);
    struct Work;
    std::unique_ptr<Work> work_;
};

}  // namespace sunshaft::diagnose
