#pragma once
// The loop of the window: events, arrangement, panels, drawing, pacing, scripts, what is remembered.
#include <filesystem>
#include <functional>
#include <string>
#include <vector>

#include "model/script.hpp"
#include "model/window_state.hpp"
#include "shell/panel.hpp"
#include "shell/platform.hpp"

namespace sunshaft::shell {

/// What the loop needs of the view-model behind the panels. Every function may be empty.
struct DeskLink {
    view::Desk* desk = nullptr;
    std::function<bool()> changed;         // a new picture is due though nothing was touched; true once for each
    std::function<void(Input&)> keys;      // keys of the whole window that are the bench's (undo, run ...)
    std::function<void()> keep;            // what was done up to now; asked for as work goes on, and at the end
    std::string notice;                    // a line for the user, first of all
    std::function<std::string()> refusal;  // why an act was not done, once each; else empty
    /// An act of a script that the window does not know; throws view::ScriptError when it cannot be done.
    std::function<void(const std::vector<std::string>& words)> act;
    std::function<std::string()> state;  // all that stands on the desk, as JSON
    /// Opens another site in place of this one; why not, in one line, or nothing. `site` may be asked anew then.
    std::function<std::string(const std::string& scenario)> open;
    std::function<std::string()> site;                       // for the window's title
    std::function<void(const std::string& language)> speak;  // all words of the bench in it from now on
    std::function<bool()> blank;  // of a wall (model/wall.hpp): nothing is to be seen now; it obeys no hand
};

struct AppOptions {
    int width_px = 0;  // 0: as remembered
    int height_px = 0;
    std::string theme;          // "light", "dark" or empty: as remembered
    std::string language = {};  // one of text::languages(), or empty: as remembered
    std::string motion = {};    // "full", "reduced" or empty: as remembered, else as the desktop wishes
    double scale = 0.0;         // 0: as remembered
    std::filesystem::path script;
    int frames = 0;  // > 0: end after so many frames
    bool stats = false;
    std::filesystem::path state;  // a file kept up to date with what is on show and where, as JSON
    view::Cues cues = view::Cues::off;
    std::string tab = {};     // of the strip, on show at first; empty: as remembered
    bool remember = true;     // keep window and layout between sessions
    view::Shown shown;        // used when `fixed_view`
    bool fixed_view = false;  // the gallery: do not recall what was shown
};

/// Runs the window until it is closed, or until SIGTERM, SIGINT or SIGHUP asks for its end. Returns the exit status: 0
/// done, 2 when a script is wrong (said on stderr), 128 and the signal's number.
int run(const AppOptions& options, Panels panels, DeskLink link);

}  // namespace sunshaft::shell
