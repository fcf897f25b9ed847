#include "model/layout.hpp"

#include <algorithm>
#include <array>
#include <vector>

namespace sunshaft::view {

namespace {

constexpr double kTopBar = 56.0;
constexpr double kCautions = 32.0;
constexpr double kTabs = 32.0;
constexpr double kStripShare = 0.328;
constexpr double kStripLeast = 264.0;
constexpr double kMainLeast = 440.0;     // less than this above the strip and the strip folds by itself
constexpr double kMainSqueezed = 240.0;  // the user may still open it, down to this
constexpr double kRightShare = 0.39;
constexpr double kRightLeast = 560.0;
constexpr double kRightSqueezed = 488.0;  // beside an open drawer in a narrow window
constexpr double kDrawerBeside = 1240.0;  // narrower windows put the drawer under the meters
constexpr double kRightMost = 820.0;
constexpr double kDrawer = 344.0;
constexpr double kDrawerNarrow = 288.0;
constexpr double kMeters = 225.0;
constexpr double kInsideLeast = 359.0;
constexpr double kSplitLeast = 900.0;
constexpr Size kLeastWindow{960.0, 540.0};

}  // namespace

Arrangement arrange(Size window, const Shown& shown) {
    Arrangement a;
    a.window = window;
    Box rest{0.0, 0.0, std::max(0.0, window.w), std::max(0.0, window.h)};
    if (shown.top_bar) a.top_bar = rest.cut_top(kTopBar);
    if (shown.cautions) a.cautions = rest.cut_top(kCautions);

    const bool right_wanted = shown.meters || shown.inside;
    const bool main_wanted = shown.cutaway || right_wanted || shown.drawer;
    // Suspects and lessons take the right column down to the foot of the window; the strip lies beside it.
    const bool column =
        (shown.suspects || shown.lesson) && shown.inside && shown.meters && shown.cutaway && window.w >= kDrawerBeside;
    const auto right_width = [&](bool beside_drawer) {
        return std::clamp(std::round(window.w * kRightShare), beside_drawer ? kRightSqueezed : kRightLeast, kRightMost);
    };
    if (column) a.right = rest.cut_right(right_width(shown.drawer));
    if (shown.strip) {
        double height = std::round(std::max(window.h * kStripShare, kStripLeast));
        a.strip_folded = main_wanted && (shown.strip_wish == StripWish::folded ||
                                         (shown.strip_wish == StripWish::fit && rest.h - height < kMainLeast));
        if (a.strip_folded) height = kTabs;
        else if (!main_wanted) height = rest.h;
        else height = std::max(kTabs, std::min(height, rest.h - kMainSqueezed));
        a.strip = rest.cut_bottom(height);
        Box content = a.strip;
        a.strip_tabs = content.cut_top(kTabs);
        a.strip_narrow = a.strip.w < kSplitLeast;
        if (!a.strip_folded) {
            if (shown.strip_split && !a.strip_narrow) a.strip_right = content.cut_right(std::floor(content.w / 2.0));
            a.strip_left = content;
        }
    }

    const bool drawer_below = shown.drawer && shown.cutaway && shown.meters && window.w < kDrawerBeside;
    if (shown.drawer && !drawer_below) {
        const bool alone = !shown.cutaway && !right_wanted;
        a.drawer = rest.cut_left(alone ? rest.w : window.w < 1440.0 ? kDrawerNarrow : kDrawer);
    }
    if (right_wanted) {
        if (!column) a.right = rest.cut_right(shown.cutaway ? right_width(!a.drawer.empty()) : rest.w);
        double y = a.right.y;
        if (shown.meters) {
            a.meters = {a.right.x, y, a.right.w, kMeters};
            y += kMeters;
        }
        if (drawer_below) {
            Box below = a.right;
            a.right = below.cut_top(std::min(kMeters, a.right.h));
            a.drawer = below;
        } else if (shown.inside) {
            const double left = a.right.bottom() - y;
            a.inside = {a.right.x, y, a.right.w, std::max(left, kInsideLeast)};
            y += a.inside.h;
        }
        a.right_scroll_range = std::max(0.0, y - a.right.bottom());
        if (!shown.inside && !drawer_below && a.right_scroll_range == 0.0) a.meters.h = a.right.h;
    }
    if (shown.cutaway) a.cutaway = rest;
    return a;
}

std::optional<Box> beside(Point mouse, Size size, Size window, std::span<const Box> clear) {
    constexpr double margin = 4.0;
    const double right = mouse.x + 14.0, left = mouse.x - size.w - 14.0, below = mouse.y + 18.0,
                 above = mouse.y - size.h - 10.0;
    std::vector<Point> corners{{right, below}, {right, above}, {left, below}, {left, above}};
    // Past the edges of what is in the way.
    for (const Box& b : clear)
        for (const Point p : {Point{right, b.y - size.h - margin},
                              {right, b.bottom() + margin},
                              {b.x - size.w - margin, below},
                              {b.right() + margin, below},
                              {left, b.y - size.h - margin},
                              {left, b.bottom() + margin}})
            corners.push_back(p);
    const Box around{mouse.x - 6.0, mouse.y - 6.0, 12.0, 12.0};
    const auto meets = [](const Box& a, const Box& b) {
        return a.x < b.right() && b.x < a.right() && a.y < b.bottom() && b.y < a.bottom();
    };
    for (const Point corner : corners) {
        const Box box{std::clamp(corner.x, margin, std::max(margin, window.w - size.w - margin)), corner.y, size.w,
                      size.h};
        if (box.y < 0.0 || box.bottom() > window.h || meets(box, around)) continue;
        if (std::none_of(clear.begin(), clear.end(), [&](const Box& b) { return !b.empty() && meets(box, b); }))
            return box;
    }
    return std::nullopt;
}

double fitting_scale(double wanted, double window_width_px, double window_height_px) {
    const double room = std::min(window_width_px / kLeastWindow.w, window_height_px / kLeastWindow.h);
    return std::max(0.5, std::min(std::clamp(wanted, 0.5, 3.0), room));
}

double next_scale(double now, int direction) {
    constexpr std::array steps{0.5, 0.6, 0.75, 0.9, 1.0, 1.1, 1.25, 1.5, 1.75, 2.0, 2.5, 3.0};
    if (direction > 0) {
        for (const double s : steps)
            if (s > now + 1e-6) return s;
        return steps.back();
    }
    for (auto s = steps.rbegin(); s != steps.rend(); ++s)
        if (*s < now - 1e-6) return *s;
    return steps.front();
}

}  // namespace sunshaft::view
