#pragma once
// The one place that knows how ImGui's input changed between 1.86 (KeyMap, KeysDown) and 1.87 (Add*Event).
#include <imgui.h>
#include <imgui_internal.h>

#include <SFML/Window/Keyboard.hpp>
#include <SFML/Window/Mouse.hpp>
#include <vector>

namespace sunshaft::shell::shim {

/// Whether a text field has the keyboard at this moment. io.WantTextInput says so up to two frames late: a shortcut
/// pressed right after Return or Escape would pass for typing and be lost.
inline bool typing() {
    const ImGuiID active = ImGui::GetActiveID();
    return active != 0 && ImGui::GetInputTextState(active) != nullptr;
}

/// The text field of that id, the next item, has the keyboard from the next frame on. ImGui 1.90's own way there finds
/// no item in a window that no key has moved in.
inline void give_keyboard([[maybe_unused]] ImGuiID id) {
#if IMGUI_VERSION_NUM >= 18900
    ImGuiContext& g = *ImGui::GetCurrentContext();
    g.NavNextActivateId = id;
    g.NavNextActivateFlags = ImGuiActivateFlags_PreferInput;
#else
    ImGui::SetKeyboardFocusHere();
#endif
}

inline int imgui_button(sf::Mouse::Button b) {
    return b == sf::Mouse::Left ? 0 : b == sf::Mouse::Right ? 1 : b == sf::Mouse::Middle ? 2 : -1;
}

/// ImGui's name of a key, ImGuiKey_COUNT when the text fields do not use it. Tab is left out: the focus ring
/// has it.
inline ImGuiKey imgui_key(sf::Keyboard::Key key) {
    switch (key) {
        case sf::Keyboard::Tab: return ImGuiKey_Tab;
        case sf::Keyboard::Left: return ImGuiKey_LeftArrow;
        case sf::Keyboard::Right: return ImGuiKey_RightArrow;
        case sf::Keyboard::Up: return ImGuiKey_UpArrow;
        case sf::Keyboard::Down: return ImGuiKey_DownArrow;
        case sf::Keyboard::PageUp: return ImGuiKey_PageUp;
        case sf::Keyboard::PageDown: return ImGuiKey_PageDown;
        case sf::Keyboard::Home: return ImGuiKey_Home;
        case sf::Keyboard::End: return ImGuiKey_End;
        case sf::Keyboard::Insert: return ImGuiKey_Insert;
        case sf::Keyboard::Delete: return ImGuiKey_Delete;
        case sf::Keyboard::BackSpace: return ImGuiKey_Backspace;
        case sf::Keyboard::Space: return ImGuiKey_Space;
        case sf::Keyboard::Enter: return ImGuiKey_Enter;
        case sf::Keyboard::Escape: return ImGuiKey_Escape;
        case sf::Keyboard::A: return ImGuiKey_A;
        case sf::Keyboard::C: return ImGuiKey_C;
        case sf::Keyboard::V: return ImGuiKey_V;
        case sf::Keyboard::X: return ImGuiKey_X;
        case sf::Keyboard::Y: return ImGuiKey_Y;
        case sf::Keyboard::Z: return ImGuiKey_Z;
        default: return ImGuiKey_COUNT;
    }
}

#if IMGUI_VERSION_NUM >= 18700

// Platform::poll gives each press a frame of its own; ImGui spreading them once more would see Return a frame after the
// window's own shortcuts have.
inline void map_keys(ImGuiIO& io) { io.ConfigInputTrickleEventQueue = false; }
inline void key(ImGuiIO& io, sf::Keyboard::Key k, bool down) {
    if (const ImGuiKey name = imgui_key(k); name != ImGuiKey_COUNT) io.AddKeyEvent(name, down);
}
inline void modifiers(ImGuiIO& io, bool ctrl, bool shift, bool alt) {
#if IMGUI_VERSION_NUM >= 18837
    io.AddKeyEvent(ImGuiMod_Ctrl, ctrl);
    io.AddKeyEvent(ImGuiMod_Shift, shift);
    io.AddKeyEvent(ImGuiMod_Alt, alt);
#else
    io.AddKeyEvent(ImGuiKey_ModCtrl, ctrl);
    io.AddKeyEvent(ImGuiKey_ModShift, shift);
    io.AddKeyEvent(ImGuiKey_ModAlt, alt);
#endif
}
inline void mouse_at(ImGuiIO& io, float x, float y) { io.AddMousePosEvent(x, y); }
inline void mouse_button(ImGuiIO& io, int button, bool down) { io.AddMouseButtonEvent(button, down); }
inline void wheel(ImGuiIO& io, float across, float along) { io.AddMouseWheelEvent(across, along); }
inline void focus(ImGuiIO& io, bool has) { io.AddFocusEvent(has); }

#else

inline void map_keys(ImGuiIO& io) {
    for (int k = 0; k < sf::Keyboard::KeyCount; ++k)
        if (const ImGuiKey name = imgui_key(static_cast<sf::Keyboard::Key>(k)); name != ImGuiKey_COUNT)
            io.KeyMap[name] = k;
}
inline void key(ImGuiIO& io, sf::Keyboard::Key k, bool down) {
    if (k >= 0 && k < sf::Keyboard::KeyCount) io.KeysDown[k] = down;
}
inline void modifiers(ImGuiIO& io, bool ctrl, bool shift, bool alt) {
    io.KeyCtrl = ctrl;
    io.KeyShift = shift;
    io.KeyAlt = alt;
}
inline void mouse_at(ImGuiIO& io, float x, float y) { io.MousePos = {x, y}; }
inline void mouse_button(ImGuiIO& io, int button, bool down) { io.MouseDown[button] = down; }
inline void wheel(ImGuiIO& io, float across, float along) {
    io.MouseWheelH += across;
    io.MouseWheel += along;
}
inline void focus(ImGuiIO& io, bool has) { io.AddFocusEvent(has); }

#endif

/// A copy of `data` that holds the given draw lists instead of its own. `lists` must outlive it.
inline ImDrawData with_lists(const ImDrawData& data, std::vector<ImDrawList*>& lists) {
    ImDrawData copy = data;
    int corners = 0;
    int indices = 0;
    for (const ImDrawList* list : lists) {
        corners += list->VtxBuffer.Size;
        indices += list->IdxBuffer.Size;
    }
#if IMGUI_VERSION_NUM >= 18973
    copy.CmdLists.resize(0);
    for (ImDrawList* list : lists) copy.CmdLists.push_back(list);
#else
    copy.CmdLists = lists.data();
#endif
    copy.CmdListsCount = static_cast<int>(lists.size());
    copy.TotalVtxCount = corners;
    copy.TotalIdxCount = indices;
    return copy;
}

}  // namespace sunshaft::shell::shim
