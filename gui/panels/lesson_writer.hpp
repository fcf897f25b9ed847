#pragma once
// A lesson of one's own, step by step as it was recorded: a sentence to each, whether it is asked before it is
// measured, and which reasons are offered. Saving reads it back and says where something is wrong.
#include <string>
#include <string_view>
#include <vector>

#include "shell/panel.hpp"
#include "teach/lesson.hpp"

namespace sunshaft::panels {

class LessonWriter {
  public:
    void draw(shell::PanelContext& x, shell::Box box);

  private:
    double step(shell::PanelContext& x, shell::Box row, std::size_t n);
    void reasons(shell::PanelContext& x, shell::Box row, std::size_t n);
    void foot(shell::PanelContext& x, shell::Box box);
    void know_beliefs();

    std::vector<std::string> ids_, says_;
    std::vector<std::string_view> shown_;
    // 1 and more: a step to be taken away, or to be asked and not only measured (or the other way) after the frame.
    std::size_t removed_ = 0, turned_ = 0;
};

}  // namespace sunshaft::panels
