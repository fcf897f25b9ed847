#include "panels/panels.hpp"
#include "shell/widgets.hpp"

namespace sunshaft::panels {

namespace {

class Cutaway : public shell::Panel {
  public:
    explicit Cutaway(std::shared_ptr<view::SharedView> shared) : shared_(std::move(shared)) {}
    shell::Place place() const override { return shell::Place::cutaway; }
    const char* title() const override { return "Cutaway, section through the bore"; }
    void draw(shell::PanelContext& x) override { shell::panel_title(x, title()); }

  private:
    std::shared_ptr<view::SharedView> shared_;
};

}  // namespace

std::unique_ptr<shell::Panel> cutaway(std::shared_ptr<view::SharedView> shared) {
    return std::make_unique<Cutaway>(std::move(shared));
}

}  // namespace sunshaft::panels
