// Figures as a user reads them.
#include "text/figure.hpp"

#include <cmath>
#include <limits>
#include <random>

#include "catch_shim.hpp"

using namespace sunshaft::text;

namespace {
const char* const units[] = {"V",    "A",     "ohm", "F",    "Hz",  "s", "W", "J",    "m",
                             "m3/h", "L/min", "rpm", "degC", "N m", "%", "",  "other"};

// The number a person reads back out of a text, SI.
double read_back(const std::string& text, const std::string& unit) {
    const double number = std::stod(text);
    const std::size_t space = text.rfind(' ');
    std::string rest = unit.find(' ') != std::string::npos ? unit
                       : space == std::string::npos        ? ""
                                                           : text.substr(space + 1);
    if (rest == unit) return number;
    const double factors[] = {1e-12, 1e-9, 1e-6, 1e-3, 1e3, 1e6, 1e9};
    const std::string letters = "pnumkMG";
    const std::size_t at = letters.find(rest[0]);
    REQUIRE(at != std::string::npos);
    REQUIRE(rest.substr(1) == unit);
    return number * factors[at];
}

void no_noise(const std::string& text) {
    INFO(text);
    CHECK(text.find("e+") == std::string::npos);
    CHECK(text.find("e-") == std::string::npos);
    CHECK(text.find("nan") == std::string::npos);
    CHECK(text.find("inf") == std::string::npos);
    if (text[0] == '-') CHECK(text.find_first_of("123456789") != std::string::npos);
}
}  // namespace

TEST_CASE("Figures: no exponent, no minus zero, the value to the digits asked for") {
    std::mt19937_64 engine(7);
    std::uniform_real_distribution<double> exponent(-15, 12), sign(-1, 1);
    for (int k = 0; k < 20000; ++k) {
        const char* unit = units[static_cast<std::size_t>(k) % std::size(units)];
        const double value = std::copysign(std::pow(10.0, exponent(engine)), sign(engine));
        const std::string text = figure(value, unit, 4).text();
        no_noise(text);
        INFO(value << " " << unit << " as " << text);
        const double back = read_back(text, unit);
        if (std::fabs(value) < floor_of(unit)) CHECK(back == 0.0);
        else CHECK(std::fabs(back - value) <= 0.51e-3 * std::fabs(value) + 0.51 * floor_of(unit));
        if (std::string_view(unit) != "%") no_noise(quantity(value, unit));
    }
}

TEST_CASE("A band encloses what it stands for, with no more digits than its width bears") {
    std::mt19937_64 engine(8);
    std::uniform_real_distribution<double> exponent(-3, 6), share(1e-4, 0.9);
    for (int k = 0; k < 5000; ++k) {
        const double middle = std::pow(10.0, exponent(engine)), half = middle * share(engine);
        const std::string text = range(middle - half, middle + half, "ohm");
        no_noise(text);
        INFO(middle - half << " to " << middle + half << " as " << text);
        const std::string unit = text.substr(text.rfind(' '));
        const double low = read_back(text.substr(0, text.find(' ')) + unit, "ohm"),
                     high = read_back(text.substr(text.find("to ") + 3), "ohm");
        CHECK(low <= middle - half + 1e-6 * half);
        CHECK(high >= middle + half - 1e-6 * half);
        CHECK(high - low <= 2.0 * half * 1.11 + 2e-6);
    }
}

TEST_CASE("Figures as people say them") {
    CHECK(quantity(237.134, "V") == "237.1 V");
    CHECK(quantity(1000, "V") == "1000 V");
    CHECK(quantity(0.0124, "A") == "12.4 mA");
    CHECK(quantity(1.35e-198, "m") == "0 m");
    CHECK(quantity(-3.0e-9, "V") == "0 V");
    CHECK(quantity(1.59e-5, "m3/h") == "0 m3/h");
    CHECK(quantity(2.7e-9, "A") == "2.7 nA");
    CHECK(quantity(999.96, "W") == "1 kW");
    CHECK(quantity(1.2253, "") == "1.225");
    CHECK(quantity(0.0931, "%") == "9.3 %");
    CHECK(quantity(0.00002, "%") == "under 0.01 %");
    CHECK(range(4700, 15300, "ohm") == "4.7 to 15.3 kohm");
    CHECK(range(215.08, 240.54, "V") == "215 to 241 V");
    CHECK(range(247.83, 253.44, "V") == "247.8 to 253.5 V");
    CHECK(range(-0.05, 0.05, "A") == "-50 to 50 mA");
    CHECK(range(30, 30, "m") == "30 m");
    const double inf = std::numeric_limits<double>::infinity(), nan = std::numeric_limits<double>::quiet_NaN();
    CHECK(quantity(inf, "ohm") == "open");
    CHECK(quantity(nan, "V") == "-");
}

TEST_CASE("Figures side by side: the largest sets the last digit of all") {
    CHECK(among(-2.6e-4, "A", 10.01) == "0 A");
    CHECK(among(-0.26, "V", 250.1) == "-0.3 V");
    CHECK(among(0.0129, "A", 0.0131) == "12.9 mA");
    CHECK(among(4.4e-4, "A", 0.0131) == "0.44 mA");
    CHECK(among(250.06, "V", 250.1) == "250.1 V");
    CHECK(column(0.4, "V", 250.1) == "0.4");
    CHECK(column(-0.04, "V", 250.1) == "0.0");
    CHECK(column(1e-14, "A", 2e-13) == "0");
    CHECK(column(12345.6, "W", 12345.6) == "12346");
    CHECK(column(std::numeric_limits<double>::quiet_NaN(), "V", 1.0) == "-");
    std::mt19937_64 engine(11);
    std::uniform_real_distribution<double> exponent(-12, 9), part(-1, 1);
    for (int k = 0; k < 5000; ++k) {
        const char* unit = units[static_cast<std::size_t>(k) % std::size(units)];
        if (std::string_view(unit) == "%") continue;
        const double largest = std::pow(10.0, exponent(engine)), value = part(engine) * largest;
        INFO(value << " beside " << largest << " " << unit);
        no_noise(among(value, unit, largest));
        no_noise(column(value, unit, largest));
        const double finest = std::max(floor_of(unit), 1e-12);  // a column has twelve decimals at most
        CHECK(std::fabs(std::stod(column(value, unit, largest)) - value) <= 0.51e-3 * largest + finest);
        CHECK(std::fabs(read_back(among(value, unit, largest), unit) - value) <= 0.51e-3 * largest + floor_of(unit));
    }
}

TEST_CASE("A figure as it is typed: exact, without exponent") {
    CHECK(plain(1.6e-6) == "0.0000016");
    CHECK(plain(2e7) == "20000000");
    CHECK(plain(-0.0) == "0");
    CHECK(plain(0.1) == "0.1");
    CHECK(plain(std::numeric_limits<double>::infinity()) == "inf");
    std::mt19937_64 engine(12);
    std::uniform_real_distribution<double> exponent(-300, 300);
    for (int k = 0; k < 2000; ++k) {
        const double value = std::pow(10.0, exponent(engine));
        CHECK(std::stod(plain(value)) == value);
    }
}
