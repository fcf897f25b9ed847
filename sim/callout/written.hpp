// The site as it is written, with nothing wrong, through the same acts for the same time. Cautions and refusals of a
// call-out are told from it: the state of the site itself would tell what is wrong before anybody has measured.
#pragma once

#include "bench/hazards.hpp"

namespace sunshaft::callout {

class Written {
  public:
    // today: keys and acts of the day; its faults are left out.
    Written(const Scenario& scenario, const bench::Edits& today);
    void put(const bench::Edits& edits);  // of the site itself
    // Runs on until then; what takes longer than some minutes is taken as settled.
    void run_to(double t);
    bench::Scene scene() const;
    const bench::Bench& bench() const { return bench_; }
    const site::Works& works() const { return bench_.site()->works; }

  private:
    bench::Bench bench_;
};

}  // namespace sunshaft::callout
