// A call-out: a site with something wrong that nobody is told, the owner's complaint, and afterwards the truth.
//
//     const Callout c = draw(scenario, priors, {.seed = 7});
//     files: seal.hpp
//     Bench bench(scenario, edits of c)      // what the learner stands in front of
//
// The fault is drawn by the priors of the trade (scenarios/priors.toml). One call in five is a healthy site or one in
// weak light, one in ten has two faults in different parts, one in ten shows only after a while. It must show from
// outside, or be weak light. The complaint follows from what shows from outside, and from the seed, alone: sites that
// look the same from outside have the same complaint.
#pragma once

#include <cstdint>
#include <functional>
#include <optional>
#include <string>
#include <vector>

#include "bench/bench.hpp"
#include "diagnose/priors.hpp"

namespace sunshaft::callout {

struct Named {
    std::string fault;  // of the catalogue, or health, low-sun
    std::string place;  // of the catalogue; empty: none, or any
    friend bool operator==(const Named&, const Named&) = default;
};

// What anyone sees and hears from outside after some seconds of running.
struct Signs {
    enum class Water { none, little, usual };
    Water water = Water::usual;
    bool pumps = true;      // else a bench: what is said of water is said of the motor
    unsigned lamps = 0;     // those that are lit, as the gauge "lamps" counts them (bench/senses.hpp)
    bool gives_up = false;  // it tripped
    bool late = false;      // so only after a while; at first all was well
    friend bool operator==(const Signs&, const Signs&) = default;
};

// What the owner tells: what he sees, and since when. The words are made where they are heard, in the language there.
struct Complaint {
    Signs signs;
    unsigned since = 0;  // 0 .. complaint_days - 1: "Since Tuesday" and the like
    std::string own;     // words somebody wrote instead, as they stand
};
inline constexpr unsigned complaint_days = 4;
std::string words(const Complaint& complaint);

struct Callout {
    std::string site;  // as the user named it
    Complaint owner;
    std::vector<std::string> set;     // keys of the day, for all to see: "sun.irradiance_W_m2=820"
    std::vector<site::Fault> faults;  // what is wrong; none: nothing
    Named truth;
    std::optional<Named> second;  // another fault besides
    std::string sealed;           // the text it was read from; empty: not sealed yet
    std::string word;  // whoever says it may open it before the end; empty: nobody asks. Kept as a hash once sealed
};

struct Wish {
    std::uint64_t seed = 1;
    int level = 2;       // 1: common faults that stop the water; 2: all that shows
    double usual = 0.0;  // healthy_output() of this site; 0: it is worked out
};

// healthy: healthy_output() of this site. late: watched for a minute where nothing shows at first.
Signs signs(const Scenario& scenario, const bench::Edits& edits, double healthy, bool late = false);
// Without a fault: flow, m3/s; on a bench without a pump the shaft's speed, rad/s.
double healthy_output(const Scenario& scenario);
Complaint complaint(const Signs& signs, std::uint64_t seed);

// progress(fraction) may return false: then it throws diagnose::Stopped. Throws site::BadInput where no fault of the
// catalogue shows on this site.
Callout draw(const Scenario& scenario, const diagnose::Priors& priors, const Wish& wish,
             const std::function<bool(double)>& progress = {});

// The site's edits as the learner meets it.
bench::Edits edits(const Callout& callout);

}  // namespace sunshaft::callout
