#include "panels/lead_names.hpp"

#include <algorithm>
#include <utility>
#include <vector>

namespace sunshaft::panels {

void lead_names(const shell::PanelContext& x, paint::Canvas& c, const view::SiteDrawing& d, const bench::Probes& probes,
                const view::Dot* named) {
    using view::Box;
    const view::Palette& p = x.palette();
    constexpr double heading = 26.0, high = 14.0;
    std::vector<Box> taken;
    for (const Box& sheet : {d.sheets.splice, d.sheets.motor, d.sheets.power})
        if (!sheet.empty()) taken.push_back({sheet.x, sheet.y, sheet.w, heading});
    const view::Dot *red = d.dot(probes.red), *black = d.dot(probes.black);
    for (const view::Dot* dot : {red, black})
        if (dot) taken.push_back(Box{dot->at.x, dot->at.y, 0, 0}.inset(-dot->radius));
    const auto free = [&](const Box& box) {
        const auto meets = [&](const Box& b) {
            return b.x < box.right() && box.x < b.right() && b.y < box.bottom() && box.y < b.bottom();
        };
        return box.x >= d.left + 4 && box.right() <= d.box.right() - 4 && std::ranges::none_of(taken, meets);
    };
    const bool crossed = red && black && red->at.x > black->at.x;
    for (const auto& end : {std::pair{red, !crossed}, {black, crossed}}) {
        const auto dot = end.first;
        const bool leans_left = end.second;
        if (!dot || dot == named || d.drive.contains(dot->at)) continue;  // the drive has its own words
        paint::TextLook look{.colour = p.ink, .size = 12, .halo = p.ground};
        const double wide = c.width(dot->name, look);
        const auto beside = [&](bool left, double y) {
            return Box{dot->at.x + (left ? -4 - wide : 4), dot->at.y + y, wide, high};
        };
        Box box = beside(leans_left, -22);
        for (const double y : {-22.0, 8.0})
            for (const bool left : {leans_left, !leans_left})
                if (!free(box)) box = beside(left, y);
        taken.push_back(box);
        c.text({box.x, box.y + 12}, dot->name, look);
    }
}

}  // namespace sunshaft::panels
