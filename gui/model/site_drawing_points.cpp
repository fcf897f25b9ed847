// Where the test points and clamps of the site stand in the drawing.
#include <algorithm>

#include "model/site_drawing_parts.hpp"

namespace sunshaft::view::drawing {

namespace {

// The leads of module "s2.m13": their dots.
std::optional<Point> module_lead(const SiteDrawing& d, const std::string& name) {
    if (name.size() < 4 || name[0] != 's') return std::nullopt;
    const auto dot = name.find(".m");
    if (dot == std::string::npos) return std::nullopt;
    const auto s = static_cast<std::size_t>(std::atoi(name.c_str() + 1) - 1);
    const auto m = static_cast<std::size_t>(std::atoi(name.c_str() + dot + 2) - 1);
    if (s >= d.strings.size() || m >= d.strings[s].modules.size()) return std::nullopt;
    const auto& joints = d.strings[s].joints;
    return name.back() == '+' ? joints[m].b : joints[m + 1].a;
}

std::optional<Point> string_end(const SiteDrawing& d, const std::string& name) {
    if (name.size() < 3 || name[0] != 's' || name.find('.') != std::string::npos) return std::nullopt;
    const auto s = static_cast<std::size_t>(std::atoi(name.c_str() + 1) - 1);
    if (s >= d.strings.size()) return std::nullopt;
    const StringDrawing& string = d.strings[s];
    const Point plus = string.joints.front().a;
    return name.back() == '+' ? plus : Point{plus.x, string.joints.back().b.y};
}

Point phase_dot(const SiteDrawing& d, const std::string& stem, std::size_t k) {
    if (stem == "drive") return d.terminal[k];
    if (stem == "lead") return d.lead_end[k];
    const bool above = stem == "cable";
    if (!d.sheets.splice.empty()) return {above ? d.sheets.cable_x : d.sheets.motor_x, d.sheets.row_y[k]};
    // No sheet: fanned out beside the joint.
    const double step = 12.0 * (static_cast<double>(k) - 1.0);
    if (d.bore) return {d.bore->box.right() + 22.0 + step, d.bore->splice_y + (above ? -8.0 : 8.0)};
    return {d.bench_motor->body.right() + (above ? 40.0 : 16.0), d.bench_motor->body.centre().y + step};
}

std::optional<Point> place_of(const Frame& f, const SiteDrawing& d, const std::string& name) {
    if (const auto lead = module_lead(d, name)) return lead;
    if (const auto end = string_end(d, name)) return end;
    const auto pole = [&](const std::array<Point, 2>& both) { return both[name.back() == '+' ? 0 : 1]; };
    if (name == "array+" || name == "array-") {
        for (const WirePath& w : d.wires)  // the corner of the bus, where the run begins
            if (w.wire == (name.back() == '+' ? Wire::dc_plus : Wire::dc_minus) && w.points.size() == 3 &&
                w.points.back() == pole(d.poles_in))
                return w.points[1];
        return std::nullopt;
    }
    if (site::part_of(name) == site::Part::isolator_in) return pole(d.poles_in);
    if (site::part_of(name) == site::Part::isolator_out) return pole(d.poles_out);
    if (name == "dc+" || name == "dc-")
        return Point{d.drive.x + 14.0, name.back() == '+' ? f.pole_plus_y : f.pole_minus_y};
    if (d.change_over && (name == "second+" || name == "second-")) return pole(d.change_over->from_second);
    if (name == "link+") return d.link_plus;
    if (name == "link-") return d.link_minus;
    if (name == "earth") return d.earth;
    if (name == "frame") {
        if (!d.posts.empty()) return Point{d.posts.back().x + 2.0, f.ground - 14.0};
        return Point{d.supply.x + 16.0, d.supply.bottom() - 8.0};
    }
    const Box machine = d.bore ? d.bore->motor : d.bench_motor ? d.bench_motor->body : Box{};
    if (name == "casing") return Point{machine.x + 2.0, machine.bottom() - std::min(12.0, machine.h * 0.25)};
    if (name == "motor.n")
        return d.sheets.motor.empty() ? Point{machine.centre().x, machine.centre().y} : d.sheets.star;
    const auto split = name.find('.');
    if (split != std::string::npos && split + 2 == name.size()) {
        const auto k = std::string("uvw").find(name.back());
        const std::string stem = name.substr(0, split);
        if (k != std::string::npos && (stem == "drive" || stem == "lead" || stem == "cable" || stem == "motor"))
            return phase_dot(d, stem, k);
    }
    for (const GuardDrawing& guard : d.guards)
        if (name.rfind(guard.place + ".", 0) == 0) return guard.terminal[name.back() == '1' ? 0 : 1];
    return std::nullopt;
}

}  // namespace

void place_points(const Frame& f, SiteDrawing& d) {
    for (const site::PointInfo& info : site::points(f.site.works)) {
        if (info.clamp) {
            for (Ring& ring : d.rings)
                if (ring.name == info.name) ring.where = info.where;
            if (info.name == "pe") {
                const Point on{d.earth.x, (d.drive.bottom() + d.earth.y) / 2.0};
                d.rings.push_back({info.name, info.where, on, 7.0, 7.0});
            }
            continue;
        }
        if (const auto at = place_of(f, d, info.name)) d.dots.push_back({info.name, info.where, *at, info.reachable});
    }
    // Only clamps that exist on this site.
    std::erase_if(d.rings, [](const Ring& ring) { return ring.where.empty(); });
    // Dots that stand close are smaller, down to what can still be seen.
    for (std::size_t i = 0; i < d.dots.size(); ++i) {
        double nearest = 1e9;
        for (std::size_t j = 0; j < d.dots.size(); ++j)
            if (i != j) nearest = std::min(nearest, distance(d.dots[i].at, d.dots[j].at));
        d.dots[i].radius = std::clamp(0.46 * nearest, 2.2, 5.5);
    }
    if (!f.mains && d.posts.size() > 0) {
        // Bond from the frame to the electrode, along the ground.
        if (const Dot* frame = d.dot("frame"))
            d.wires.push_back(
                {Wire::earth,
                 rounded({frame->at, {frame->at.x, f.ground + 7.0}, {d.earth.x, f.ground + 7.0}, d.earth}, 5.0)});
    }
}

}  // namespace sunshaft::view::drawing
