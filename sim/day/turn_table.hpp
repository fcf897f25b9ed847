// Figures of a turn at nodes of frequency, volts and slip: worked out as they are first asked for, and kept.
#pragma once

#include <deque>
#include <vector>

#include "day/motor_side.hpp"

namespace sunshaft::day {

class TurnTable {
  public:
    TurnTable(int fields, int levels, int slips)
        : levels_(levels), slips_(slips), lines_(static_cast<std::size_t>(fields * levels)) {}

    // make(): the Turn of a node that is not there yet. References stay good.
    template <class Make>
    const Turn& at(int field, int level, int slip, Make&& make) {
        std::vector<const Turn*>& line = lines_[static_cast<std::size_t>(field * levels_ + level)];
        if (line.empty()) line.assign(static_cast<std::size_t>(slips_), nullptr);
        const Turn*& node = line[static_cast<std::size_t>(slip)];
        if (!node) node = &kept_.emplace_back(make());
        return *node;
    }

  private:
    int levels_, slips_;
    std::vector<std::vector<const Turn*>> lines_;
    std::deque<Turn> kept_;
};

}  // namespace sunshaft::day
