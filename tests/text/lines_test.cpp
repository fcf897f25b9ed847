// A figure and its unit stand on one line.
#include "text/lines.hpp"

#include "catch_shim.hpp"

using sunshaft::text::line_may_end;

TEST_CASE("a line ends at any space but one between a figure and its unit") {
    constexpr const char* held_together[] = {"20 kHz",     "419 V.", "0.5 Mohm,", "12 m³/h", "-5 °C)", "3.2 % of it",
                                             "140 mV rms", "5 min",  "1000 W/m²", "47 µF",   "2 L/min"};
    for (const char* held : held_together) {
        INFO(held);
        const std::string_view words = held;
        CHECK_FALSE(line_may_end(words, words.find(' ')));
    }
    for (const char* free : {"at 419", "10 modules", "2 strings", "3 and", "step 5 is", "volts V", "10 "}) {
        INFO(free);
        const std::string_view words = free;
        CHECK(line_may_end(words, words.find_last_of(' ')));
    }
}
