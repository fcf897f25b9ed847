#pragma once
// Every colour of the window, named by what it means. Two palettes: light and dark.
// Text colours reach a contrast of 4.5:1 on every ground they are used on (WCAG 2.1, success criterion 1.4.3).
#include <array>
#include <cstdint>

namespace sunshaft::view {

struct Colour {
    std::uint8_t r = 0;
    std::uint8_t g = 0;
    std::uint8_t b = 0;
    std::uint8_t a = 255;
    /// The same colour, `share` in 0..1 as opaque.
    Colour faded(double share) const;
    friend constexpr bool operator==(Colour, Colour) = default;
};

/// 0xRRGGBB.
constexpr Colour rgb(std::uint32_t v) {
    return {static_cast<std::uint8_t>(v >> 16), static_cast<std::uint8_t>(v >> 8), static_cast<std::uint8_t>(v)};
}

/// Straight mix in sRGB, alpha included; t = 0 gives a, t = 1 gives b.
Colour mix(Colour a, Colour b, double t);

/// Contrast ratio 1..21 of two opaque colours. WCAG 2.1, definitions of "contrast ratio" and "relative
/// luminance".
double contrast(Colour a, Colour b);

/// A signal is always told apart by its line as well as by its colour.
enum class LineStyle { solid, dashed, dotted, dash_dot, long_dash };

struct SignalLook {
    Colour colour;
    LineStyle style = LineStyle::solid;
};

/// How a conductor is drawn: core, a casing line around it (a == 0: none), and a second colour in stripes for
/// protective earth (a == 0: none). Colours as in IEC 60445 and HD 308.
struct ConductorLook {
    Colour core;
    Colour casing{0, 0, 0, 0};
    Colour stripe{0, 0, 0, 0};
};

struct Palette {
    bool dark = false;

    // Sheets and lines
    Colour ground;       // the window behind everything; panels on it
    Colour sheet;        // raised plain sheets: top bar, drawer, plots, detail sheets, keys
    Colour band;         // quiet bands: cautions line, rows of figures
    Colour rule;         // thin rules around sheets and between rows
    Colour rule_strong;  // outlines of keys, ticks
    Colour grid;         // plot grid
    // Words
    Colour ink;       // words and figures, outlines of the drawing
    Colour ink_soft;  // units, captions, secondary words (still 4.5:1)
    Colour ink_off;   // what cannot be chosen now; never carries needed information
    // The one accent, and what is chosen or wrong
    Colour accent;
    Colour accent_tint;  // ground behind what is chosen
    Colour on_accent;    // words on the accent
    // Ground, water, sky
    std::array<Colour, 3> strata;
    Colour hatch;  // with its alpha
    Colour water;
    Colour water_deep;    // moving water, edges of water
    Colour ground_water;  // strata that bear water are mixed towards this
    Colour sky_day_high, sky_day_low;
    Colour sky_night_high, sky_night_low;
    Colour sun, sun_path;
    // Hardware
    Colour steel, steel_dark;
    Colour cell, cell_line, module_frame;
    Colour lamp_on;  // drive lamps
    Colour heat;     // hot joint or winding, see heat_tint()
    // Meter
    Colour meter_body, meter_edge, meter_display, meter_figure, meter_ghost, meter_soft;
    // Signals, in order of use; the healthy ghost is thin grey
    std::array<SignalLook, 5> signal;
    Colour ghost;
    // Conductors and leads
    ConductorLook l1, l2, l3, earth, dc_plus, dc_minus;
    ConductorLook lead_red, lead_black, lead_clamp;
    // Power bars
    Colour power_source, power_loss, power_lifted;
};

Palette light_palette();
Palette dark_palette();

/// A part's own colour warmed towards `heat`; share 0 (cold) .. 1 (at its limit), clamped.
Colour heat_tint(const Palette& palette, Colour cold, double share);

/// Sky colour at the horizon and overhead for the sun's height in degrees (below 0: night).
struct Sky {
    Colour high;
    Colour low;
};
Sky sky(const Palette& palette, double sun_height_deg);

}  // namespace sunshaft::view
