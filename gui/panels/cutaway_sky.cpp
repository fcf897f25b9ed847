#include "panels/cutaway_sky.hpp"

#include <fmt/format.h>

#include <algorithm>
#include <cmath>
#include <vector>

#include "model/format.hpp"
#include "panels/cutaway_second.hpp"
#include "panels/cutaway_states.hpp"
#include "text/language.hpp"

namespace sunshaft::panels {

using namespace shell;
using view::Box;
using view::Point;

paint::TextLook sun_look(const view::Palette& p) { return {.colour = p.ink, .face = Face::strong}; }

Box sun_disc(const view::Sun& sun) { return {sun.at.x - 13, sun.at.y - 13, 26, 26}; }

bool meet(const Box& a, const Box& b) {
    return a.x < b.right() && b.x < a.right() && a.y < b.bottom() && b.y < a.bottom();
}

namespace {

// Whether a line comes nearer than half its width.
bool on_line(const std::vector<Point>& line, const Box& box, double half_wide) {
    for (std::size_t n = 0; n + 1 < line.size(); ++n) {
        const Point &a = line[n], &b = line[n + 1];
        if (meet(box, Box{std::min(a.x, b.x), std::min(a.y, b.y), std::abs(a.x - b.x), std::abs(a.y - b.y)}.inset(
                          -half_wide)))
            return true;
    }
    return false;
}

}  // namespace

bool on_main(const view::SiteDrawing& d, const Box& box) { return on_line(d.main, box, 8); }

// Beside the modules; where wires and test points leave no room there, as near above as they do.
Box cloud_rest(const view::SiteDrawing& d) {
    const Box beside{d.array.right() + 38, d.array.y + 4, 44, 24};
    const auto taken = [&](const Box& b) {
        return std::ranges::any_of(d.wires, [&](const view::WirePath& w) { return on_line(w.points, b, 3); }) ||
               std::ranges::any_of(d.dots,
                                   [&](const view::Dot& dot) {
                                       const double r = dot.radius + 12;  // a lead may lie there
                                       return meet(b, {dot.at.x - r, dot.at.y - r, 2 * r, 2 * r});
                                   }) ||
               std::ranges::any_of(d.strings, [&](const view::StringDrawing& string) {
                   return string.fuse_open && meet(b, open_fuse_room(string));
               });
    };
    for (const double up : {0.0, 12.0, 24.0, 36.0, 48.0})
        if (const Box b{beside.x, beside.y - up, beside.w, beside.h}; !taken(b)) return b;
    return beside;
}

paint::ValueLook amps_look(const view::Palette& p) {
    return {.number = p.ink, .unit = p.ink_soft, .align = Align::left};
}

StringWords string_words(const Canvas& c, const view::SiteDrawing& d, const view::Palette& p, const view::Snapshot& s,
                         std::size_t n) {
    const auto& string = d.strings[n];
    const bool roomy = string.current.x - string.label.x > 112;
    StringWords w;
    w.said = roomy ? text::say("String {}", n + 1) : std::to_string(n + 1);
    if (n < s.string_amps.size()) w.amps = view::figure(s.string_amps[n], "A", 3);
    const double name_wide = c.width(w.said, {.colour = p.ink}),
                 amps_wide =
                     w.amps.number.empty() ? 0.0 : paint::value_width(c, w.amps.number, w.amps.unit, amps_look(p));
    const auto in_sun = [&](double left, double wide) {
        return d.sun && meet({left, string.label.y - 12, wide, 16}, sun_disc(*d.sun).inset(-4));
    };
    double left = string.label.x, amps = string.current.x - amps_wide;
    const double both = name_wide + 8 + amps_wide;
    if (!roomy || in_sun(amps, amps_wide)) amps = left + name_wide + 8;
    if (in_sun(left, name_wide) || in_sun(amps, amps_wide)) {
        const double sun_right = sun_disc(*d.sun).right() + 8, before = sun_disc(*d.sun).x - 8 - both;
        const bool in_cloud = meet({sun_right, string.label.y - 13, both, 18}, cloud_rest(d).inset(-2));
        left = before >= (in_cloud ? d.left + 4 : string.label.x - 8) ? before : sun_right;
        amps = left + name_wide + 8;
    }
    w.name = {left, string.label.y - 13, name_wide, 18};
    w.current = {amps, string.label.y - 13, amps_wide, 18};
    return w;
}

// No dot of the path lies on words: the sun's own, a string's, what stands beside or below a row where a joint is open.
void sun(Canvas& c, const view::SiteDrawing& d, const view::Palette& p, const view::Snapshot& s,
         const std::optional<SunWords>& words) {
    if (!d.sun) return;
    std::vector<Box> clear;
    if (words) clear.push_back(words->box);
    for (const StateWord& state : state_words(c, d)) clear.push_back(state.box);
    for (std::size_t n = 0; n < d.strings.size(); ++n) {
        const auto& string = d.strings[n];
        const StringWords w = string_words(c, d, p, s, n);
        clear.push_back(w.name);
        clear.push_back(w.current);
        if (string.modules.empty() || std::ranges::none_of(string.joints, &view::JointDrawing::open)) continue;
        const Box &first = string.modules.back().box, &last = string.modules.front().box;
        const double left = std::min(first.x, last.x) - 60;
        clear.push_back({left, first.y, std::max(first.right(), last.right()) - left, first.h + 50});
    }
    for (double h = 6; h < 18; h += 0.25) {
        const Point q = d.sun->on_arc(h);
        const Box dot{q.x - 1, q.y - 1, 2, 2};
        if (!d.box.contains(q) || std::ranges::any_of(clear, [&](const Box& b) { return meet(b, dot); })) continue;
        c.disc(q, 0.9, p.sun_path);
        c.faint(dot, "the sun's path");
    }
    const Point at = d.sun->at;
    c.disc(at, 17, p.sun.faded(0.25));
    c.disc(at, 13, p.sun);
    c.mark(sun_disc(*d.sun), "sun");
}

// The sun's figure, where nothing else is: beside it, below it, or nowhere.
std::optional<SunWords> sun_words(const Canvas& c, const view::SiteDrawing& d, const view::Palette& p,
                                  const view::Snapshot& s, bool carried) {
    if (!d.sun) return {};
    const Point at = d.sun->at;
    const std::string words = carried ? fmt::format("{}, {} W/m²", view::time_of_day(d.sun->hours),
                                                    text::fixed(d.sun->asked_W_m2(d.sun->hours), 0))
                                      : text::fixed(s.site->works.array.sunlight(), 0) + " W/m²";
    const double wide = c.width(words, sun_look(p));
    std::vector<Box> taken{d.drive.inset(-4), d.isolator, d.supply, {d.left, d.box.y, 280, 56}, d.keys.inset(-4)};
    for (const StateWord& state : state_words(c, d)) taken.push_back(state.box);
    if (d.change_over) taken.push_back(d.change_over->box), taken.push_back(changeover_lever(*d.change_over));
    for (const auto& string : d.strings) {
        if (string.modules.empty()) continue;
        const Box &first = string.modules.back().box, &last = string.modules.front().box;
        taken.push_back({first.x, first.y - 20, last.right() + 50 - first.x, first.h + 44});
    }
    if (d.tank) taken.push_back(d.tank->box.inset(-6));
    if (!d.array.empty()) {
        taken.push_back(cloud_rest(d).inset(-4));
        taken.push_back({d.array.x - 15, d.array.y, 14, d.array.h});  // the cover, rolled up
    }
    for (const auto& r : d.rings) taken.push_back({r.at.x - r.rx - 3, r.at.y - r.ry - 3, 2 * r.rx + 6, 2 * r.ry + 6});
    for (const Point q : {Point{at.x + 22, at.y + 4},
                          {at.x - 22 - wide, at.y + 4},
                          {at.x + 22, at.y - 12},
                          {at.x - 22 - wide, at.y - 12},
                          {at.x - wide / 2, at.y + 34},
                          {at.x - wide / 2, at.y - 22},
                          {at.x + 14, at.y + 30},
                          {at.x - 14 - wide, at.y + 30}}) {
        const Box place{q.x - 3, q.y - 13, wide + 6, 18};
        if (place.x < d.left + 4 || place.right() > d.box.right() - 4 || place.y < d.box.y + 4) continue;
        if (on_main(d, place) ||
            std::any_of(taken.begin(), taken.end(), [&](const Box& b) { return !b.empty() && meet(place, b); }))
            continue;
        return SunWords{q, words, place};
    }
    return {};
}

}  // namespace sunshaft::panels
