#include "panels/below_ground.hpp"

#include <fmt/format.h>

#include <algorithm>
#include <cmath>
#include <string>
#include <vector>

#include "paint/marks.hpp"
#include "text/figure.hpp"
#include "text/language.hpp"

namespace sunshaft::panels {

using text::tr;
using view::Box;
using view::Point;

namespace {

struct Line {
    std::string what, is;
    bool done = false;  // by hands of this visit
};
constexpr double kPartRow = 20.0, kPartHead = 32.0, kWide = 264.0, kPartGap = 16.0;

// Parts as hands left them; water as it comes or not.
std::vector<Line> to_be_seen(const view::Snapshot& s) {
    const site::Works& w = s.site->works;
    std::vector<Line> lines;
    if (w.water.pump.index() != 0)
        lines.push_back({tr("pipe into the tank"), s.flow_m3_h > 0.0 ? tr("water comes") : tr("no water comes")});
    if (!w.array.strings.empty()) {
        lines.push_back({tr("modules"), w.array.covered ? tr("covered") : tr("uncovered"), w.array.covered});
        std::size_t parted = 0, fuses = 0;
        for (const site::String& string : w.array.strings) {
            fuses += string.fuse.open || string.fuse_blown;
            for (const site::Joint& joint : string.joints) parted += joint.open;
        }
        if (parted > 0) lines.push_back({tr("connectors unplugged"), fmt::format("{}", parted), true});
        if (fuses > 0) lines.push_back({tr("fuses taken out"), fmt::format("{}", fuses), true});
    }
    const bool open = w.array.plus.contact.open && w.array.minus.contact.open;
    lines.push_back({tr("isolator"), open ? tr("open") : tr("closed"), open});
    if (const site::SecondSupply& second = w.supply.second; second.fitted)
        lines.push_back({tr("change-over switch"), second.chosen ? tr("second supply") : tr("array"), second.chosen});
    std::string off;
    for (std::size_t k = 0; k < 3; ++k)
        if (w.phases[k].terminal.open) off += (off.empty() ? "" : ", ") + std::string(1, "UVW"[k]);
    lines.push_back(
        {tr("pump wires"), off.empty() ? std::string(tr("connected")) : text::say("{} taken off", off), !off.empty()});
    if (w.water.valve_shut) lines.push_back({tr("wellhead valve"), tr("shut"), true});
    return lines;
}

std::vector<Line> papers(const view::Snapshot& s) {
    const Scenario& site = s.site->scenario;
    std::vector<Line> lines;
    const auto metres = [](double m) { return text::quantity(m, "m", 3); };
    if (const auto& strings = s.site->works.array.strings; !strings.empty())
        lines.push_back({tr("modules"), fmt::format("{} × {}", strings.size(), strings[0].modules.size())});
    lines.push_back({tr("pump hung at"), metres(site.well.pump_depth_m)});
    if (std::isfinite(site.splice.depth_m)) lines.push_back({tr("splice at"), metres(site.splice.depth_m)});
    lines.push_back({tr("water at rest"), metres(site.well.static_level_m)});
    lines.push_back({tr("drop cable"), fmt::format("{}, {} mm²", metres(site.drop_cable.length_m),
                                                   text::figure(site.drop_cable.conductor_mm2, "", 3).number)});
    return lines;
}

double high(const std::vector<Line>& lines) { return kPartHead + kPartRow * static_cast<double>(lines.size()) + 6.0; }

void table(paint::Canvas& c, const Box& box, std::string_view head, const std::vector<Line>& lines,
           const view::Palette& p) {
    paint::sheet(c, box, p.sheet, p.rule_strong);
    paint::title(c, {box.x + 12, box.y + 20}, head, p.ink_soft);
    double y = box.y + kPartHead + 11.0;
    for (const Line& line : lines) {
        c.text({box.x + 12, y}, line.what, {.colour = p.ink_soft});
        c.text({box.right() - 12, y}, line.is,
               {.colour = p.ink,
                .face = line.done ? paint::Face::strong : paint::Face::words,
                .align = paint::Align::right});
        y += kPartRow;
    }
}

// The wellhead lies open in its pit: a short way of the main, for the wheel on it.
void pit(paint::Canvas& c, const view::SiteDrawing& d, const view::Palette& p) {
    if (d.main.size() < 2) return;
    const double brim = surface_at(d, d.valve.x);
    const Box box{d.valve.x - 24.0, brim, 48.0, d.valve.y + 15.0 - brim};
    c.fill(box, p.sheet);
    const Point main[] = {{box.x, d.valve.y}, {box.right(), d.valve.y}};
    c.polyline(main, {.colour = p.ink, .width = 11});
    c.polyline(main, {.colour = p.water_deep, .width = 8});
    const Point walls[] = {{box.x, brim}, {box.x, box.bottom()}, {box.right(), box.bottom()}, {box.right(), brim}};
    c.polyline(walls, {.colour = p.ink, .width = 1.8});
}

}  // namespace

double surface_at(const view::SiteDrawing& drawing, double x) {
    const std::vector<Point>& line = drawing.surface;
    for (std::size_t n = 1; n < line.size(); ++n)
        if (x <= line[n].x && line[n].x > line[n - 1].x)
            return line[n - 1].y + (x - line[n - 1].x) / (line[n].x - line[n - 1].x) * (line[n].y - line[n - 1].y);
    return line.empty() ? drawing.box.bottom() : line.back().y;
}

void paint_below_ground(paint::Canvas& c, const view::SiteDrawing& d, const view::Snapshot& s, const view::Palette& p) {
    std::vector<Point> earth;
    double lowest = d.box.y;
    for (const Point& q : d.surface) {
        earth.push_back({q.x, q.y + 1.5});
        lowest = std::max(lowest, q.y);
    }
    earth.push_back({d.box.right(), d.box.bottom()});
    earth.push_back({d.box.x, d.box.bottom()});
    c.fill(earth, p.strata[0]);
    c.hatch(earth, p.hatch, 6.0);
    c.polyline(d.surface, {.colour = p.ink, .width = 1.8});
    pit(c, d, p);
    const std::vector<Line> seen = to_be_seen(s), written = papers(s);
    const double tables = std::max(high(seen), high(written)), left = std::max(d.left, d.box.x) + 16.0;
    const Box room{left, lowest + 12.0, d.box.right() - 16.0 - left, d.box.bottom() - lowest - 24.0};
    const bool both = room.w >= 2 * kWide + kPartGap;
    const bool fit = room.h >= tables + 52.0 && room.w >= kWide;
    const Point middle{room.centre().x, fit ? room.y + 0.5 * (room.h - tables - 28.0) - 14.0 : room.centre().y};
    c.text(middle, tr("Below ground: nothing to see from here"),
           {.colour = p.ink, .face = paint::Face::strong, .align = paint::Align::centre, .halo = p.strata[0]});
    c.text(middle + Point{0, 20}, tr("Dip the well, or measure from above."),
           {.colour = p.ink_soft, .align = paint::Align::centre, .halo = p.strata[0]});
    if (!fit) return;
    const double wide = both ? 2 * kWide + kPartGap : kWide, top = middle.y + 38.0;
    const Box first{std::round(room.centre().x - 0.5 * wide), std::round(top), kWide, tables};
    table(c, first, tr("What eyes see"), seen, p);
    if (both) table(c, {first.right() + kPartGap, first.y, kWide, tables}, tr("Site papers"), written, p);
}

}  // namespace sunshaft::panels
