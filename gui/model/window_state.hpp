#pragma once
// What the window remembers between sessions: size, place, theme, scale, what is shown. Kept as `key = value`
// lines in $XDG_STATE_HOME/sunshaft/window (default ~/.local/state). A missing, damaged or foreign line is
// passed over: a bad file costs its bad lines, never the start of the program.
#include <filesystem>
#include <optional>
#include <string>
#include <string_view>

#include "model/files.hpp"
#include "model/layout.hpp"

namespace sunshaft::view {

/// What of the projector's picture is on show (F3, F4, F5 while it is).
struct Projected {
    bool displays = true, chain = true, site = true;
};

/// How the window shows somebody who has never seen it what can be taken hold of, without a word.
enum class Cues { off, still, moving };

struct WindowState {
    int width_px = 1600;
    int height_px = 1000;
    int x_px = -1;  // -1: in the middle of the desktop
    int y_px = -1;
    bool dark = false;
    std::string language;          // "es"; "": as the environment has it
    std::optional<bool> calm;      // nothing moves but what is measured; nothing: as the desktop wishes
    bool desktop_is_calm = false;  // what it wishes (desktop.hpp); not remembered
    double scale = 0.0;            // 0: chosen from the height of the desktop
    bool projector = false;
    Projected projected;
    Cues cues = Cues::off;       // on for the first minute of the first start alone; not remembered
    bool choosing_site = false;  // the sites to choose from stand over the bench; not remembered
    bool spelling = false;       // letters go to a lead in the hand, in no field; not remembered
    Shown shown;
    std::optional<double> wipe;  // x of the wipe's rule, design units; nothing: off; not remembered
    int strip_left = 0;          // which strip panel is on the left, by its order
    int strip_right = 1;         // and on the right when split
    int drawer = 0;              // which drawer panel
    bool is_calm() const { return calm.value_or(desktop_is_calm); }
};

std::string to_text(const WindowState& state);
WindowState window_state_from(std::string_view text);

/// Reads a remembered state; defaults when there is none.
WindowState recall(const std::filesystem::path& file);
/// False when it cannot be written.
bool remember(const std::filesystem::path& file, const WindowState& state);

}  // namespace sunshaft::view
