// What the owner tells of the days before is evidence: "stops at noon, back at three", "tank full by two last month, by
// four now", "twenty starts a day". The day room (day/run.hpp) predicts each for every hypothesis, under a clear sky
// and under passing clouds, for nobody wrote down which it was.
//
// "Only after rain" is told of what comes with damp, and goes as it dries: the day of a wet leak beside the healthy
// one. What comes with rain is what the priors' table says so of. A fault that is there in the dry as well is hardly
// told of so. Sentences of another kind ("an electrician was here") stay with that table.
#pragma once

#include <map>
#include <optional>
#include <string>
#include <vector>

#include "diagnose/hypotheses.hpp"

namespace sunshaft::diagnose {

struct Told {
    enum class What {
        stops_midday,  // pumps in the morning, not about noon, and again in the afternoon
        full_by,       // the tank is full at `now`, where it was at `before`
        starts,        // so many in a day
        after_rain     // only after rain
    };
    What what = What::starts;
    std::string said;
    double now = 0.0, before = 0.0;  // hours by the clock, or a number; stops_midday: when it comes back
};
// What is meant by a sentence; nothing: none of these.
std::optional<Told> told(const std::string& sentence);

// What a day of a site shows of it.
struct DayShown {
    double morning_h = 0.0, midday_h = 0.0;  // hours with water of 7 to 10 and of 11:30 to 14:30
    double starts = 0.0;
    std::vector<double> water_m3;  // since midnight, every ten minutes
    double full_h = 24.0;          // when the float first stops it
    double by(double hour) const;  // m3
};

class History {
  public:
    // Nothing is told that a day's run knows of, or the site has no sun to run on: empty().
    // priors: which faults come with rain; keep it alive. None: no fault does.
    History(const Scenario& scenario, const std::vector<std::string>& intake, const Priors* priors = nullptr);
    bool empty() const { return told_.empty(); }
    const std::vector<Told>& sentences() const { return told_; }
    // The intake without those.
    const std::vector<std::string>& rest() const { return rest_; }
    // How likely a site with such a fault is to be told of so: over its severities. Faults of one kind share an answer,
    // whatever their place; what acts on nothing a day's run knows is left to the priors' words (nothing).
    // The first question about a kind takes some days' runs of 15 ms, magnets and open devices some 100 ms.
    std::optional<double> likely(const Cause& cause);
    // The causes with what was told made part of their priors, which sum to one again.
    void weigh(std::vector<Cause>& causes, const Priors& priors);

  private:
    std::vector<DayShown> days(const Change& change) const;
    double likely(const Told& t, const std::string& fault, const DayShown& shown, const DayShown& healthy) const;
    double over(const std::vector<std::vector<DayShown>>& points, const std::string& fault, bool graded) const;

    Scenario scenario_;
    const Priors* priors_;
    std::vector<Told> told_;
    std::vector<std::string> rest_;
    std::vector<DayShown> healthy_;  // by sky
    bool slow_ = false;              // days of this site are dear
    std::map<std::string, std::optional<double>> known_;
};

}  // namespace sunshaft::diagnose
