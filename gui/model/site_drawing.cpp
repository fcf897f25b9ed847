#include "model/site_drawing.hpp"

#include <fmt/format.h>

#include <algorithm>
#include <cmath>
#include <cstdio>
#include <numbers>

#include "model/site_drawing_parts.hpp"
#include "site/faults.hpp"

namespace sunshaft::view {

MovingPart moving_part(const Snapshot& snapshot) {
    const auto sound = [](double v) { return std::isfinite(v) ? v : 0.0; };
    return {std::max(0.0, sound(snapshot.water_level_m)), std::clamp(sound(snapshot.tank_fill), 0.0, 1.0)};
}

double Depth::y(double depth_m) const {
    if (!tear || depth_m <= tear->from_m) return ground_y + metre * depth_m;
    if (depth_m >= tear->to_m) return tear->bottom + metre * (depth_m - tear->to_m);
    return tear->top + (tear->bottom - tear->top) * (depth_m - tear->from_m) / (tear->to_m - tear->from_m);
}

Point Sun::on_arc(double h) const {
    const double angle = std::numbers::pi * (h - 6.0) / 12.0;
    return {centre.x - rx * std::cos(angle), centre.y - ry * std::sin(angle)};
}

double Sun::hours_at(Point p) const {
    double angle = std::atan2((centre.y - p.y) / ry, (centre.x - p.x) / rx);  // 0 at rise, pi at set
    if (angle < -std::numbers::pi / 2) angle += 2 * std::numbers::pi;
    return std::clamp(6.0 + 12.0 * angle / std::numbers::pi, 6.0, 18.0);
}

double Sun::height(double h) const { return std::max(0.0, std::sin(std::numbers::pi * (h - 6.0) / 12.0)); }

namespace {

template <class List>
auto* by_name(const List& list, const std::string& name) {
    const auto it = std::find_if(list.begin(), list.end(), [&](const auto& e) { return e.name == name; });
    return it == list.end() ? nullptr : &*it;
}

}  // namespace

const Dot* SiteDrawing::dot(const std::string& name) const { return by_name(dots, name); }
const Ring* SiteDrawing::ring(const std::string& name) const { return by_name(rings, name); }

const Dot* SiteDrawing::dot_near(Point p, double reach) const {
    const Dot* nearest = nullptr;
    for (const Dot& dot : dots)
        if (const double away = distance(dot.at, p); away <= reach) {
            reach = away;
            nearest = &dot;
        }
    return nearest;
}

const Ring* SiteDrawing::ring_near(Point p, double reach) const {
    const Ring* nearest = nullptr;
    for (const Ring& ring : rings) {
        // How far outside the ellipse, measured as if it were a circle of its own radii.
        const double share = std::hypot((p.x - ring.at.x) / ring.rx, (p.y - ring.at.y) / ring.ry);
        const double away = std::max(0.0, share - 1.0) * std::min(ring.rx, ring.ry);
        if (away < reach || (away == 0.0 && nearest && ring.rx * ring.ry < nearest->rx * nearest->ry)) {
            reach = away;
            nearest = &ring;
        }
    }
    return nearest;
}

const Ring* SiteDrawing::ring_at(Point p, double reach) const {
    const Ring* nearest = nullptr;
    for (const Ring& ring : rings)
        if (const double away = distance(ring.at, p); away < reach) {
            reach = away;
            nearest = &ring;
        }
    return nearest;
}

const Part* SiteDrawing::part_at(Point p) const {
    const Part* best = nullptr;
    for (const Part& part : parts)
        if (part.box.contains(p) && (!best || part.box.w * part.box.h < best->box.w * best->box.h)) best = &part;
    return best;
}

Point SiteDrawing::fault_anchor(const std::string& kind, const std::string& place) const {
    const auto starts = [&](const char* with) { return place.rfind(with, 0) == 0; };
    const int phase = place.empty()         ? -1
                      : place.back() == 'u' ? 0
                      : place.back() == 'v' ? 1
                      : place.back() == 'w' ? 2
                                            : -1;
    // Places of the array are names of parts.
    if (!place.empty() && place[0] == 's' && place.size() > 1 && place[1] >= '0' && place[1] <= '9') {
        for (const StringDrawing& s : strings)
            for (const JointDrawing& j : s.joints)
                if (j.place == place) return lerp(j.a, j.b, 0.5) + Point{0, j.droop + 9};
        const auto string = static_cast<std::size_t>(std::atoi(place.c_str() + 1) - 1);
        const auto dot_at = place.find(".m");
        if (string < strings.size()) {
            const auto& s = strings[string];
            const auto module = dot_at == std::string::npos
                                    ? s.modules.size()
                                    : static_cast<std::size_t>(std::atoi(place.c_str() + dot_at + 2) - 1);
            if (module < s.modules.size()) return s.modules[module].box.centre();
            if (const Dot* end = dot(place + "+")) return end->at + Point{0, -14};
        }
        return array.centre();
    }
    if (const Dot* named = dot(place)) {
        // Conductors lie in rows on the splice's sheet: the mark goes onto its own, towards the joint.
        if (sheets.splice.contains(named->at)) return named->at + Point{starts("motor.") ? -22.0 : 22.0, 16};
        return named->at + Point{0, -15};
    }
    const site::FaultRow* row = site::find_fault(kind);
    const std::string group = row ? row->group : "";
    const auto k = static_cast<std::size_t>(std::max(0, phase));
    if (starts("drive.") || starts("terminal")) return terminal[k] + Point{0, -15};
    if (group == "array") return !array.empty() ? array.centre() : supply.centre();
    if (place == "second" && change_over) return Point{change_over->box.centre().x, change_over->box.y - 20.0};
    if (group == "dc side") return Point{isolator.centre().x, isolator.y - 10};
    // its mark stands on the corner, clear of words and keys
    if (group == "bridge and control") return Point{drive.x, drive.y + 16.0};
    for (const GuardDrawing& g : guards)
        if (g.place == place || (group == "guards" && kind.rfind(g.place, 0) == 0))
            return g.terminal[0] + Point{-15, 0};
    if (group == "guards") return Point{drive.x, drive.y + 50.0};
    const Point in_cable = bore ? Point{bore->core_x[1], depth.tear ? depth.tear->top - 12 : depth.ground_y + 40}
                                : Point{gland.centre().x, gland.bottom() + 6};
    if (starts("cable.")) return in_cable;
    if (group == "cable and splice") {
        if (bore) return {bore->core_x[1], bore->splice_y};
        return bench_motor ? Point{bench_motor->body.right() + 26, bench_motor->body.centre().y} : in_cable;
    }
    const Box machine = bore ? bore->motor : bench_motor ? bench_motor->body : drive;
    if (group == "motor") return machine.centre();
    if (bore) return bore->pump.centre();
    return bench_motor ? bench_motor->fan.centre() : machine.centre();
}

std::vector<double> spread(std::vector<double> wishes, double pitch, double low, double high) {
    if (wishes.empty()) return wishes;
    const auto last = static_cast<double>(wishes.size() - 1);
    pitch = std::min(pitch, (high - low) / std::max(1.0, last));
    // Groups of labels that touch share their mean shift: merge neighbours until no two groups overlap.
    struct Group {
        double start;
        std::vector<double> wish;
    };
    std::vector<Group> groups;
    const auto settle = [&](Group& g) {
        double shift = 0.0;
        for (std::size_t i = 0; i < g.wish.size(); ++i) shift += g.wish[i] - pitch * static_cast<double>(i);
        const double length = pitch * static_cast<double>(g.wish.size() - 1);
        g.start = std::clamp(shift / static_cast<double>(g.wish.size()), low, std::max(low, high - length));
    };
    for (const double wish : wishes) {
        groups.push_back({wish, {wish}});
        settle(groups.back());
        while (groups.size() > 1) {
            Group& before = groups[groups.size() - 2];
            const Group& here = groups.back();
            if (before.start + pitch * static_cast<double>(before.wish.size()) <= here.start + 1e-9) break;
            before.wish.insert(before.wish.end(), here.wish.begin(), here.wish.end());
            groups.pop_back();
            settle(groups.back());
        }
    }
    std::vector<double> placed;
    for (const Group& g : groups)
        for (std::size_t i = 0; i < g.wish.size(); ++i) placed.push_back(g.start + pitch * static_cast<double>(i));
    return placed;
}

std::vector<Point> rounded(const std::vector<Point>& path, double radius) {
    if (path.size() < 3) return path;
    std::vector<Point> out{path.front()};
    for (std::size_t i = 1; i + 1 < path.size(); ++i) {
        const Point a = path[i - 1], corner = path[i], b = path[i + 1];
        const double la = distance(a, corner), lb = distance(corner, b);
        const double r = std::min({radius, la / 2, lb / 2});
        if (r < 0.5) {
            out.push_back(corner);
            continue;
        }
        const Point from = lerp(corner, a, r / la), to = lerp(corner, b, r / lb);
        for (int k = 0; k <= 6; ++k) {
            const double t = k / 6.0;
            out.push_back(lerp(lerp(from, corner, t), lerp(corner, to, t), t));
        }
    }
    out.push_back(path.back());
    return out;
}

double hours_of(const std::string& text) {
    int h = 0, m = 0;
    if (std::sscanf(text.c_str(), "%d:%d", &h, &m) != 2 || h < 0 || h > 23 || m < 0 || m > 59) return 12.0;
    return h + m / 60.0;
}

std::string time_of_day(double hours) {
    const int fives = static_cast<int>(std::lround(std::clamp(hours, 0.0, 23.9) * 12.0));
    return fmt::format("{:02d}:{:02d}", fives / 12, fives % 12 * 5);
}

namespace drawing {

Frame frame_of(const site::Site& site, const Box& box) {
    Frame f{site, box};
    f.mains = site.works.supply.kind == site::Supply::Kind::mains;
    f.bench = site.works.supply.kind == site::Supply::Kind::bench;
    f.well = !std::holds_alternative<std::monostate>(site.works.water.pump);
    f.unit = std::clamp(std::min(box.w / 976.0, box.h / 584.0), 1.0, 1.5);
    const double share = f.well ? 0.40 : 0.50;
    f.ground = box.y + std::max(std::min(218.0, box.h - 24.0), share * box.h);
    f.left_end = box.x + 16.0;
    return f;
}

}  // namespace drawing

SiteDrawing draw_site(const site::Site& site, const Box& wanted, const MovingPart& moving, SheetChoice choice) {
    using namespace drawing;
    // Below this the picture keeps its size and its left edge goes out of sight.
    constexpr double least_width = 500.0;
    Box box = wanted;
    if (box.w < least_width) {
        box.x -= least_width - box.w;
        box.w = least_width;
    }
    SiteDrawing d;
    d.box = box;
    d.left = wanted.x;
    Frame f = frame_of(site, box);
    d.depth.ground_y = f.ground;
    place_drive(f, d);
    f.pole_plus_y = d.drive.bottom() - 46.0;
    f.pole_minus_y = d.drive.bottom() - 16.0;
    place_ground(f, moving, d);
    f.left_end = d.tank ? d.tank->box.right() + 44.0 : box.x + 24.0;
    if (f.bench || f.mains) place_supply(f, d);
    else place_array(f, d);
    if (!f.bench && !f.mains) place_sun(f, d);
    if (!f.well) place_bench_motor(f, d);
    place_sheets(f, choice, d);
    run_cable(f, d);
    place_points(f, d);
    return d;
}

}  // namespace sunshaft::view
