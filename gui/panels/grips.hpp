#pragma once
// Hands on the drawing. What comes apart follows the pointer: the isolator's lever turns, a connector, a fuse, a wire,
// a guard's pair is pulled out and pushed home, a cover is drawn over the modules, the wheel of the wellhead valve
// turns, a cloud goes over a module and shades it. At the point of no return the act's card asks (act_card.cpp); until
// it is answered the hand holds still. A press that goes nowhere is a click.
#include <memory>
#include <optional>
#include <string>
#include <utility>
#include <vector>

#include "model/shared_view.hpp"
#include "model/site_drawing.hpp"
#include "shell/panel.hpp"

namespace sunshaft::panels {

class Grips {
  public:
    explicit Grips(std::shared_ptr<view::SharedView> shared) : shared_(std::move(shared)) {}

    /// What stands beside its part and can be taken: levers, roll of the cover, wheel, cloud. Null: nothing there.
    const view::Part* beside(view::Point mouse) const;
    /// Lays them out for this frame.
    void lay_out(const view::SiteDrawing& drawing, const view::Snapshot& s);
    void take(const view::Part& part, view::Point mouse);
    bool held() const { return part_ && !asks(); }
    /// While held, every frame. The part, where the hand let go without having moved it.
    std::optional<view::Part> follow(shell::PanelContext& x, const view::Snapshot& s);
    void paint(shell::Canvas& c, const view::SiteDrawing& d, const view::Snapshot& s, const view::Palette& p) const;

    /// For keys: wheel and cloud are stops of the keyboard's way. There the arrows turn the valve, further shut (left)
    /// or open (right), and carry the cloud from module to module.
    void join_ring(shell::PanelContext& x);
    void keys(shell::PanelContext& x, const view::Snapshot& s) const;
    void targets(const shell::PanelContext& x) const;

  private:
    bool asks() const;
    double share() const;

    std::shared_ptr<view::SharedView> shared_;
    void turn_valve(view::Desk& desk, const view::Snapshot& s, int step) const;
    void drop_cloud(view::Desk& desk, view::Point at) const;
    void blow_cloud(view::Desk& desk, view::Point way) const;

    view::Part lever_{}, roll_{}, wheel_{}, cloud_{}, changeover_{};  // empty boxes: the site has none
    std::vector<std::pair<std::string, view::Box>> modules_;          // by name
    std::string shaded_;                                              // the one the cloud stands over
    view::Point cloud_rest_;                                          // where it shades nothing
    bool on_wheel_ = false, on_cloud_ = false;                        // the keyboard
    double array_wide_ = 0.0;
    std::optional<view::Part> part_;  // in the hand
    bool on_lever_ = false, moved_ = false;
    view::Point from_, at_;
    double turned_ = 0.0, valve_ = 1.0;  // rad so far; opening when the wheel was taken
    std::optional<view::SharedView::AskedAct> asked_;
};

}  // namespace sunshaft::panels
