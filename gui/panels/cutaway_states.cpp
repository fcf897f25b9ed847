#include "panels/cutaway_states.hpp"

#include "text/language.hpp"

namespace sunshaft::panels {

using paint::Canvas;
using view::Box;
using view::Point;

namespace {

paint::TextLook look(const view::Palette& p) {
    return {.colour = p.accent,
            .size = 12,
            .face = paint::Face::strong,
            .align = paint::Align::right,
            .halo = p.sky_day_low};
}

// Over the fuse, between the string's clamp and its bus bar.
Point beside_fuse(const view::StringDrawing& string) { return {string.fuse.right() + 3, string.fuse.y - 8}; }

}  // namespace

Box open_fuse_room(const view::StringDrawing& string) {
    const Point at = beside_fuse(string);
    return {at.x - 46, at.y - 11, 46, 14};
}

std::vector<StateWord> state_words(const Canvas& c, const view::SiteDrawing& d) {
    std::vector<StateWord> out;
    const auto put = [&](Point at, const char* words) {
        const double wide = c.width(words, {.colour = {}, .size = 12, .face = paint::Face::strong});
        out.push_back({at, words, {at.x - wide - 2, at.y - 11, wide + 4, 14}});
    };
    for (const auto& string : d.strings)
        if (string.fuse_open) put(beside_fuse(string), text::tr("open"));
    if (d.isolator.empty()) return out;
    // One above the other over the run, next to the drive.
    Point at{d.drive.x - 6, d.isolator.y - 6};
    const auto stack = [&](const char* words) {
        put(at, words);
        at.y -= 15;
    };
    if (d.array_shorted) stack(text::tr("array: shorted"));
    for (auto guard = d.guards.rbegin(); guard != d.guards.rend(); ++guard)
        if (guard->jumper) stack(guard->place == "dry" ? text::tr("probe: jumper") : text::tr("float: jumper"));
    return out;
}

void paint_state_words(Canvas& c, const view::SiteDrawing& d, const view::Palette& p) {
    for (const StateWord& state : state_words(c, d)) c.text(state.at, state.words, look(p));
}

}  // namespace sunshaft::panels
