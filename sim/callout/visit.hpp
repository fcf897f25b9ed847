// A visit to a call-out: what somebody does there, one act or look after the other, its cautions before it. The same
// for whatever plays it.
#pragma once

#include <memory>
#include <string>
#include <vector>

#include "bench/hazards.hpp"
#include "callout/account.hpp"
#include "meter/meter.hpp"

namespace sunshaft::callout {

class Visit {
  public:
    // scenario: of the call-out's site, with its keys of the day set. The pump has run for some seconds.
    Visit(const Scenario& scenario, const Callout& callout);
    Visit(const Visit&) = delete;
    Visit& operator=(const Visit&) = delete;

    // Before it is done: what must be known. After it: what was shown; each look is noted.
    std::vector<std::string> cautions(const bench::Probes& probes, meter::Mode mode, const std::string& meter) const;
    std::vector<std::string> cautions(const site::Act& act) const;
    // Throw bench::Refused unless the user insists, then it counts as unsafe; site::BadInput for what is not there.
    std::string read(const bench::Probes& probes, meter::Mode mode, const std::string& meter, bool anyway);
    void act(const std::string& kind, const std::string& place, bool anyway);
    std::string gauge(const std::string& name);
    void wait(double seconds);  // 0 .. 3600

    const diagnose::Case& notes() const { return notes_; }
    Conducted conducted(const Named& named) const { return {notes_, named, unsafe_}; }

  private:
    bench::Scene scene() const;
    void insist(bench::Conduct& conduct);

    std::unique_ptr<bench::Bench> bench_;
    bench::Edits edits_;
    diagnose::Case notes_;
    std::vector<std::string> standing_, unsafe_;
    std::optional<double> dipped_;
};

// What of the acts done stands: "open@isolator"; an act undone is gone with what undid it.
void stands(std::vector<std::string>& standing, const std::string& kind, const std::string& place);

}  // namespace sunshaft::callout
