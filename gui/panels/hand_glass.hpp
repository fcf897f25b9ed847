#pragma once
// A round glass in the hand over the cutaway: how warm it is there, with what a camera gets wrong; or that corner in
// time, slowed a thousand times while all else goes on. Key T takes up the one, then the other, and lays them down.
#include <string>

#include "model/lens.hpp"
#include "model/site_drawing.hpp"
#include "paint/canvas.hpp"
#include "shell/panel.hpp"

namespace sunshaft::panels {

class HandGlass {
  public:
    bool on() const { return kind_ != Kind::none; }
    void draw(shell::PanelContext& x, paint::Canvas& c, const view::SiteDrawing& d, const view::Snapshot& s);

  private:
    enum class Kind { none, heat, time };
    struct Words {
        std::string line, why;
    };
    static Words heat(paint::Canvas& c, const view::Lens& lens, const view::SiteDrawing& d, const view::Snapshot& s);
    Words time(shell::PanelContext& x, paint::Canvas& c, const view::Lens& lens, const view::SiteDrawing& d,
               const view::Snapshot& s);

    Kind kind_ = Kind::none;
    double angle_ = 0.0;  // of the turn the glass is at, rad
};

}  // namespace sunshaft::panels
