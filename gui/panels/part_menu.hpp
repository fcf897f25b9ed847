#pragma once
// What may be done at a part of the drawing: a card of acts, each of which opens its own card with the caution. Opens
// at a click on the part, goes at a click elsewhere.
#include <memory>
#include <optional>

#include "model/shared_view.hpp"
#include "model/site_drawing.hpp"
#include "shell/panel.hpp"

namespace sunshaft::panels {

class PartMenu {
  public:
    explicit PartMenu(std::shared_ptr<view::SharedView> shared) : shared_(std::move(shared)) {}
    void open(const view::Part& part, view::Point at) { open_ = Open{part, at}; }
    void close() { open_.reset(); }
    bool is_open() const { return open_.has_value(); }
    bool covers(view::Point mouse) const { return open_ && box_.contains(mouse); }
    void draw(shell::PanelContext& x, const view::Snapshot& s);

  private:
    struct Open {
        view::Part part;
        view::Point at;
    };
    std::shared_ptr<view::SharedView> shared_;
    std::optional<Open> open_;
    view::Box box_;
};

}  // namespace sunshaft::panels
