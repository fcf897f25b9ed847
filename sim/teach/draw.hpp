// What a seed draws: the same on every machine.
#pragma once

#include <cstdint>
#include <string>
#include <string_view>
#include <utility>
#include <vector>

#include "teach/asked.hpp"

namespace sunshaft::teach {

class Draw {
  public:
    Draw(std::uint64_t seed, std::string_view name);
    std::uint64_t next();  // splitmix64
    double share();        // 0 <= x < 1
    std::size_t below(std::size_t n);
    template <class T>
    void shuffle(std::vector<T>& list) {
        for (std::size_t n = list.size(); n > 1; --n) std::swap(list[n - 1], list[below(n)]);
    }

  private:
    std::uint64_t state_;
};

// The rounds of an exercise. Each range is cut into as many parts as there are rounds and each part drawn from once, in
// any order: no answer from the middle of the range passes them all.
std::vector<Asked> drawn(const Exercise& exercise, const State& base, std::uint64_t seed, std::string_view name,
                         int rounds);

}  // namespace sunshaft::teach
