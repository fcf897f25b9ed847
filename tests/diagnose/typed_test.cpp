// What people say a display shows: every form of it, and that what is read back reads as the same.
#include <cmath>
#include <random>

#include "catch_shim.hpp"
#include "diagnose/typed.hpp"
#include "figure.hpp"
#include "text/figure.hpp"

using namespace sunshaft;
using diagnose::Typed;
using diagnose::typed;
using test::approx;
using test::figure;

TEST_CASE("figures with comma or point, prefixes and units as people write them") {
    figure("3.6", "ohm", 3.6, "ohm");
    figure("3,6", "ohm", 3.6, "ohm");
    figure("3,6 k", "ohm", 3600, "ohm");
    figure("1k5", "ohm", 1500, "ohm");
    figure("1k5 V", "V", 1500, "V");
    figure("4R7", "ohm", 4.7, "ohm");
    figure("2M2", "ohm", 2.2e6, "ohm");
    figure("0k47ohm", "ohm", 470, "ohm");
    figure(".5", "V", 0.5, "V");
    figure("0,5", "V", 0.5, "V");
    figure("230V", "V", 230, "V");
    figure("3.6kohm", "ohm", 3600, "ohm");
    figure("3.6 k\u03a9", "ohm", 3600, "ohm");
    figure("550 M", "Mohm", 550e6, "ohm");
    figure("550", "Mohm", 550e6, "ohm");
    figure("2 G", "Mohm", 2e9, "ohm");
    figure("\u2212237.1 V", "V", -237.1, "V");
    figure("- 12", "V", -12, "V");
    figure("1.234,5 V", "V", 1234.5, "V");
    figure("1,234.5 V", "V", 1234.5, "V");
    figure("1 234", "V", 1234, "V");
    figure("1\u00a0234,5 V", "V", 1234.5, "V");
    figure("1\u202f500\u202f000", "ohm", 1.5e6, "ohm");
    figure("12 345 ohm", "ohm", 12345, "ohm");
    figure("2.3e2", "V", 230, "V");
    figure("1,5E-3 A", "A", 0.0015, "A");
    for (const char* two : {"1 23", "1234 567", "1 2345", "230 50", "1 234 56"}) {
        INFO(two);
        CHECK(typed(two, "V").kind == Typed::Kind::words);
    }
    figure("150 mV", "V", 0.15, "V");
    figure("850 mA", "A", 0.85, "A");
    figure("8.4 A", "A", 8.4, "A");
    figure("14 nF", "nF", 14e-9, "F");
    figure("14", "nF", 14e-9, "F");
    figure("9.4 m3/h", "m3/h", 9.4 / 3600, "m3/s");
    figure("9.4 m\u00b3/h", "m3/h", 9.4 / 3600, "m3/s");
    figure("150 L/min", "m3/h", 150e-3 / 60, "m3/s");
    figure("150 litres a minute", "m3/h", 150e-3 / 60, "m3/s");
    figure("no water", "m3/h", 0, "m3/s");
    figure("3.2 bar", "m", 3.2 * 10.19716, "m");
    figure("31 m", "m", 31, "m");
    figure("118 \u00b0F", "degC", (118 - 32) / 1.8, "degC");
    figure("48 \u00b0C", "degC", 48, "degC");
    figure("0.64 kW/m2", "W/m2", 640, "W/m2");
    figure("230 steady", "V", 230, "V");
}

TEST_CASE("a depth says nothing of what a tank holds, a share does") {
    CHECK(typed("0.5 m", "m3").kind == Typed::Kind::words);
    CHECK(typed("40 %", "m3").value == approx(0.4));
    CHECK(typed("500 l", "m3").value == approx(0.5));
}

TEST_CASE("over range, with and without its range") {
    for (const char* text :
         {"OL", "0L", "O.L", "1 .", "1.", "ol", "overload", "over range", "infinity", "\u221e", "open"}) {
        INFO(text);
        CHECK(typed(text, "ohm").kind == Typed::Kind::over);
        CHECK(typed(text, "ohm").low == 0.0);
    }
    CHECK(typed("OL on 20 M", "ohm").low == approx(20e6).epsilon(1e-12));
    CHECK(typed("1 . (200 ohm)", "ohm").low == approx(200.0).epsilon(1e-12));
    CHECK(typed("1.0", "ohm").kind == Typed::Kind::figure);
    CHECK(typed("over 5", "ohm").kind == Typed::Kind::figure);
    CHECK(typed("over 5", "ohm").at_least);
}

