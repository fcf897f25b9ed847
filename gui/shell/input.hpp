#pragma once
// What hands did since the last frame, in design units. ImGui gets the same events; this is for drawings that
// are not made of widgets (dragging a probe, a cursor) and for keys of the whole window.
#include <SFML/Window/Keyboard.hpp>

#include <algorithm>
#include <array>
#include <utility>
#include <vector>

#include "model/geometry.hpp"

namespace sunshaft::shell {

using Key = sf::Keyboard::Key;

/// The arrow keys, and which way each points on the screen.
inline constexpr std::array<std::pair<Key, view::Point>, 4> arrow_ways{
    {{Key::Left, {-1, 0}}, {Key::Right, {1, 0}}, {Key::Up, {0, -1}}, {Key::Down, {0, 1}}}};

struct KeyPress {
    Key key = Key::Unknown;
    bool ctrl = false;
    bool shift = false;
    bool alt = false;
};

enum MouseButton : std::size_t { left_button = 0, right_button = 1, middle_button = 2 };

struct Input {
    view::Point mouse{-1e6, -1e6};
    view::Point moved;
    double wheel = 0.0;
    std::array<bool, 3> down{};
    std::array<bool, 3> pressed{};   // went down in this frame
    std::array<bool, 3> released{};  // went up in this frame
    bool double_click = false;       // left button
    bool ctrl = false;
    bool shift = false;
    bool alt = false;
    bool typing = false;         // a text field has the keyboard: letters are not shortcuts
    double now = 0.0;            // seconds since the window opened
    double dt = 0.0;             // since the last frame
    double still_for = 0.0;      // seconds since the mouse last moved
    std::vector<KeyPress> keys;  // pressed or repeated in this frame

    /// True when the key was pressed with exactly these modifiers; the press is used up.
    bool take(Key key, bool with_ctrl = false, bool with_shift = false, bool with_alt = false) {
        const auto it = std::find_if(keys.begin(), keys.end(), [&](const KeyPress& k) {
            return k.key == key && k.ctrl == with_ctrl && k.shift == with_shift && k.alt == with_alt;
        });
        if (it == keys.end()) return false;
        keys.erase(it);
        return true;
    }
};

}  // namespace sunshaft::shell
