// How often the drive's control is asked in its tests, s.
#pragma once

namespace sunshaft::test {

inline constexpr double tick = 1e-3;

}  // namespace sunshaft::test
