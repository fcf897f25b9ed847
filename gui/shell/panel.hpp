#pragma once
// What a panel is and what it is given. A panel draws one sheet of the bench from the view-model; it holds its
// own state as members (never static) and knows nothing of the window's loop.
//
//   class SpliceSheet : public Panel { ... void draw(PanelContext& x) override {
//       Canvas c = x.canvas();
//       c.text({x.box.x + 16, x.box.y + 24}, ...);
//       if (button(x, "heal", box, "Heal")) x.desk->...;
//   }};
#include <map>
#include <memory>
#include <optional>
#include <string>
#include <string_view>
#include <vector>

#include "model/geometry.hpp"
#include "model/window_state.hpp"
#include "paint/canvas.hpp"
#include "shell/focus.hpp"
#include "shell/input.hpp"
#include "shell/theme.hpp"

namespace sunshaft::view {
class Desk;  // the view-model of the whole bench
}

namespace sunshaft::shell {

using paint::Align;
using paint::Box;
using paint::Canvas;
using paint::Colour;
using paint::Face;
using paint::Point;
using paint::Sit;

/// Where a panel stands. The strip and the drawer hold several and show one (the strip two when split); the projector's
/// has the whole window, in place of all others; a popup has no place and draws in draw_over().
enum class Place { top_bar, cautions, drawer, cutaway, meters, inside, strip, projector, popup };

/// A part of a panel that clips what is drawn in it and may scroll. While it lives all drawing and widgets of
/// the panel go into it; end its scope before drawing beside it. An inert one leaves the mouse to what lies under it.
class Child {
  public:
    Child(const char* id, const Box& box, const paint::Fonts& fonts, bool scrolls, bool inert = false);
    ~Child();
    Child(const Child&) = delete;
    Child& operator=(const Child&) = delete;
    Canvas canvas() const;
    /// Of a child that scrolls: how far it is scrolled, and how high its content is (call once a frame).
    double scrolled() const;
    void content_height(double height);

  private:
    const paint::Fonts& fonts_;
    Box box_;
};

/// Layers, from the lowest: the sheets; leads and clamp, which cross them; popups (cards with cautions, menus, the
/// notice, the list of keys); one hover text, placed where it lies on no popup and no caution. Nothing else stands
/// above anything.
///
/// What a panel asks of the window; carried out after the frame.
struct Requests {
    bool picture = false;  // a PNG of the window
    bool csv = false;      // what is on show as a table
    bool quit = false;
    std::string write_case;  // a case to be written to a file of its own; empty: none
    std::string open_site;   // a scenario's file, to be opened in place of this one; empty: none
    std::string notice;      // a line for the user, shown a few seconds at the foot of the window
    struct Hint {
        std::string words;
        Box of;                    // what it is about: of two, the smaller has its say
        bool by_keyboard = false;  // stands beside that, not beside the mouse
    };
    std::optional<Hint> hint;  // of this frame; drawn after all panels
    std::vector<Box> clear;    // of this frame: what no hover text may lie on (popups, cautions, keys to press next)
};

/// Where everything that can be touched stands in this frame, by name; for tests that move a real mouse.
using Targets = std::map<std::string, Box>;

struct PanelContext {
    Box box;  // the panel's sheet, design units in the window
    const Theme& theme;
    Input& input;
    FocusRing& ring;            // where the keyboard is
    view::WindowState& window;  // panels may change it: theme, scale, what is shown
    view::Desk* desk;           // null in the gallery
    ImDrawList* over;           // drawn above all panels: leads that cross from sheet to sheet
    Requests& ask;
    Targets* targets;  // null: nobody asks
    double& wake;      // earliest time (input.now) at which a frame is wanted though nothing happens
    Box keys = {};     // the window's own, which lie on the cutaway; empty: none

    const view::Palette& palette() const { return theme.palette; }
    /// On the panel's own sheet; while a Child lives, on that.
    Canvas canvas() const { return {ImGui::GetWindowDrawList(), theme.fonts}; }
    /// Above all panels.
    Canvas overlay() const { return {over, theme.fonts}; }
    [[nodiscard]] Child child(const char* id, const Box& part, bool scrolls = false, bool inert = false) const {
        return {id, part, theme.fonts, scrolls, inert};
    }
    /// The mouse is over this part of this panel and nothing covers it.
    bool hovers(const Box& part) const {
        return ImGui::IsWindowHovered(ImGuiHoveredFlags_ChildWindows) && part.contains(input.mouse);
    }
    /// Names a place of a drawing, when it is in sight.
    void target(const std::string& name, const Box& at) const;
    /// No hover text lies on this part in this frame.
    void keep_clear(const Box& part) const { ask.clear.push_back(part); }
    /// Ask for a frame `seconds` from now.
    void wake_in(double seconds) const { wake = std::min(wake, input.now + seconds); }
};

/// A card above the sheets and the leads: while it lives all drawing and widgets go into it. No hover text covers it.
class Popup {
  public:
    Popup(const PanelContext& x, const char* id, const Box& box);
    ~Popup();
    Popup(const Popup&) = delete;
    Popup& operator=(const Popup&) = delete;
};

class Panel {
  public:
    virtual ~Panel() = default;
    virtual Place place() const = 0;
    /// Sentence case; the name on its tab.
    virtual const char* title() const = 0;
    virtual void draw(PanelContext& x) = 0;
    /// For strip panels: settings written at the right of the row of tabs, within x.box, right-aligned.
    virtual void draw_tab_row(PanelContext&) {}
    /// Of a strip panel: what it shows, as a table; empty: nothing.
    virtual std::string csv(const view::Desk&) const { return {}; }
    /// Called after all panels were drawn; x.box is the whole window, draw on x.overlay().
    virtual void draw_over(PanelContext&) {}
};

using Panels = std::vector<std::unique_ptr<Panel>>;

}  // namespace sunshaft::shell
