#pragma once
// Small drawings used all over the bench: icons, figures with units, segment displays, bars, test-point dots.
#include <string_view>

#include "paint/canvas.hpp"

namespace sunshaft::paint {

enum class Icon {
    play,
    hold,
    step,
    sun,
    warning,
    magnifier,
    projector,
    cross,
    chevron_right,
    chevron_down,
    undo,
    redo,
    heal,
    camera,
    ground_water,
    section
};

/// Drawn inside a square of side `size` about the centre.
void icon(Canvas& c, Icon which, Point centre, double size, Colour colour);

/// The mark of a planted fault: a diamond with its number. `height` corner to corner.
void fault_mark(Canvas& c, Point centre, int number, double height, const view::Palette& palette);

struct ValueLook {
    Colour number;
    Colour unit;
    double size = 13.0;
    Face face = Face::mono;      // of the number; strong faces for what matters most
    Align align = Align::right;  // right: `at.x` is the right end of the unit; left: the left end of the number
    double unit_room = 0.0;      // > 0: the unit gets this much room, so that numbers of a column end at one x
};
/// Number and unit on one baseline, the unit lighter. Returns the width of both.
double value(Canvas& c, Point at, std::string_view number, std::string_view unit, const ValueLook& look);
double value_width(const Canvas& c, std::string_view number, std::string_view unit, const ValueLook& look);

struct SegmentLook {
    Colour lit;
    Colour ghost;  // segments that are off
    double size = 44.0;
    int places = 4;      // digits of the display
    bool drawn = false;  // as shapes even where the font is there: sharp at any size
};
/// Seven-segment figures ending at `at` (right end, baseline), with the unlit segments behind. Points sit
/// between the digits without taking a place; letters of over-range (`OL`) are possible. Returns the width of
/// all places.
double segments(Canvas& c, Point at, std::string_view shown, const SegmentLook& look);
double segments_width(const Canvas& c, const SegmentLook& look);

/// Bar of a meter display: a scale of `ticks` parts below it, filled to share (0..1); share outside shows full.
void meter_bar(Canvas& c, const Box& box, double share, int ticks, Colour lit, Colour dim);

/// Engraved dot of a test point: filled when it can be reached, hollow when for teaching only.
void test_point(Canvas& c, Point at, bool reachable, bool hovered, const view::Palette& palette, double radius = 5.5);

/// A short piece of a signal's line with its style, as a key beside words.
void signal_key(Canvas& c, Point left_middle, const view::SignalLook& look, double length = 20.0);

/// Sheet: ground and thin rule.
void sheet(Canvas& c, const Box& box, Colour ground, Colour rule);

/// Title of a panel in tracked 12 px capitals, `at` its left end on the baseline. The words are given in
/// sentence case.
double title(Canvas& c, Point at, std::string_view words, Colour colour);
double title_width(const Canvas& c, std::string_view words);

/// Upper case of Latin letters, including those of Latin-1 in UTF-8.
std::string capitals(std::string_view words);

}  // namespace sunshaft::paint
