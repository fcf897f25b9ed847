#pragma once
// The arrangement of the window as arithmetic: which sheet stands where, for a window size and what is shown.
// No drawing, no state. All lengths in design units (pixels at 100 % scale).
#include <optional>
#include <span>

#include "model/geometry.hpp"

namespace sunshaft::view {

/// What the strip along the bottom does: `fit` opens it when there is height enough and folds it to its row of
/// tabs when not; the other two are the user's own word.
enum class StripWish { fit, open, folded };

/// What the user wants to see. Nothing here is lost when the window is too small for it.
struct Shown {
    bool top_bar = true;
    bool cautions = true;
    bool cutaway = true;
    bool meters = true;
    bool inside = true;
    bool strip = true;
    bool drawer = false;
    bool suspects = false;  // under the meters, in place of the inside of the reading, as high as the window allows
    bool lesson = false;    // there, too, and before them: the lessons
    bool strip_split = false;
    StripWish strip_wish = StripWish::fit;
    void toggle_lesson() {
        lesson = !lesson;
        if (lesson) inside = meters = true;
    }
    friend constexpr bool operator==(const Shown&, const Shown&) = default;
};

/// Where each sheet stands; an empty box is not shown. Boxes tile the window without gap or overlap, except
/// that `meters` and `inside` may be higher together than `right`: then the column scrolls.
struct Arrangement {
    Size window;
    Box top_bar;
    Box cautions;
    Box drawer;
    Box cutaway;
    Box right;   // the viewport of the right column
    Box meters;  // unscrolled: starts at right.y
    Box inside;  // unscrolled: starts at meters.bottom()
    Box strip;   // tabs and content
    Box strip_tabs;
    Box strip_left;   // the content, or its left half when split
    Box strip_right;  // empty unless split
    bool strip_folded = false;
    bool strip_narrow = false;        // no room to split it
    double right_scroll_range = 0.0;  // how far the right column can scroll, 0 when all fits
};

Arrangement arrange(Size window, const Shown& shown);

/// Where a hover text of this size stands near the mouse: within the window and on none of the boxes kept clear;
/// nothing: nowhere.
std::optional<Box> beside(Point mouse, Size size, Size window, std::span<const Box> clear);

/// The scale to draw at: `wanted` (0.5..3) unless the window would then hold less than the least arrangement
/// (960 x 540 units); never below 0.5.
double fitting_scale(double wanted, double window_width_px, double window_height_px);

/// Next step of the scale when enlarging (+1) or reducing (-1): 50, 60, 75, 90, 100, 110, 125, 150, 175, 200,
/// 250, 300 %.
double next_scale(double now, int direction);

}  // namespace sunshaft::view
