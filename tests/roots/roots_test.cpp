#include "roots/roots.hpp"

#include <cmath>
#include <limits>
#include <numbers>

#include "catch_shim.hpp"

using namespace sunshaft;
using sunshaft::test::approx;

namespace {

constexpr double infinite = std::numeric_limits<double>::infinity(), none = std::numeric_limits<double>::quiet_NaN();

}  // namespace

TEST_CASE("a root is found to the last digits, in a few steps, from either side") {
    // Where the cosine is its argument: Dottie's number, 0.7390851332151606416... (OEIS A003957, from memory).
    int asked = 0;
    const auto y = [&](double x) {
        ++asked;
        return std::cos(x) - x;
    };
    const double dottie = 0.7390851332151607;
    CHECK(std::abs(roots::root(y, 0.0, 100.0) - dottie) < 3e-16);
    CHECK(asked < 25);  // halvings: 60
    CHECK(std::abs(roots::root(y, 100.0, 0.0) - dottie) < 3e-16);
    asked = 0;
    CHECK(std::abs(roots::root(y, 0.0, 1.0, 1.0, std::cos(1.0) - 1.0, 1e-3) - dottie) < 1e-3);
    CHECK(asked < 6);
    CHECK(std::abs(roots::root([](double x) { return x * x * x - 8.0; }, -1e6, 1e6) - 2.0) < 1e-15);
    CHECK(roots::root([](double x) { return x; }, -1.0, 3.0) == approx(0.0).margin(1e-15));
}

TEST_CASE("a root at an end is that end, and without a change of sign it is the nearer end") {
    CHECK(roots::root([](double x) { return x - 1.0; }, 1.0, 5.0) == 1.0);
    CHECK(roots::root([](double x) { return x - 5.0; }, 1.0, 5.0) == 5.0);
    CHECK(roots::root([](double x) { return x + 1.0; }, 1.0, 5.0) == 1.0);
    CHECK(roots::root([](double x) { return x - 9.0; }, 1.0, 5.0) == 5.0);
    CHECK(roots::root([](double x) { return x; }, 2.0, 2.0) == 2.0);
    CHECK(roots::root([](double) { return none; }, 1.0, 5.0) == 5.0);
}

TEST_CASE("a jump, a cliff and endless values are borne") {
    const double step = roots::root([](double x) { return x < std::numbers::pi ? -1e-3 : 1e9; }, 0.0, 1e4);
    CHECK(step == approx(std::numbers::pi).epsilon(1e-15));
    const auto diode = [](double v) { return 1e-9 * std::expm1(v / 0.05) - 1.0; };  // beyond 35 V it is endless
    CHECK(std::isinf(diode(1e3)));
    CHECK(roots::root(diode, -1e4, 1e4) == approx(0.05 * std::log1p(1e9)).epsilon(1e-14));
    CHECK(roots::root([](double x) { return x < 2.0 ? -infinite : x - 2.5; }, 0.0, 9.0) == approx(2.5).epsilon(1e-15));
}

TEST_CASE("what turns from true to false is halved to the last place of a double") {
    const double third = roots::last_true(0.0, 1.0, [](double x) { return 3 * x < 1.0; });
    CHECK(3 * third < 1.0);
    CHECK(!(3 * std::nextafter(third, 1.0) < 1.0));
    int asked = 0;
    const double near = roots::last_true(
        0.0, 1.0,
        [&](double x) {
            ++asked;
            return x < 0.7;
        },
        1.0 / 1024);
    CHECK(near <= 0.7);
    CHECK(near > 0.7 - 1.0 / 1024);
    CHECK(asked == 10);
    CHECK(roots::last_true(2.0, 2.0, [](double) { return true; }) == 2.0);
    CHECK(roots::last_true(1.0, 2.0, [](double) { return true; }) == approx(2.0).epsilon(1e-15));
    CHECK(roots::last_true(1.0, 2.0, [](double) { return false; }) == approx(1.0).epsilon(1e-15));
}

TEST_CASE("what is least is found as well as it is flat there") {
    CHECK(roots::lowest([](double x) { return std::cosh(x - 0.3); }, -2.0, 5.0) == approx(0.3).margin(3e-8));
}

TEST_CASE("near by: secants from the last slope, and none where the way leads out") {
    int asked = 0;
    const auto y = [&](double x) {
        ++asked;
        return x * x - 2.0;
    };
    double slope = 0.0;
    const auto first = roots::near_by(y, 1.5, slope, 0.01, 0.0, 3.0, 1e-9);
    REQUIRE(first);
    CHECK(*first == approx(std::numbers::sqrt2).epsilon(1e-12));
    CHECK(slope == approx(2 * std::numbers::sqrt2).epsilon(1e-3));
    asked = 0;
    const auto again = roots::near_by(y, *first, slope, 0.01, 0.0, 3.0, 1e-9);
    REQUIRE(again);
    CHECK(asked == 2);
    CHECK(!roots::near_by(y, 1.0, slope, 0.01, 0.0, 1.2, 1e-9));
    CHECK(slope == 0.0);
}
