#pragma once
// The instructor's side of a lesson with a class: the clock, what to say and to ask, what comes next, what is planted.
// It stands on the laptop; the wall shows none of it.
#include <memory>
#include <string>
#include <vector>

#include "model/background.hpp"
#include "model/teaching.hpp"
#include "shell/panel.hpp"
#include "teach/plan.hpp"

namespace sunshaft::panels {

class InstructorCard {
  public:
    // The lesson that is held now; its clock begins with it.
    void follow(const view::Teaching::State& s, double now);
    // "12 min, predict until 15"; empty before the plan is there.
    std::string clock(double now) const;
    void draw(shell::PanelContext& x, shell::Box box, const view::Teaching::State& s);

  private:
    struct State : view::Asked {
        std::shared_ptr<const teach::Plan> plan;
    };
    double phases(shell::Canvas& c, shell::Box row, const shell::PanelContext& x, double minute) const;

    view::Background<State> background_;
    std::shared_ptr<const teach::Lesson> lesson_;
    double begun_ = 0.0;  // s by the window's clock
};

}  // namespace sunshaft::panels
