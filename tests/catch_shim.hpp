// The one place that knows Catch2 version 2 (Debian 12) from version 3 (Debian 13).
#pragma once

#if __has_include(<catch2/catch_all.hpp>)
#include <catch2/catch_all.hpp>
#else
#include <catch2/catch.hpp>
#endif

#include <string>

namespace sunshaft::test {
#if __has_include(<catch2/catch_all.hpp>)
using Approx = Catch::Approx;
inline auto Contains(const std::string& part) { return Catch::Matchers::ContainsSubstring(part); }
#else
using Approx = Catch::Detail::Approx;
inline auto Contains(const std::string& part) { return Catch::Matchers::Contains(part); }
#endif
// Exact unless told otherwise: .epsilon(relative) or .margin(absolute) must be asked for.
inline Approx approx(double value) { return Approx(value).epsilon(0).margin(0); }
}  // namespace sunshaft::test
