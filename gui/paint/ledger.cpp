#include "paint/ledger.hpp"

#include <algorithm>

namespace sunshaft::paint {

using view::Box;

namespace {

constexpr double kTouch = 0.75;  // units two things may share: rounding to whole pixels
constexpr double kCut = 2.0;     // units of a line that may be cut off at its sides

Box shared(const Box& a, const Box& b) {
    const double x = std::max(a.x, b.x), y = std::max(a.y, b.y);
    return {x, y, std::max(0.0, std::min(a.right(), b.right()) - x),
            std::max(0.0, std::min(a.bottom(), b.bottom()) - y)};
}
bool overlap(const Box& a, const Box& b) {
    const Box s = shared(a, b);
    return s.w > kTouch && s.h > kTouch;
}
bool inside(const Box& a, const Box& b) {
    return a.x >= b.x - kTouch && a.y >= b.y - kTouch && a.right() <= b.right() + kTouch &&
           a.bottom() <= b.bottom() + kTouch;
}

}  // namespace

std::vector<Ledger::Clash> Ledger::clashes(const std::vector<const void*>& order) const {
    struct At {
        const Entry* entry;
        long layer;
        bool popup;
    };
    std::vector<At> all;
    for (const Entry& e : entries_) {
        const auto layer = std::find(order.begin(), order.end(), e.list);
        if (layer == order.end() || e.seen.empty() || e.kind == Kind::cue) continue;
        all.push_back({&e, layer - order.begin(), std::find(popups_.begin(), popups_.end(), e.list) != popups_.end()});
    }
    std::stable_sort(all.begin(), all.end(), [](const At& a, const At& b) { return a.layer < b.layer; });

    std::vector<Clash> found;
    for (std::size_t i = 0; i < all.size(); ++i) {
        const Entry& a = *all[i].entry;
        if (a.kind == Kind::cover || a.kind == Kind::lead) continue;
        if (a.kind == Kind::faint) {
            const auto over = [&](Kind kind) {
                return std::find_if(all.begin() + static_cast<std::ptrdiff_t>(i) + 1, all.end(), [&](const At& b) {
                    return b.entry->kind == kind && overlap(a.seen, b.entry->seen);
                });
            };
            if (const auto words = over(Kind::words); words != all.end() && over(Kind::cover) == all.end())
                found.push_back({a.words, words->entry->words, shared(a.seen, words->entry->seen)});
            continue;
        }
        // A popup above it: hidden wholly or in part, as popups may.
        bool under = false;
        for (std::size_t j = i + 1; j < all.size() && !all[i].popup; ++j)
            under = under || (all[j].popup && all[j].entry->kind == Kind::cover && overlap(a.seen, all[j].entry->seen));
        if (under) continue;
        if (a.kind == Kind::words && (a.seen.x > a.box.x + kCut || a.seen.right() < a.box.right() - kCut))
            found.push_back({a.words, "cut off at its side", a.box});
        if (a.kind == Kind::words && a.words.ends_with("\u2026")) found.push_back({a.words, "cut short", a.box});
        for (std::size_t j = i + 1; j < all.size(); ++j) {
            const Entry& b = *all[j].entry;
            if (b.kind == Kind::faint || !overlap(a.seen, b.seen) || (b.kind == Kind::lead && !all[i].popup)) continue;
            if (a.kind == Kind::mark && (b.kind == Kind::words || b.kind == Kind::mark)) {
                // A mark's own number stands inside it; marks may meet (a clamp round a test point).
                if (b.kind == Kind::mark || inside(b.box, a.box)) continue;
            }
            found.push_back({a.words,
                             b.kind == Kind::cover  ? "a cover"
                             : b.kind == Kind::lead ? "a lead"
                                                    : b.words,
                             shared(a.seen, b.seen)});
        }
    }
    return found;
}

}  // namespace sunshaft::paint
