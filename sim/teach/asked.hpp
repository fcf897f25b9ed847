// What is asked and what is so: a look on a site in a state, what its display shows there, what each belief would have
// expected, and which typed answers count as right. Everything here is computed from the bench; nothing is stored.
#pragma once

#include <map>
#include <memory>
#include <optional>
#include <string>
#include <utility>
#include <vector>

#include "bench/field_tests.hpp"
#include "diagnose/typed.hpp"
#include "teach/lesson.hpp"

namespace sunshaft::teach {

// The state of a site that looks are taken in: its keys and faults, as of --set and --fault.
struct State {
    std::string site;
    std::vector<std::string> set, fault;
    State with(const Look& look) const;  // its own changes added; healthy: without faults
    std::string key(bench::Station station, double after_s) const;
};

// What was seen.
struct Seen {
    std::optional<double> value;  // SI; none where over range or nothing to show
    bool over = false;
    double low = 0.0, high = 0.0;  // could be
    std::string shown, unit;
    meter::Reading reading;  // of a meter
    std::string how;         // of a gauge
};

// Benches in the states that were asked for, and what was seen there, kept: a reading leaves a bench as it is.
class Benches {
  public:
    // Good until the next call. Throws site::BadInput where the site has no such place or key.
    const bench::Bench& at(const State& state, bench::Station station, double after_s = Look::usual_after_s) {
        return *share(state, station, after_s);
    }
    // The same, good as long as somebody holds it.
    std::shared_ptr<const bench::Bench> share(const State& state, bench::Station station,
                                              double after_s = Look::usual_after_s);
    const Seen& seen(const State& state, const Look& look);

  private:
    std::map<std::string, std::shared_ptr<const bench::Bench>> kept_;
    std::map<std::string, std::shared_ptr<const Scenario>> sites_;
    std::map<std::string, Seen> seen_;
};

// A question: the look, in which state, and the looks that are known beforehand.
struct Asked {
    Look look;
    State state;
    std::vector<Look> given;
    std::vector<std::string> why;
};

class Answers {
  public:
    Answers(Benches& benches, const Beliefs& beliefs) : benches_(&benches), beliefs_(&beliefs) {}

    const Seen& seen(const State& state, const Look& look) { return benches_->seen(state, look); }
    std::vector<std::string> cautions(const State& state, const Look& look);
    // The same of several looks, each caution once: of one that they share with the highest volts among them.
    std::vector<std::string> cautions(const std::vector<std::pair<State, Look>>& looks);
    std::vector<std::string> standing(const State& state);  // the site by itself, whatever is looked at
    // What a belief expects the look to show, SI; endless: over range. Throws site::BadInput, pointing at the belief,
    // where a name in its formula means nothing here.
    double expects(const Asked& asked, const Belief& belief);

    // What counts as right: the display's own band, or 2 % of the figure where that is wider (arithmetic in the head),
    // or half a per cent of the next larger figure that a belief expects, which is nothing beside it.
    struct Accepted {
        bool over = false;
        double low = 0.0, high = 0.0;
        std::string unit, because;
        bool takes(double value) const { return !over && value >= low && value <= high; }
        bool takes(const diagnose::Typed& typed) const;
    };
    Accepted accepted(const Asked& asked);
    // The reasons that fit what is seen; exactly one in a sound lesson.
    std::vector<std::string> fitting(const Asked& asked);
    // The beliefs of the question whose figure a person's answer is; several: it cannot be told from the figure alone.
    std::vector<std::string> matched(const Asked& asked, const diagnose::Typed& typed);

    const Belief& belief(const std::string& id, const Mark& asked_at) const;
    // The unit a bare figure is taken in.
    static std::string usual_unit(const Look& look);

  private:
    double named(const Asked& asked, const std::string& name);
    Benches* benches_;
    const Beliefs* beliefs_;
};

}  // namespace sunshaft::teach