TEST_CASE("what is not a steady figure") {
    const Typed jumps = typed("jumps 180 to 210", "V");
    CHECK(jumps.moves == Typed::Moves::jumps);
    CHECK(jumps.low == approx(180.0).epsilon(1e-12));
    CHECK(jumps.high == approx(210.0).epsilon(1e-12));
    CHECK(jumps.value == approx(195.0).epsilon(1e-12));
    CHECK(typed("180-210 V", "V").high == approx(210.0).epsilon(1e-12));
    CHECK(typed("between 0,2 and 0,4 V", "V").low == approx(0.2).epsilon(1e-12));
    CHECK(typed("falls from 300 to 250 V", "V").moves == Typed::Moves::falls);
    CHECK(typed("about 230", "V").about);
    CHECK(typed("about 230", "V").high > 235.0);
    CHECK(typed("less than 5", "V").at_most);
    CHECK(typed("< 0.5 ohm", "ohm").high == approx(0.5).epsilon(1e-12));
    CHECK(std::isinf(typed("> 200 M", "Mohm").high));
    CHECK(typed("falls slowly", "V").kind == Typed::Kind::nothing);
    CHECK(typed("falls slowly", "V").moves == Typed::Moves::falls);
    for (const char* text : {"not measured", "could not reach", "couldn't get there", "?", "", "-", "n/a"}) {
        INFO(text);
        CHECK(typed(text, "V").kind == Typed::Kind::nothing);
    }
    for (const char* text : {"blue", "12 parsecs a fortnight", "5 A"}) {
        INFO(text);
        const Typed t = typed(text, "V");
        if (text[0] == '1') CHECK(t.kind == Typed::Kind::figure);  // the rest is talk
        else CHECK(t.kind == Typed::Kind::words);
        if (t.kind == Typed::Kind::words) CHECK(t.read_back().find(text) != std::string::npos);
    }
}

TEST_CASE("a figure written out with any unit, prefix or comma is read as it was meant") {
    std::mt19937_64 dice(20);
    std::uniform_real_distribution<double> decade(-1.0, 2.9);
    const struct {
        const char *usual, *suffix;
        double factor;
    } forms[] = {{"V", " V", 1},
                 {"V", "V", 1},
                 {"V", "", 1},
                 {"A", " mA", 1e-3},
                 {"ohm", "k", 1e3},
                 {"ohm", " Mohm", 1e6},
                 {"m3/h", " m3/h", 1 / 3600.0},
                 {"m3/h", " L/min", 1 / 6e4},
                 {"nF", " uF", 1e-6},
                 {"degC", " degC", 1},
                 {"W/m2", " W/m2", 1}};
    for (int n = 0; n < 4000; ++n) {
        const auto& form = forms[static_cast<std::size_t>(n) % std::size(forms)];
        const int decimals = static_cast<int>(dice() % 4);
        std::string digits = text::fixed(std::pow(10.0, decade(dice)), decimals);
        const double value = std::stod(digits);
        const bool minus = n % 5 == 0;
        if (n % 2) std::replace(digits.begin(), digits.end(), '.', ',');
        const std::string said = (minus ? n % 10 ? "-" : "\u2212" : "") + digits + form.suffix;
        INFO(said);
        const Typed t = typed(said, form.usual);
        REQUIRE(t.kind == Typed::Kind::figure);
        const double meant = (minus ? -1 : 1) * value * (*form.suffix ? form.factor : 1.0);
        CHECK(std::abs(t.value - meant) <= 1e-9 * std::abs(meant));
        CHECK(t.low <= t.value);
        CHECK(t.high >= t.value);
        CHECK(t.bare == (*form.suffix == 0));
    }
}

TEST_CASE("whatever is typed, something is read back and nothing throws") {
    std::mt19937_64 dice(21);
    const std::string letters = "0123456789.,-+ kKmMuVAohmOL<>~%/\xc3\xa9\xff\x01to";
    for (int n = 0; n < 20000; ++n) {
        std::string said;
        for (std::size_t k = dice() % 12; k-- > 0;) said += letters[dice() % letters.size()];
        for (const char* usual : {"V", "ohm", "Mohm", "m3/h", "degC", "nF", "m"}) {
            const Typed t = typed(said, usual);
            CHECK_FALSE(t.read_back().empty());
            if (t.kind == Typed::Kind::figure) CHECK_FALSE(std::isnan(t.value));
            if (t.kind == Typed::Kind::figure) CHECK(t.low <= t.high);
        }
    }
}
