#pragma once
// A lead taken up by key: R, B and C take one into the hand. Letters then narrow the points it can go to, arrows go to
// the next one that way. Enter, or the same key again before any letter, sets it down where the keyboard is; Escape
// lets go of it. Till then it lies where it lay.
#include <functional>
#include <string>
#include <vector>

#include "model/spelled.hpp"
#include "shell/panel.hpp"

namespace sunshaft::panels {

enum class Lead { none, red, black, clamp };

class LeadKeys {
  public:
    Lead in_hand() const { return lead_; }
    bool holds() const { return lead_ != Lead::none; }
    // What a frame's keys ask for.
    struct Asked {
        Lead lead = Lead::none;
        std::string to = {};  // the keyboard goes to this spot
        bool down = false;    // the lead is set down where the keyboard is
    };
    // spots: where a lead can go. at: the spot the keyboard is on, of a clamp or of leads; empty: it is elsewhere.
    Asked follow(shell::PanelContext& x, const std::function<std::vector<view::Spot>(Lead)>& spots,
                 const std::string& at, bool of_clamp);
    // What was typed and what it may mean, beside where the lead hangs; the one at hand stands out.
    void draw(const shell::PanelContext& x, const std::vector<view::Spot>& spots, const view::Spot& at,
              const view::Box& within) const;
    // Where an arrow key of this frame leads to among these; empty: none was pressed, or there is none that way.
    static std::string walk(shell::PanelContext& x, const std::vector<view::Spot>& spots, const std::string& at);

  private:
    bool listen(shell::PanelContext& x);

    Lead lead_ = Lead::none;
    std::string typed_;
};

}  // namespace sunshaft::panels
