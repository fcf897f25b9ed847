#include "panels/part_menu.hpp"

#include <algorithm>

#include "model/site_offers.hpp"
#include "shell/widgets.hpp"

namespace sunshaft::panels {

using namespace shell;

void PartMenu::draw(PanelContext& x, const view::Snapshot& s) {
    if (!open_) return;
    const view::Palette& p = x.palette();
    const auto offers = view::offers(*s.site, open_->part);
    if (offers.empty()) return close();
    Canvas measure = x.canvas();
    double width = 180;
    for (const auto& o : offers) width = std::max(width, button_width(measure, o.words) + 24);
    const double height = 38 + 32 * static_cast<double>(offers.size());
    box_ = {std::clamp(open_->at.x, x.box.x + 8, x.box.right() - width - 8),
            std::clamp(open_->at.y + 8, x.box.y + 8, std::max(x.box.y + 8, x.box.bottom() - height - 8)), width,
            height};
    const Popup card(x, "part's card", box_);
    Canvas c = x.canvas();
    paint::sheet(c, box_, p.sheet, p.accent);
    paint::title(c, {box_.x + 12, box_.y + 20}, view::part_title(open_->part), p.ink_soft);
    double y = box_.y + 32;
    x.ring.enter_list();
    for (const auto& o : offers) {
        if (button(x, "do " + o.kind + o.place, {box_.x + 12, y, width - 24, 26}, o.words))
            shared_->asked = {o.kind, o.place}, close();
        y += 32;
    }
    x.ring.leave_list();
    if (!x.input.typing && x.input.take(Key::Escape)) close();
}

}  // namespace sunshaft::panels
