#pragma once
// A year as a calendar: a row a month, a cell a day, as blue as it brings water; what a fault takes is left pale in it.
#include "model/day_view.hpp"
#include "shell/panel.hpp"

namespace sunshaft::panels {

class DayCalendar {
  public:
    /// `open`: closed when a day was chosen.
    explicit DayCalendar(bool& open) : open_(open) {}
    void draw(shell::PanelContext& x, const view::Box& box, const view::DayView& v);

  private:
    bool& open_;
};

}  // namespace sunshaft::panels
