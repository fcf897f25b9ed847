// Numbers on the screen.
#include "model/format.hpp"

#include <cmath>
#include <limits>

#include "catch_shim.hpp"

using namespace sunshaft::view;

TEST_CASE("figures carry their digits and the prefix that suits them") {
    const auto text = [](double v, const char* unit, int digits = 4) { return figure(v, unit, digits).text(); };
    REQUIRE(text(237.14, "V") == "237.1 V");
    REQUIRE(text(-0.01234, "A") == "-12.34 mA");
    REQUIRE(text(4.7e3, "ohm", 3) == "4.70 kohm");
    REQUIRE(text(1e9, "ohm", 3) == "1.00 Gohm");
    REQUIRE(text(2.5e12, "ohm", 3) == "2500 Gohm");
    REQUIRE(text(999.96, "W") == "1.000 kW");
    REQUIRE(text(99.996, "W") == "100.0 W");
    REQUIRE(text(2852.3, "rpm") == "2852 rpm");
    REQUIRE(text(0.52, "m3/h", 3) == "0.520 m3/h");
    REQUIRE(text(1.1e-7, "F", 2) == "110 nF");
    REQUIRE(text(0.0, "V") == "0 V");
    REQUIRE(text(0.5, "", 3) == "0.500");
}

TEST_CASE("what is no number is said in words") {
    const double inf = std::numeric_limits<double>::infinity(), nan = std::numeric_limits<double>::quiet_NaN();
    REQUIRE(figure(inf, "ohm").text() == "open");
    REQUIRE(figure(-inf, "V").text() == "-endless V");
    REQUIRE(figure(nan, "V").text() == "-");
    REQUIRE(figure_at(nan, "V", 0.1).text() == "-");
    REQUIRE(tick_text(nan, 1.0, 1.0, "V") == "-");
    REQUIRE(percent(nan) == "-");
}

TEST_CASE("no more digits than the instrument has") {
    REQUIRE(figure_at(237.134, "V", 0.1).text() == "237.1 V");
    REQUIRE(figure_at(0.0123456, "V", 1e-4).text() == "12.3 mV");
    REQUIRE(figure_at(1234.4, "V", 1.0).text() == "1234 V");
    REQUIRE(figure_at(-0.00001, "rpm", 0.1).text() == "0.0 rpm");
    REQUIRE(figure_at(12.34, "m", 0.25).text() == "12.34 m");
}

TEST_CASE("ticks of one axis share prefix and decimals") {
    REQUIRE(tick_text(0.005, 0.005, 0.05, "s") == "5");
    REQUIRE(tick_text(0.0025, 0.0025, 0.01, "s") == "2.5");
    REQUIRE(tick_unit(0.05, "s") == "ms");
    REQUIRE(tick_text(-300.0, 100.0, 300.0, "V") == "-300");
    REQUIRE(tick_text(1e-17, 0.1, 0.5, "A") == "0");
    REQUIRE(tick_text(0.2, 0.2, 1.0, "A") == "0.2");
    REQUIRE(tick_unit(1.0, "rpm") == "rpm");
}

TEST_CASE("a clock of simulated time has hours when there are hours") {
    CHECK(clock_text(61.5) == "1:01.50");
    CHECK(clock_text(3599.999) == "59:59.99");
    CHECK(clock_text(3600.0) == "1:00:00");
    CHECK(clock_text(3693.0) == "1:01:33");
}

TEST_CASE("percent and rates in words") {
    REQUIRE(percent(0.9721) == "97.2 %");
    REQUIRE(rate_text(1.0) == "real time");
    REQUIRE(rate_text(1e-3) == "1/1000");
    REQUIRE(rate_text(20.0) == "20x");
    REQUIRE(rate_text(0.62) == "1/1.6");
}

TEST_CASE("a table's figure has four digits at most and a difference its sign; nothing is minus nothing") {
    CHECK(cell(0.0004) == "0");
    CHECK(cell(-0.0004) == "0");
    CHECK(cell(0.01234) == "0.012");
    CHECK(cell(-9.8765) == "-9.877");
    CHECK(cell(12.345) == "12.35");
    CHECK(cell(123.45) == "123.5");
    CHECK(cell(1234.5) == "1234");
    CHECK(cell(123456.0) == "123k");
    CHECK(cell(std::numeric_limits<double>::infinity()) == "open");
    CHECK(cell(std::nan("")) == "-");
    CHECK(signed_figure(4.24, 1) == "+4.2");
    CHECK(signed_figure(-17.4, 0) == "-17");
    CHECK(signed_figure(-0.04, 1) == "0");
    CHECK(signed_figure(0.4, 0) == "0");
    CHECK(signed_figure(std::nan(""), 1) == "-");
}
