#include "shell/focus.hpp"

#include <algorithm>

namespace sunshaft::shell {

void FocusRing::begin_frame(Input& input) {
    last_.swap(now_);
    now_.clear();
    depth_ = 0;
    panel_ = nullptr;
    activate_ = false;
    moved_ = false;
    int deepest = 0;
    for (const Item& item : last_) deepest = std::max(deepest, item.depth);
    std::erase_if(last_, [deepest](const Item& item) { return item.depth < deepest; });

    for (const bool press : input.pressed)
        if (press) visible_ = false;
    const auto count = static_cast<int>(last_.size());
    if (count == 0) return;

    int here = -1;
    for (int i = 0; i < count; ++i)
        if (last_[static_cast<std::size_t>(i)].id == at_) here = i;
    const auto go = [&](int to) {
        at_ = last_[static_cast<std::size_t>((to % count + count) % count)].id;
        visible_ = true;
        moved_ = true;
    };
    const auto next_panel = [&](int step) {
        const int from = here < 0 ? 0 : here;
        const void* panel = last_[static_cast<std::size_t>(from)].panel;
        int to = from;
        for (int tries = 0; tries < count; ++tries) {
            to = ((to + step) % count + count) % count;
            if (last_[static_cast<std::size_t>(to)].panel != panel) break;
        }
        // Going back one lands on a panel's last item: walk on to its first.
        while (step < 0 && to > 0 &&
               last_[static_cast<std::size_t>(to - 1)].panel == last_[static_cast<std::size_t>(to)].panel)
            --to;
        go(to);
    };
    // What the keyboard was on is gone: into the list that has opened, back to where it was before, or to what has come
    // in its place.
    if (visible_ && here < 0 && at_ != 0) {
        const auto was = std::find_if(last_.begin(), last_.end(), [this](const Item& i) { return i.id == outside_; });
        here = deepest > 0          ? 0
               : was != last_.end() ? static_cast<int>(was - last_.begin())
                                    : std::min(index_, count - 1);
        go(here);
    }
    if (input.take(Key::Tab)) go(here < 0 ? 0 : here + 1);
    if (input.take(Key::Tab, false, true)) go(here < 0 ? count - 1 : here - 1);
    if (input.take(Key::Tab, true)) next_panel(+1);
    if (input.take(Key::Tab, true, true)) next_panel(-1);
    if (deepest == 0 && here >= 0) outside_ = at_, index_ = here;
    if (visible_ && here >= 0 && !input.typing) activate_ = input.take(Key::Space) || input.take(Key::Enter);
}

bool FocusRing::add(WidgetId id) {
    now_.push_back({id, panel_, depth_});
    return visible_ && id == at_;
}

}  // namespace sunshaft::shell
