#pragma once
// Palette and fonts together, and ImGui's own style (popups, text fields, scroll bars) brought in line with
// them.
#include "model/palette.hpp"
#include "paint/fonts.hpp"

namespace sunshaft::shell {

struct Theme {
    view::Palette palette = view::light_palette();
    paint::Fonts fonts;
};

/// Sets ImGui's colours and sizes for the palette at the fonts' scale.
void apply_style(const Theme& theme);

}  // namespace sunshaft::shell
