// What somebody types for a figure, and what it is taken for.
#pragma once

#include "catch_shim.hpp"
#include "diagnose/typed.hpp"

namespace sunshaft::test {

inline void figure(const char* text, const char* usual, double value, const char* unit) {
    INFO(text);
    const diagnose::Typed t = diagnose::typed(text, usual);
    REQUIRE(t.kind == diagnose::Typed::Kind::figure);
    CHECK(t.value == approx(value).epsilon(1e-9));
    CHECK(t.unit == unit);
}

}  // namespace sunshaft::test
