#pragma once
// Where the keyboard is. Everything that can be touched joins the ring in the order it is drawn; Tab and
// Shift+Tab go round it, Ctrl+Tab to the next panel, Space and Enter press. The mark shows only while the
// keyboard leads. (ImGui's own navigation takes the arrow keys, which drawings and sliders need, and Tab passes
// over buttons in older versions.)
#include <vector>

#include "shell/input.hpp"

namespace sunshaft::shell {

using WidgetId = unsigned;

class FocusRing {
  public:
    /// Before the panels draw: moves by the keys of this frame, over what was drawn in the last.
    void begin_frame(Input& input);
    /// While a panel draws: items after this belong to it.
    void panel(const void* which) { panel_ = which; }
    /// While a list of choices or a card is open only its items take part; the keyboard goes into it by itself and
    /// afterwards back to where it was.
    void enter_list() { ++depth_; }
    void leave_list() { --depth_; }

    /// An item joins. True when the keyboard is on it and shows.
    bool add(WidgetId id);
    /// The focused item was pressed by Space or Enter in this frame.
    bool pressed(WidgetId id) const { return visible_ && activate_ && id == at_; }
    /// The focus came to the item in this frame.
    bool arrived(WidgetId id) const { return visible_ && moved_ && id == at_; }
    /// The mouse took the item: Tab goes on from here.
    void put(WidgetId id) { at_ = id; }
    /// Moves the mark by the program, as when arrow keys go from dot to dot.
    void show(WidgetId id) {
        at_ = id;
        visible_ = true;
    }
    bool visible() const { return visible_; }

  private:
    struct Item {
        WidgetId id;
        const void* panel;
        int depth;
    };
    std::vector<Item> last_;  // as drawn in the last frame
    std::vector<Item> now_;
    const void* panel_ = nullptr;
    int depth_ = 0;
    WidgetId at_ = 0, outside_ = 0;  // outside_: where it was before a list opened
    int index_ = 0;                  // in the ring's order
    bool visible_ = false;
    bool activate_ = false;
    bool moved_ = false;
};

}  // namespace sunshaft::shell
