// What meters keep: the smallest and the largest that was shown and the peaks of the wave; a clamp that waits for an
// in-rush.
#pragma once

#include <memory>
#include <optional>
#include <string>

#include "meter/watch.hpp"
#include "model/history.hpp"
#include "model/snapshot.hpp"

namespace sunshaft::view {

// A new figure on the display: nothing is kept of one that is over range.
void keep(std::optional<Memory>& memory, const meter::Reading& reading);

// Armed, it waits for the conductor's current to pass the clamp's trigger and keeps what meter::surge() makes of the
// time after that, until it is armed anew.
class InrushWait {
  public:
    void arm(double t) { *this = {}, armed_ = true, scanned_ = t; }
    void disarm() { *this = {}; }
    bool armed() const { return armed_; }
    // After each stretch of simulated time; `signals`: what is in the jaws, recorded in the history.
    void look(const History& history, const History::Signed& signals, const meter::Spec& clamp, meter::Mode mode,
              double now);
    std::shared_ptr<const meter::Surge> caught() const { return caught_; }

  private:
    bool armed_ = false;
    double scanned_ = 0.0;  // up to here nothing has passed the trigger
    std::optional<double> triggered_;
    std::shared_ptr<const meter::Surge> caught_;
};

}  // namespace sunshaft::view
