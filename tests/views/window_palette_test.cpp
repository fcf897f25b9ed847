// Colours of the window: readable, and told apart by more than hue.
#include <array>
#include <limits>
#include <set>

#include "catch_shim.hpp"
#include "model/palette.hpp"

using namespace sunshaft;
using view::Colour;
using view::contrast;
using view::Palette;
using view::rgb;

TEST_CASE("contrast follows the published definition") {
    // WCAG 2.1: black on white is 21:1, a colour on itself 1:1.
    CHECK(contrast(rgb(0x000000), rgb(0xFFFFFF)) == test::approx(21.0).epsilon(1e-12));
    CHECK(contrast(rgb(0x8A3B2E), rgb(0x8A3B2E)) == test::approx(1.0).epsilon(1e-12));
    // #767676 is the well-known lightest grey that still reads on white: 4.54:1 (W3C, technique G18, worked
    // value).
    CHECK(contrast(rgb(0x767676), rgb(0xFFFFFF)) == test::approx(4.54).epsilon(0.002));
    CHECK(contrast(rgb(0x777777), rgb(0xFFFFFF)) < 4.5);
}

TEST_CASE("every text colour reads on every ground it is used on, in both themes") {
    for (const Palette& p : {view::light_palette(), view::dark_palette()}) {
        INFO((p.dark ? "dark" : "light"));
        const std::array grounds{p.ground, p.sheet, p.band, p.accent_tint};
        for (std::size_t i = 0; i < grounds.size(); ++i) {
            INFO("ground " << i);
            CHECK(contrast(p.ink, grounds[i]) >= 4.5);
            CHECK(contrast(p.ink_soft, grounds[i]) >= 4.5);
            if (i < 3) CHECK(contrast(p.ink_off, grounds[i]) >= 4.5);
            CHECK(contrast(p.accent, grounds[i]) >= 4.5);
        }
        CHECK(contrast(p.on_accent, p.accent) >= 4.5);
        CHECK(contrast(p.ink, p.meter_body) >= 4.5);
        CHECK(contrast(p.ink_soft, p.meter_body) >= 4.5);
        CHECK(contrast(p.ink_off, p.meter_body) >= 4.5);
        CHECK(contrast(p.meter_figure, p.meter_display) >= 4.5);
        CHECK(contrast(p.meter_soft, p.meter_display) >= 4.5);
        // Words lie on the earth and on the sky as well.
        for (const Colour stratum : p.strata) CHECK(contrast(p.ink, stratum) >= 4.5);
        CHECK(contrast(p.ink, p.ground_water) >= 4.5);
        CHECK(contrast(p.ink, p.water) >= 4.5);
        for (const double height : {-10.0, 0.0, 5.0, 30.0, 70.0}) {
            const auto sky = view::sky(p, height);
            CHECK(contrast(p.ink, sky.high) >= 4.5);
            CHECK(contrast(p.ink, sky.low) >= 4.5);
            CHECK(contrast(p.sun_path, view::mix(sky.high, sky.low, 0.5)) >= 3.0);
        }
    }
}

TEST_CASE("lines and marks stand out from the sheet (3:1, WCAG 2.1, criterion 1.4.11)") {
    for (const Palette& p : {view::light_palette(), view::dark_palette()}) {
        INFO((p.dark ? "dark" : "light"));
        for (std::size_t i = 0; i < p.signal.size(); ++i) {
            INFO("signal " << i);
            CHECK(contrast(p.signal[i].colour, p.sheet) >= 3.0);
        }
        CHECK(contrast(p.accent, p.sheet) >= 3.0);
        CHECK(contrast(p.rule_strong, p.sheet) >= 3.0);  // ticks of sliders and axes
        CHECK(contrast(p.ghost, p.sheet) >= 3.0);
        CHECK(contrast(p.lamp_on, p.sheet) >= 3.0);
        CHECK(contrast(p.heat, p.sheet) >= 3.0);
        // A conductor may be pale or dark when a casing carries its edge.
        for (const auto& c : {p.l1, p.l2, p.dc_plus, p.dc_minus, p.lead_red, p.lead_black}) {
            const Colour edge = c.casing.a != 0 ? c.casing : c.core;
            CHECK(contrast(edge, p.sheet) >= 3.0);
        }
    }
}

TEST_CASE("signals differ by line as well as by colour") {
    const Palette p = view::light_palette();
    const Palette q = view::dark_palette();
    std::set<view::LineStyle> styles;
    for (std::size_t i = 0; i < p.signal.size(); ++i) {
        styles.insert(p.signal[i].style);
        CHECK(p.signal[i].style == q.signal[i].style);
    }
    CHECK(styles.size() == p.signal.size());
}

TEST_CASE("mixing and warming keep to their ends") {
    const Palette p = view::light_palette();
    CHECK(view::mix(p.ink, p.sheet, 0.0) == p.ink);
    CHECK(view::mix(p.ink, p.sheet, 1.0) == p.sheet);
    CHECK(view::mix(p.ink, p.sheet, 7.0) == p.sheet);
    CHECK(view::heat_tint(p, p.steel, 0.0) == p.steel);
    CHECK(view::heat_tint(p, p.steel, 2.0) == p.heat);
    CHECK(view::heat_tint(p, p.steel, std::numeric_limits<double>::quiet_NaN()) == p.steel);
    CHECK(view::sky(p, 60.0).high == p.sky_day_high);
    CHECK(view::sky(p, -30.0).low == p.sky_night_low);
    CHECK(rgb(0x8A3B2E).faded(0.5).a == 128);
}
