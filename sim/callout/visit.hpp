// A visit to a call-out: what somebody does there, one act or look after the other, its cautions before it. The same
// for whatever plays it.
#pragma once

#include <memory>
#include <string>
#include <vector>

#include "bench/hazards.hpp"
#include "callout/record.hpp"
#include "callout/written.hpp"
#include "meter/meter.hpp"

namespace sunshaft::callout {

class Visit {
  public:
    // scenario: of the call-out's site, with its keys of the day set.
    Visit(const Scenario& scenario, const Callout& callout);
    Visit(const Visit&) = delete;
    Visit& operator=(const Visit&) = delete;

    // Every deed is kept there before its reading is handed out; what stands there already is done again, so that the
    // site is as it was left. record: must outlive the visit, begun with this call-out.
    void keep_in(Record& record);

    // What is refused is told from the site as it is written, or from what somebody has read: volts, since the last
    // act. What only the site itself forbids is done, and noted as unsafe: nobody had proved it dead.
    // In an exam nobody insists: what is refused is noted as unsafe, and not done.
    void exam(bool on) { exam_ = on; }
    // Before it is done: what must be known. After it: what was shown; each look is noted.
    std::vector<std::string> cautions(const bench::Probes& probes, meter::Mode mode, const std::string& meter) const;
    std::vector<std::string> cautions(const site::Act& act) const;
    std::vector<std::string> cautions(const std::string& gauge) const;  // of eyes, ears and gauges
    // Throw bench::Refused unless the user insists, then it counts as unsafe; site::BadInput for what is not there.
    std::string read(const bench::Probes& probes, meter::Mode mode, const std::string& meter, bool anyway);
    void act(const std::string& kind, const std::string& place, bool anyway);
    std::string gauge(const std::string& name);
    void wait(double seconds);         // 0 .. 3600
    void strike(std::size_t reading);  // from 0: it does not count, or counts again
    void swap();                       // the two at one laptop change roles

    const std::vector<Deed>& deeds() const { return done_.deeds; }
    diagnose::Case notes() const { return done_.notes(); }
    const site::Works& works() const { return written_.works(); }  // with nothing wrong
    Conducted conducted(const Named& named) const { return {done_.notes(), named, done_.unsafe()}; }

  private:
    bench::Scene scene() const;
    bench::Scene as_written() const;
    bench::Scene known() const;
    void run(double seconds);
    void done(const site::Act& act);
    std::vector<std::string> said(std::vector<bench::Hazard> hazards) const;
    template <class... What>
    bool unsafe(bool anyway, const What&... what) const;
    void put(const bench::Edits& edits);
    void did(Deed deed);
    void again(const Deed& deed);
    void stopped(Deed deed);

    std::unique_ptr<bench::Bench> bench_;
    Written written_;
    bench::Edits edits_;
    Attempt done_;
    Record* record_ = nullptr;
    std::vector<std::string> standing_;
    std::optional<double> dipped_;
    bool live_seen_ = false;  // volts were read since the last act
    bool exam_ = false;
    double changed_ = 0.0;  // s: when what was done last changed
};

// What eyes, ears and a gauge tell, as a case has it: one entry, of lamps one each that is lit.
std::vector<diagnose::Seen> told(const std::string& gauge, const std::string& says);

}  // namespace sunshaft::callout
