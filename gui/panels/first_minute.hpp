#pragma once
// The first minute on a bench that nobody has touched yet (WindowState::cues). Without a word the drawing shows what
// can be taken hold of. Left alone for a while, the black lead's tip sways once beside the next terminal and comes
// back. Once a lead has been moved, three parts glow: a press breaks one, the same press makes it whole. Whoever goes
// on to something else, or leaves them alone for a minute, sees no more of it.
//
// With Cues::still nothing moves: the two places of the sway glow instead.
#include <optional>
#include <vector>

#include "model/site_drawing.hpp"
#include "shell/panel.hpp"

namespace sunshaft::panels {

class FirstMinute {
  public:
    /// Once a frame, before anything of it is asked; `carried`: a hand has a lead.
    void follow(shell::PanelContext& x, const view::SiteDrawing& drawing, bool carried);
    /// Paints what glows on the drawing's sheets and carries out a press there.
    void glow(shell::PanelContext& x, shell::Canvas& c);
    /// Where the tip of the black lead is in this frame; nothing: where it lies.
    const std::optional<view::Point>& sway() const { return tip_; }
    /// Above all sheets, with the leads.
    void cue_sway(shell::Canvas& c, const view::Palette& p) const;
    /// A press there is for what glows, and for nothing under it.
    bool takes(view::Point mouse) const;

  private:
    enum class Stage { fresh, sways, swayed, glows };
    struct Glow {
        view::Box box;
        std::string kind, place;  // what typically breaks there
    };
    bool goes_on(const view::Desk& desk) const;
    void sway(shell::PanelContext& x, const view::SiteDrawing& drawing);
    void find_parts(const view::SiteDrawing& drawing, const site::Works& works);

    Stage stage_ = Stage::fresh;
    struct Found {  // as the bench was found
        bench::Probes probes;
        bench::Edits edits;
    };
    std::optional<Found> found_;
    double since_ = 0.0;  // of the last touch, the sway's beginning, the last press on what glows
    std::optional<view::Point> tip_;
    std::vector<view::Point> still_;  // what glows in place of a sway
    std::vector<Glow> parts_;
};

}  // namespace sunshaft::panels
