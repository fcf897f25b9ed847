#pragma once
// The sheets of the window: every panel at its place, the row of tabs, the rules between, the layer of leads
// above.
#include <string>
#include <vector>

#include "model/layout.hpp"
#include "shell/panel.hpp"

namespace sunshaft::shell {

class Stage {
  public:
    Stage(Panels panels, const Theme& theme, Input& input, FocusRing& ring, view::WindowState& window, view::Desk* desk,
          Requests& ask)
        : panels_(std::move(panels)),
          theme_(theme),
          input_(input),
          ring_(ring),
          window_(window),
          desk_(desk),
          ask_(ask) {}

    /// Collects where things stand from now on.
    Targets& targets() {
        collects_ = true;
        return targets_;
    }
    /// Between ImGui's NewFrame and EndFrame.
    void draw(const view::Arrangement& arrangement);
    /// What the strip shows, as a table: the left panel's, then the right one's.
    std::string csv() const;
    /// The list of keys, over everything.
    void toggle_help() { help_ = !help_; }
    bool helping() const { return help_; }
    /// Earliest Input::now at which a frame is wanted though nothing happens; infinite: none.
    double wake() const { return wake_; }
    /// `kind` is "strip" or "drawer". Throws view::ScriptError when there is no such tab.
    void choose_tab(const std::string& kind, const std::string& name);

  private:
    std::vector<Panel*> at(Place place) const;
    PanelContext context(const Box& box);
    void draw_panel(Panel& panel, const Box& box);
    void draw_tabs(const std::vector<Panel*>& strips, bool split);
    void draw_strip();
    void draw_right();
    void draw_rules();
    void draw_drawer_keys();
    void draw_way_back();
    void draw_notice();
    void draw_hint();
    void draw_help();

    Panels panels_;
    const Theme& theme_;
    Input& input_;
    FocusRing& ring_;
    view::WindowState& window_;
    view::Desk* desk_;
    Requests& ask_;
    view::Arrangement arrangement_;
    Box drawer_keys_;
    ImDrawList* over_ = nullptr;
    double wake_ = 0.0;
    std::string notice_;
    double notice_until_ = 0.0;
    Targets targets_;
    bool collects_ = false;
    bool help_ = false;
};

}  // namespace sunshaft::shell
