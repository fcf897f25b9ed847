#include "model/palette.hpp"

#include <algorithm>
#include <cmath>

namespace sunshaft::view {

namespace {

std::uint8_t byte(double v) { return static_cast<std::uint8_t>(std::lround(std::clamp(v, 0.0, 255.0))); }

double linear(std::uint8_t channel) {
    const double c = channel / 255.0;
    return c <= 0.03928 ? c / 12.92 : std::pow((c + 0.055) / 1.055, 2.4);
}

double luminance(Colour c) { return 0.2126 * linear(c.r) + 0.7152 * linear(c.g) + 0.0722 * linear(c.b); }

constexpr Colour with_alpha(Colour c, std::uint8_t a) { return {c.r, c.g, c.b, a}; }

}  // namespace

Colour Colour::faded(double share) const { return {r, g, b, byte(a * std::clamp(share, 0.0, 1.0))}; }

Colour mix(Colour a, Colour b, double t) {
    t = std::clamp(t, 0.0, 1.0);
    const auto blend = [t](std::uint8_t from, std::uint8_t to) { return byte(from + (to - from) * t); };
    return {blend(a.r, b.r), blend(a.g, b.g), blend(a.b, b.b), blend(a.a, b.a)};
}

double contrast(Colour a, Colour b) {
    const double la = luminance(a);
    const double lb = luminance(b);
    return (std::max(la, lb) + 0.05) / (std::min(la, lb) + 0.05);
}

Palette light_palette() {
    Palette p;
    p.dark = false;
    p.ground = rgb(0xF6F2E9);
    p.sheet = rgb(0xFBF8F1);
    p.band = rgb(0xEDE8DC);
    p.rule = rgb(0xCFC7B6);
    p.rule_strong = rgb(0x968C78);
    p.grid = rgb(0xDDD6C8);
    p.ink = rgb(0x26323A);
    p.ink_soft = rgb(0x566067);
    p.ink_off = rgb(0x5D666A);
    p.accent = rgb(0x8A3B2E);
    p.accent_tint = rgb(0xF0DCD3);
    p.on_accent = rgb(0xFBF8F1);
    p.strata = {rgb(0xE5D8C1), rgb(0xD8C6A8), rgb(0xC5AE8C)};
    p.hatch = with_alpha(rgb(0x6B5A3E), 51);
    p.water = rgb(0x9CC3CF);
    p.water_deep = rgb(0x5E9DB0);
    p.ground_water = rgb(0xA9BDBB);
    p.sky_day_high = rgb(0xDCEAF0);
    p.sky_day_low = rgb(0xFFF3D6);
    p.sky_night_high = rgb(0xB9C8D6);
    p.sky_night_low = rgb(0xE3DCD2);
    p.sun = rgb(0xE8A317);
    p.sun_path = rgb(0x8A6A1E);
    p.steel = rgb(0xB9BBB6);
    p.steel_dark = rgb(0x6E767A);
    p.cell = rgb(0x3C5566);
    p.cell_line = rgb(0x5F7A8C);
    p.module_frame = rgb(0x8D9499);
    p.lamp_on = rgb(0x2E7D4F);
    p.heat = rgb(0xC8402A);
    p.meter_body = rgb(0xEDE4CC);
    p.meter_edge = rgb(0xCBBF9F);
    p.meter_display = rgb(0x2C383F);
    p.meter_figure = rgb(0xF3F0E2);
    p.meter_ghost = rgb(0x37444B);
    p.meter_soft = rgb(0xAEB6B4);
    p.signal = {{{rgb(0x0072B2), LineStyle::solid},
                 {rgb(0xD55E00), LineStyle::dashed},
                 {rgb(0x009E73), LineStyle::dotted},
                 {rgb(0xB0568A), LineStyle::dash_dot},
                 {rgb(0x7A6A00), LineStyle::long_dash}}};
    p.ghost = rgb(0x8A8A85);
    p.l1 = {rgb(0x7A4520)};
    p.l2 = {rgb(0x16181A)};
    p.l3 = {rgb(0x8D9499)};
    p.earth = {rgb(0x4E8F2E), {0, 0, 0, 0}, rgb(0xE7CF2B)};
    p.dc_plus = {rgb(0xC62828)};
    p.dc_minus = {rgb(0xFBF8F1), rgb(0x26323A)};
    p.lead_red = {rgb(0xC62828)};
    p.lead_black = {rgb(0x16181A)};
    p.lead_clamp = {rgb(0x26323A)};
    p.power_source = rgb(0xE8A317);
    p.power_loss = rgb(0xB5AB97);
    p.power_lifted = rgb(0x5E9DB0);
    return p;
}

Palette dark_palette() {
    Palette p;
    p.dark = true;
    p.ground = rgb(0x172026);
    p.sheet = rgb(0x1C272E);
    p.band = rgb(0x1F2A31);
    p.rule = rgb(0x33424B);
    p.rule_strong = rgb(0x6C7B84);
    p.grid = rgb(0x2B3840);
    p.ink = rgb(0xE3E0D6);
    p.ink_soft = rgb(0x9CA6A8);
    p.ink_off = rgb(0x97A1A3);
    p.accent = rgb(0xE08A6B);
    p.accent_tint = rgb(0x3A2A26);
    p.on_accent = rgb(0x172026);
    p.strata = {rgb(0x2B2A26), rgb(0x35312A), rgb(0x40382E)};
    p.hatch = with_alpha(rgb(0xE3D9C0), 26);
    p.water = rgb(0x24505E);
    p.water_deep = rgb(0x3C7F93);
    p.ground_water = rgb(0x36464A);
    p.sky_day_high = rgb(0x1A2831);
    p.sky_day_low = rgb(0x3A382C);
    p.sky_night_high = rgb(0x121A20);
    p.sky_night_low = rgb(0x1F262B);
    p.sun = rgb(0xF2B84B);
    p.sun_path = rgb(0xC9A85A);
    p.steel = rgb(0x6C777C);
    p.steel_dark = rgb(0x9AA5A9);
    p.cell = rgb(0x2C4456);
    p.cell_line = rgb(0x47667C);
    p.module_frame = rgb(0x8793A0);
    p.lamp_on = rgb(0x5BC98A);
    p.heat = rgb(0xF2643F);
    p.meter_body = rgb(0x37352D);
    p.meter_edge = rgb(0x5B5747);
    p.meter_display = rgb(0x0E1519);
    p.meter_figure = rgb(0xEFE9D2);
    p.meter_ghost = rgb(0x1A2328);
    p.meter_soft = rgb(0x98A0A0);
    p.signal = {{{rgb(0x5DB4EA), LineStyle::solid},
                 {rgb(0xF29452), LineStyle::dashed},
                 {rgb(0x3CCB9B), LineStyle::dotted},
                 {rgb(0xE3A3CB), LineStyle::dash_dot},
                 {rgb(0xD0BF4A), LineStyle::long_dash}}};
    p.ghost = rgb(0x727F87);
    p.l1 = {rgb(0xB5753F)};
    p.l2 = {rgb(0x16181A), rgb(0xD8D4C8)};
    p.l3 = {rgb(0x9AA5AD)};
    p.earth = {rgb(0x63AE3E), {0, 0, 0, 0}, rgb(0xE7CF2B)};
    p.dc_plus = {rgb(0xE04848)};
    p.dc_minus = {rgb(0xE3E0D6)};
    p.lead_red = {rgb(0xD64545)};
    p.lead_black = {rgb(0x16181A), rgb(0xD8D4C8)};
    p.lead_clamp = {rgb(0xD8D4C8)};
    p.power_source = rgb(0xF2B84B);
    p.power_loss = rgb(0x55636B);
    p.power_lifted = rgb(0x3C7F93);
    return p;
}

Colour heat_tint(const Palette& palette, Colour cold, double share) {
    return std::isfinite(share) ? mix(cold, palette.heat, share) : cold;
}

Sky sky(const Palette& palette, double sun_height_deg) {
    // Civil twilight ends with the sun 6 degrees down; full day colours from 12 degrees up.
    const double day = std::clamp((sun_height_deg + 6.0) / 18.0, 0.0, 1.0);
    return {mix(palette.sky_night_high, palette.sky_day_high, day),
            mix(palette.sky_night_low, palette.sky_day_low, day)};
}

}  // namespace sunshaft::view
