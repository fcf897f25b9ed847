// The last minute of a site, to be walked through while time is held: the whole bench every quarter of a second.
#pragma once

#include <deque>

#include "bench/bench.hpp"

namespace sunshaft::view {

class Past {
  public:
    static constexpr double kept_seconds = 60.0, every_seconds = 0.25;
    void keep(const bench::Bench& bench);
    // The latest before a time, or the first there is; null: none.
    const bench::Bench* before(double t) const;
    double from() const;  // s: since when; of nothing kept: 0

  private:
    std::deque<bench::Bench> kept_;
};

}  // namespace sunshaft::view
