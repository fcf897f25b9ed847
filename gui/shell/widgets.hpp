#pragma once
// Widgets of the bench: plain sheets, thin rules, one accent. Each takes its place explicitly, answers to mouse
// and keyboard (Tab moves, Space and Enter press, + and - turn a slider) and keeps no state. `id` must be
// unique within the panel. A widget that was pressed or moved returns true in that frame.
#include <span>
#include <string>
#include <string_view>

#include "paint/marks.hpp"
#include "shell/panel.hpp"

namespace sunshaft::shell {

/// What hands do to a box of a panel: the base of every widget, and of dots and handles in drawings.
struct Touch {
    bool hovered = false;
    bool held = false;
    bool pressed = false;  // the mouse went down on it in this frame: a drag begins
    bool clicked = false;  // released inside, or Space/Enter
    bool focused = false;  // by keyboard; draw focus_mark() or a mark of your own
    WidgetId id = 0;       // for FocusRing::show
    Box box{};             // where it stands
};
Touch touch(PanelContext& x, std::string_view id, const Box& box);
void focus_mark(const PanelContext& x, const Box& box);

struct ButtonLook {
    bool chosen = false;
    bool off = false;    // shown, but cannot be pressed now
    bool plain = false;  // words only, no sheet
    std::optional<paint::Icon> icon = std::nullopt;
    double size = 13.0;
    Face face = Face::words;
    std::optional<Colour> colour = std::nullopt;  // of the words
};
bool button(PanelContext& x, std::string_view id, const Box& box, std::string_view words, const ButtonLook& look = {});
/// Width a button needs for its words.
double button_width(const Canvas& c, std::string_view words, const ButtonLook& look = {});

/// One row of word keys that share their rules; returns true when `chosen` changed. `hints`, when given, has a
/// hover text for each key; `off`, when given, says which cannot be chosen now.
enum class KeyRowLook { sheet, meter };
bool key_row(PanelContext& x, std::string_view id, const Box& box, std::span<const std::string_view> keys, int& chosen,
             KeyRowLook look = KeyRowLook::sheet, std::span<const std::string_view> hints = {},
             std::span<const bool> off = {});

/// Tabs in tracked capitals with a bar under the chosen; returns the x where they end.
struct TabsResult {
    double right = 0.0;
    bool changed = false;
};
double tabs_width(const Canvas& c, std::span<const std::string_view> names);
TabsResult tabs(PanelContext& x, std::string_view id, const Box& row, std::span<const std::string_view> names,
                int& chosen, int also_chosen = -1);

struct SliderLook {
    double low = 0.0;
    double high = 1.0;
    bool logarithmic = false;  // needs 0 < low
    double step = 0.0;         // > 0: snaps to multiples
    int ticks = 0;             // parts; logarithmic with 0: one tick a decade
    bool filled = true;        // accent from the left end to the knob
    bool off = false;
};
/// A thin rule with a square knob; the box is its reach (height 16 or so). Double click asks for nothing.
bool slider(PanelContext& x, std::string_view id, const Box& box, double& value, const SliderLook& look);
/// Where a value stands on the slider, 0..1, and back.
double slider_share(double value, const SliderLook& look);
double slider_value(double share, const SliderLook& look);

bool checkbox(PanelContext& x, std::string_view id, Point left_middle, std::string_view words, bool& checked,
              bool off = false);
double checkbox_width(const Canvas& c, std::string_view words);

bool search_field(PanelContext& x, const char* id, const Box& box, std::string& text, const char* hint);
/// Words to type; true in the frame Enter was pressed on some. at_once: it has the keyboard from the next frame on.
bool entry_field(PanelContext& x, const char* id, const Box& box, std::string& text, const char* hint,
                 bool at_once = false);
/// A figure to type, with its unit after it; true when a number was entered (Enter or leaving the field) inside
/// low..high.
bool number_field(PanelContext& x, const char* id, const Box& box, double& value, double low, double high, int decimals,
                  std::string_view unit);

/// Words that open a list to choose from; true when `chosen` changed.
bool chooser(PanelContext& x, const char* id, const Box& box, std::span<const std::string_view> items, int& chosen);

/// Quiet words and a stronger setting beside them ("time base  5 ms per division"), right end at `at`; the
/// setting can be pressed. Returns its whole width through `taken`.
bool setting(PanelContext& x, std::string_view id, Point right_baseline, std::string_view name,
             std::string_view setting, double& taken);
double setting_width(const Canvas& c, std::string_view name, std::string_view setting);

/// Panel title in tracked capitals and quiet words at its right end, on the panel's first line.
void panel_title(PanelContext& x, std::string_view words, std::string_view right = {});

/// In place of a list that has no line yet: how one comes to be.
void nothing_yet(Canvas& c, const Box& list, std::string_view words, const view::Palette& p);

/// The same as panel_title() for a drawer, with a key that closes it.
void drawer_title(PanelContext& x, std::string_view words, std::string_view right = {});

/// Hover text for what was touched: appears when the mouse has rested a moment. First line plain, wrapped at
/// 320 units.
void hint(PanelContext& x, const Touch& t, std::string_view words);
/// The same for a part of a drawing.
void hint(PanelContext& x, const Box& part, std::string_view words);

}  // namespace sunshaft::shell
