// A case with help that fades, in the window: its table is worked out in a thread of its own, the rest is quick.
#pragma once

#include <memory>
#include <mutex>
#include <optional>
#include <string>
#include <thread>

#include "teach/guided.hpp"

namespace sunshaft::view {

class Guiding {
  public:
    Guiding(const teach::CaseRow& row, teach::Level level, std::uint64_t seed);
    ~Guiding();
    Guiding(const Guiding&) = delete;
    Guiding& operator=(const Guiding&) = delete;

    void wait();
    std::string trouble() const;  // one line; empty: none
    // Null while it is worked out, or in trouble. Of the window's thread alone.
    teach::Guided* game();
    const teach::CaseRow& row() const { return row_; }
    teach::Level level() const { return level_; }
    std::size_t turns = 0;  // rises with each answer

  private:
    teach::CaseRow row_;
    teach::Level level_;
    std::uint64_t seed_;
    mutable std::mutex mutex_;
    std::unique_ptr<const teach::CaseTable> table_;  // with mutex_
    std::string trouble_;                            // with mutex_
    std::optional<teach::Guided> game_;
    std::thread thread_;
};

}  // namespace sunshaft::view
