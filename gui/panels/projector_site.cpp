#include "panels/projector_site.hpp"

#include <algorithm>
#include <array>
#include <cmath>
#include <string>
#include <vector>

#include "model/site_drawing.hpp"

namespace sunshaft::panels {
namespace {

using namespace shell;

// Where everything stands; shares of the strip's width, heights in units above and below the ground.
struct Places {
    double ground, unit;
    Box tank, bore, modules, drive;
    Point sun;
    std::array<Point, 3> terminal;
    Point plus, minus, guard, earth, down;
};

Places places(const Box& box, double unit) {
    Places q;
    q.unit = unit;
    q.ground = box.y + std::max(0.55 * box.h, box.h - 190 * unit);
    const double high = std::min(62 * unit, q.ground - box.y - 4 * unit), left = box.x;
    const auto at = [&](double share) { return left + share * box.w; };
    q.tank = {at(0.03), q.ground - 0.45 * high - 24 * unit, 0.068 * box.w, 0.45 * high};
    q.bore = {at(0.24), q.ground, 44 * unit, box.bottom() - q.ground};
    q.sun = {at(0.335), box.y + std::max(20 * unit, 0.25 * (q.ground - box.y))};
    q.modules = {at(0.39), q.ground - 0.78 * high, 0.234 * box.w, 0.55 * high};
    q.drive = {at(0.70), q.ground - 0.95 * high, 0.125 * box.w, 0.85 * high};
    for (std::size_t k = 0; k < 3; ++k)
        q.terminal[k] = {q.drive.x + q.drive.w * (0.5 + 0.2 * static_cast<double>(k)), q.drive.bottom() - 16 * unit};
    q.plus = {q.modules.right() + 20 * unit, q.modules.y + 0.3 * q.modules.h};
    q.minus = {q.modules.right() + 20 * unit, q.modules.y + 0.8 * q.modules.h};
    q.guard = {q.drive.x + 14 * unit, q.drive.y + 14 * unit};
    q.earth = {q.drive.right() + 26 * unit, q.ground};
    q.down = {q.bore.centre().x, box.bottom() - 10 * unit};
    return q;
}

// About where a point is: a terminal, a pole of the DC side, a guard, earth, or down the bore.
Point about(const Places& q, const std::string& name) {
    const auto has = [&](const char* part) { return name.find(part) != std::string::npos; };
    const char last = name.empty() ? ' ' : name.back();
    if (name.rfind("drive.", 0) == 0 || name.rfind("lead.", 0) == 0 || name.size() == 1)
        if (const auto k = std::string("uvw").find(last); k != std::string::npos) return q.terminal[k];
    if (name == "uvw") return q.terminal[1];
    if (has("dry") || has("float")) return q.guard;
    if (has("earth") || has("frame") || has("casing") || name == "pe") return q.earth;
    if (has("cable") || has("motor") || has("splice")) return q.down;
    if (name.rfind('s', 0) == 0 && has(".m")) return {q.modules.centre().x, q.modules.bottom()};
    return last == '-' ? q.minus : q.plus;
}

void landscape(Canvas& c, const Box& box, const Places& q, const view::Snapshot& s, const view::Palette& p) {
    const double u = q.unit, line = 3.0 * u;
    const auto sky = view::sky(p, 45.0);
    c.gradient({box.x, box.y, box.w, q.ground - box.y}, sky.high, sky.low);
    const Box soil{box.x, q.ground, box.w, box.bottom() - q.ground};
    c.fill(soil, p.strata[0]);
    const std::array corners{soil.top_left(), Point{soil.right(), soil.y}, Point{soil.right(), soil.bottom()},
                             Point{soil.x, soil.bottom()}};
    c.hatch(corners, p.hatch, 8.0 * u);
    c.rule({box.x, box.y}, {box.right(), box.y}, p.rule);
    const auto& works = s.site->works;
    const bool water = works.water.pump.index() != 0;
    if (water) {
        const Box mound{box.x, q.tank.bottom(), q.tank.right() - box.x + 8 * u, q.ground - q.tank.bottom()};
        const std::array slope{mound.top_left(), Point{mound.right(), mound.y}, Point{mound.right() + 40 * u, q.ground},
                               Point{mound.x, q.ground}};
        c.fill(slope, p.strata[0]);
        c.line({box.x, mound.y}, {mound.right(), mound.y}, {.colour = p.ink, .width = line});
        c.line({mound.right(), mound.y}, {mound.right() + 40 * u, q.ground}, {.colour = p.ink, .width = line});
        c.line({mound.right() + 40 * u, q.ground}, {box.right(), q.ground}, {.colour = p.ink, .width = line});
        c.fill(q.bore, p.water);
        c.line({q.bore.x, q.bore.y}, {q.bore.x, q.bore.bottom()}, {.colour = p.ink, .width = line});
        c.line({q.bore.right(), q.bore.y}, {q.bore.right(), q.bore.bottom()}, {.colour = p.ink, .width = line});
        const double mid = q.bore.centre().x, pipe_y = q.ground + 12 * u;
        const std::vector<Point> pipe = view::rounded({{mid - 6 * u, q.bore.bottom()},
                                                       {mid - 6 * u, pipe_y},
                                                       {q.tank.right() + 30 * u, pipe_y},
                                                       {q.tank.right() + 30 * u, q.tank.y - 6 * u},
                                                       {q.tank.right() - 10 * u, q.tank.y - 6 * u}},
                                                      14 * u);
        c.polyline(pipe, {.colour = p.ink, .width = 14 * u});
        c.polyline(pipe, {.colour = s.flow_m3_h > 0.01 ? p.water_deep : p.steel, .width = 8 * u});
        c.fill(q.tank, p.sheet);
        const double level = std::clamp(s.tank_fill, 0.0, 1.0) * q.tank.h;
        c.fill(Box{q.tank.x, q.tank.bottom() - level, q.tank.w, level}, p.water_deep);
        c.outline(q.tank, {.colour = p.ink, .width = line});
    } else {
        c.line({box.x, q.ground}, {box.right(), q.ground}, {.colour = p.ink, .width = line});
    }
    if (works.supply.kind == site::Supply::Kind::array) {
        if (works.array.sunlight() > 1.0) c.disc(q.sun, 14 * u, p.sun);
        for (const double share : {0.14, 0.86})
            c.fill(Box{q.modules.x + share * q.modules.w, q.modules.bottom(), 5 * u, q.ground - q.modules.bottom()},
                   p.steel_dark);
        c.fill(q.modules, works.array.covered ? p.steel_dark : p.cell);
        const std::size_t count = works.array.strings.empty() ? 1 : works.array.strings.front().modules.size();
        if (!works.array.covered)
            for (std::size_t n = 1; n < count; ++n) {
                const double at = q.modules.x + q.modules.w * static_cast<double>(n) / static_cast<double>(count);
                c.rule({at, q.modules.y}, {at, q.modules.bottom()}, p.module_frame, 3.0 * u);
            }
        c.outline(q.modules, {.colour = p.module_frame, .width = line});
    } else {
        c.fill(q.modules, p.sheet);
        c.outline(q.modules, {.colour = p.ink, .width = line});
    }
    const auto wire = [&](Point from, Point to, const view::ConductorLook& look) {
        const std::array path{from, to};
        c.conductor(path, look, 4 * u);
    };
    wire({q.modules.right(), q.plus.y}, {q.drive.x, q.plus.y}, p.dc_plus);
    wire({q.modules.right(), q.minus.y}, {q.drive.x, q.minus.y}, p.dc_minus);
    c.fill(q.drive, p.sheet);
    c.outline(q.drive, {.colour = p.ink, .width = line});
    // Lamps without words: lit ones are filled.
    for (std::size_t n = 0; n < std::min<std::size_t>(s.lamps.size(), 3); ++n) {
        const Box lamp{q.drive.x + (12 + 18 * static_cast<double>(n)) * u, q.drive.y + 10 * u, 12 * u, 12 * u};
        if (s.lamps[n].on) c.fill(lamp, p.lamp_on);
        c.outline(lamp, {.colour = p.ink_soft, .width = 3 * u});
    }
    const view::ConductorLook* core[] = {&p.l1, &p.l2, &p.l3};
    for (std::size_t k = 0; k < 3; ++k) {
        if (works.phases[k].terminal.open) continue;
        const double y = q.ground + (14 + 11 * static_cast<double>(k)) * u;
        const Point end =
            water ? Point{q.bore.centre().x + (6 + 5 * static_cast<double>(k)) * u, y} : Point{q.modules.right(), y};
        const std::vector<Point> path =
            view::rounded({q.terminal[k], {q.terminal[k].x, y}, end, {end.x, water ? box.bottom() : end.y}}, 6 * u);
        c.conductor(path, *core[k], 3.4 * u);
    }
    if (water) c.fill(Box{q.bore.x + 4 * u, box.bottom() - 26 * u, q.bore.w - 8 * u, 26 * u}, p.steel);
}

}  // namespace

std::optional<bench::Probes> projector_site(PanelContext& x, const Box& box, const view::Snapshot& s,
                                            const bench::Probes& probes, double unit) {
    const view::Palette& p = x.palette();
    Canvas c = x.canvas();
    const auto clip = c.clip(box);
    const Places q = places(box, unit);
    landscape(c, box, q, s, p);
    const bool drive = s.site->works.supply.kind != site::Supply::Kind::mains;
    std::optional<bench::Probes> wanted;
    for (std::size_t k = 0; k < 3; ++k) {
        c.disc(q.terminal[k], 9 * unit, p.sheet);
        c.circle(q.terminal[k], 9 * unit, {.colour = p.ink, .width = 3 * unit});
        c.disc(q.terminal[k], 4 * unit, p.ink);
        const Box reach{q.terminal[k].x - 13 * unit, q.terminal[k].y - 13 * unit, 26 * unit, 26 * unit};
        const std::string name = std::string("drive.") + "uvw"[k];
        x.target("projector " + name, reach);
        if (!drive || !x.hovers(reach)) continue;
        const bool black = x.input.pressed[right_button] || (x.input.pressed[left_button] && x.input.shift);
        if (!black && !x.input.pressed[left_button]) continue;
        bench::Probes next = probes;
        (black ? next.black : next.red) = name;
        if (next.red != next.black) wanted = next;
    }
    const auto lead = [&](const std::string& name, const view::ConductorLook& look, double low) {
        if (name.empty()) return;
        const Point from = about(q, name), edge{box.right() + 40 * unit, box.y + low * unit};
        c.lead(from, edge, 26 * unit, look, p.ground, 8 * unit);
        if (look.casing.a) c.disc(from, 11 * unit, look.casing);
        c.disc(from, 9 * unit, look.core);
    };
    if (meter::takes_clamp(s.meters[0].mode)) {
        if (!probes.around.empty()) {
            const Point at = about(q, probes.around);
            c.circle(at, 15 * unit, {.colour = p.lead_clamp.core, .width = 5 * unit});
            c.lead(at + Point{15 * unit, 0}, {box.right() + 40 * unit, box.y + 30 * unit}, 20 * unit, p.lead_clamp,
                   p.ground, 8 * unit);
        }
    } else {
        lead(probes.black, p.lead_black, 70.0);
        lead(probes.red, p.lead_red, 34.0);
    }
    return wanted;
}

}  // namespace sunshaft::panels
