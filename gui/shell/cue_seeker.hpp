#pragma once
// A player that knows no names: it sees only the cues of a frame (paint/ledger.hpp), what moves, what glows, where the
// pointer is a hand, and does with a mouse what somebody would who has never seen the window.
#include <SFML/Window/Event.hpp>

#include <deque>
#include <string>
#include <vector>

#include "paint/ledger.hpp"
#include "shell/platform.hpp"

namespace sunshaft::shell {

sf::Event mouse_move(int x, int y);
sf::Event mouse_button(bool down, int x, int y);

class CueSeeker {
  public:
    /// Waits for something to move of its own accord, takes it where its way began and carries it as far as it went.
    void carry_moving();
    /// Lets go of it.
    void let_go();
    /// Presses the nth thing that glows, from 1.
    void press_glowing(int nth);

    bool busy() const { return want_ != Want::nothing || !steps_.empty(); }
    /// After each frame while it is busy. Throws view::ScriptError when no cue comes within seven seconds of frames, or
    /// the pointer does not become a hand over it.
    void look(const paint::Ledger& ledger, Platform& platform, double scale);

  private:
    enum class Want { nothing, moving, glowing };
    struct Step {
        enum class Kind { move, expect_hand, press, release } kind;
        view::Point at;
    };
    Want want_ = Want::nothing;
    std::size_t nth_ = 0;
    int patience_ = 0, wait_ = 0;  // frames
    std::vector<view::Point> way_;
    std::deque<Step> steps_;
    view::Point hand_;
};

}  // namespace sunshaft::shell
