#pragma once
// Replays a script frame by frame: the window's own acts here, all others handed on. While it plays time goes by
// frames, sixty to the second, and only those are painted that a picture is taken of.
#include <functional>
#include <string>
#include <vector>

#include "model/script.hpp"
#include "model/window_state.hpp"
#include "shell/cue_seeker.hpp"
#include "shell/platform.hpp"

namespace sunshaft::shell {

/// Window acts:
///   frames N              let N frames pass            snapshot FILE       picture of the next frame as PNG
///   theme light|dark      scale PERCENT                size W H            (pixels)
///   show NAME on|off      top_bar cautions cutaway meters inside strip drawer split
///   fold fit|open|folded  tab NAME (strip)             drawer NAME
///   move X Y              press X Y   release X Y      click X Y   (design units, or the name of a target or how it
///                                     begins)
///   check FILE LABEL      adds to the file, a JSON line each, what stands on what in the next frame (paint/ledger.hpp)
///   corners FILE LABEL    adds where the corners of each draw list of the next frame stand, in pixels
///   state FILE LABEL      the same without that: the desk, the cues, where things stand
///   cues moving|still|off  as on the first start, whose cues alone these three go by (cue_seeker.hpp):
///   carry moving          let go              press glowing N
///   wheel X Y TURNS       key [ctrl+][shift+][alt+]K   type "words"        quit
class ScriptPlayer {
  public:
    struct Hands {
        Platform& platform;
        view::WindowState& window;
        double scale;
        std::function<void(const std::string& kind, const std::string& name)> choose_tab;  // "strip" or "drawer"
        std::function<void(const std::vector<std::string>&)> other;
        std::function<view::Point(const std::string& name)> target = {};  // its middle; throws view::ScriptError
    };

    ScriptPlayer() = default;
    explicit ScriptPlayer(std::vector<view::ScriptLine> lines) : lines_(std::move(lines)) {}

    bool done() const { return next_ >= lines_.size() && wait_ == 0 && snapshot_.empty() && !checking() && !seeks(); }
    /// Plays acts until one has to wait for a frame. Throws view::ScriptError naming the line.
    void advance(Hands& hands);
    /// File of a snapshot wanted of the frame just drawn; empty when none. Forgets it.
    std::string take_snapshot();
    bool wants_snapshot() const { return wait_ == 0 && !snapshot_.empty(); }
    /// The same for a check; while one is awaited no frame need be painted.
    struct Check {
        std::string file, label;
        bool clashes = true, corners = false;
    };
    Check take_check();
    bool checking() const { return !check_.file.empty(); }
    /// The frame that comes is the one to be checked.
    bool checks() const { return wait_ == 0 && checking(); }
    /// Of the frame that comes something is wanted that is drawn, not only where things stand.
    bool looks() const { return wants_snapshot() || (checks() && (check_.clashes || check_.corners)); }
    /// A player that knows no names is at work: it is to look at every frame.
    bool seeks() const { return seeker_.busy(); }
    void look(const paint::Ledger& ledger, Platform& platform, double scale);

  private:
    struct Line;
    void play(const view::ScriptLine& line, Hands& hands);
    // Each true where the act is one of its own.
    bool play_frame(const Line& l);
    bool play_window(const Line& l);
    bool play_hand(const Line& l);
    bool play_cue(const Line& l);

    std::vector<view::ScriptLine> lines_;
    std::size_t next_ = 0;
    int wait_ = 0;
    std::string snapshot_;
    Check check_;
    CueSeeker seeker_;
};

}  // namespace sunshaft::shell
