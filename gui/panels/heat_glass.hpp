#pragma once
// A round glass in the hand that shows the cutaway as warm as it is, with what a camera gets wrong. Key T takes it up
// and lays it down.
#include "model/site_drawing.hpp"
#include "paint/canvas.hpp"
#include "shell/panel.hpp"

namespace sunshaft::panels {

class HeatGlass {
  public:
    bool on() const { return on_; }
    void draw(shell::PanelContext& x, paint::Canvas& c, const view::SiteDrawing& d, const view::Snapshot& s);

  private:
    bool on_ = false;
};

}  // namespace sunshaft::panels
