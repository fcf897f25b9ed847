// Above the ground: drive, isolator, modules and their DC run, sun.
#include <fmt/format.h>

#include <algorithm>
#include <cmath>

#include "model/site_drawing_parts.hpp"
#include "site/points.hpp"

namespace sunshaft::view::drawing {

namespace {

constexpr double top_room = 42.0;     // title of the picture
constexpr double below_drive = 62.0;  // from its terminals to the ground: leads, clamps, sheath

// The way between modules and drive, in units: gathering of the strings, isolator, room for clamps, where there is one
// the change-over switch.
struct DcRun {
    double gather, before_isolator, isolator, after_isolator, change_over = 0.0, after_change = 0.0;
    double from_isolator() const { return isolator + after_isolator + change_over + after_change; }
    double total() const { return gather + before_isolator + from_isolator(); }
};
DcRun dc_run(const Frame& f) {
    const double wide = std::clamp((f.box.w - 560.0) / 300.0, 0.0, 1.0);
    if (f.site.works.supply.second.fitted)
        return {58.0 + 6.0 * wide,  8.0 + 18.0 * wide,  34.0 + 10.0 * wide,
                18.0 + 10.0 * wide, 30.0 + 16.0 * wide, 8.0 + 10.0 * wide};
    return {62.0 + 8.0 * wide, 18.0 + 10.0 * wide, 40.0 + 6.0 * wide, 28.0 + 12.0 * wide};
}

void add(SiteDrawing& d, Wire wire, std::vector<Point> points) { d.wires.push_back({wire, std::move(points)}); }

// The change-over switch in the run, and the second supply on the ground under it. From one pole's common contact a
// blade goes to the array's contact beside it or to the supply's below.
void place_change_over(const Frame& f, const DcRun& run, SiteDrawing& d) {
    const site::SecondSupply& second = f.site.works.supply.second;
    const double yp = f.pole_plus_y, ym = f.pole_minus_y;
    ChangeOver k;
    k.box = {d.drive.x - run.after_change - run.change_over, yp - 18.0, run.change_over, ym - yp + 44.0};
    const double side = std::min(8.0, 0.2 * k.box.w), middle = k.box.centre().x;
    k.from_array = {Point{k.box.x + side, yp}, Point{k.box.x + side, ym}};
    k.to_drive = {Point{k.box.right() - side, yp}, Point{k.box.right() - side, ym}};
    k.from_second = {Point{middle - 5.0, yp + 15.0}, Point{middle + 5.0, ym + 15.0}};
    k.chosen = second.chosen;  // that contacts are welded is not to be seen
    k.standing = !second.on(), k.mains = second.mains;
    k.volt_ac = f.site.scenario.supply.second_voltage_V;
    // Beside the isolator's lever and the drive's earth wire.
    const double left = d.isolator.centre().x + 24.0, right = d.earth.x - 8.0, top = k.box.bottom() + 9.0;
    k.source = {left, top, right - left, f.ground - top};
    for (std::size_t pole = 0; pole < 2; ++pole)
        add(d, pole == 0 ? Wire::dc_plus : Wire::dc_minus, {k.from_second[pole], {k.from_second[pole].x, k.source.y}});
    d.parts.push_back({Part::Kind::changeover, "second", k.box, k.chosen});
    d.parts.push_back({Part::Kind::breaker, "second", k.source, k.standing});
    d.change_over = k;
}

// Isolator and the run on both sides of it, from the bus bars at x_plus and x_minus (whose lower ends it joins).
void run_to_drive(const Frame& f, const DcRun& run, Point array_plus, Point array_minus, SiteDrawing& d) {
    const double yp = f.pole_plus_y, ym = f.pole_minus_y;
    const double x = d.drive.x - run.from_isolator();
    d.isolator = {x, yp - 18.0, run.isolator, ym - yp + 36.0};
    d.poles_in = {Point{x + 8.0, yp}, Point{x + 8.0, ym}};
    d.poles_out = {Point{d.isolator.right() - 8.0, yp}, Point{d.isolator.right() - 8.0, ym}};
    const site::Array& array = f.site.works.array;
    d.pole_open = {array.plus.contact.open, array.minus.contact.open};
    d.array_shorted = array.shorted;
    add(d, Wire::dc_plus, {array_plus, {array_plus.x, yp}, d.poles_in[0]});
    add(d, Wire::dc_minus, {array_minus, {array_minus.x, ym}, d.poles_in[1]});
    if (run.change_over > 0.0) place_change_over(f, run, d);
    const double inside = d.drive.x + 14.0, end = d.change_over ? d.change_over->from_array[0].x : inside;
    const double edge = d.change_over ? d.change_over->box.x : d.drive.x;
    if (array.swapped) {  // the conductors cross behind the isolator
        const double from = d.isolator.right() + 2.0, to = edge - 2.0;
        add(d, Wire::dc_plus, {d.poles_out[0], {from, yp}, {to, ym}, {end, ym}});
        add(d, Wire::dc_minus, {d.poles_out[1], {from, ym}, {to, yp}, {end, yp}});
    } else {
        add(d, Wire::dc_plus, {d.poles_out[0], {end, yp}});
        add(d, Wire::dc_minus, {d.poles_out[1], {end, ym}});
    }
    if (d.change_over)
        for (std::size_t pole = 0; pole < 2; ++pole)
            add(d, pole == 0 ? Wire::dc_plus : Wire::dc_minus,
                {d.change_over->to_drive[pole], {inside, d.change_over->to_drive[pole].y}});
    add(d, Wire::dc_plus, {{inside, yp}, d.link_plus});
    add(d, Wire::dc_minus, {{inside, ym}, d.link_minus});
    d.parts.push_back({Part::Kind::isolator, "isolator", d.isolator, d.pole_open[0] || d.pole_open[1]});
    const double after = 0.5 * (d.isolator.right() + edge);
    d.rings.push_back({"dc+", "", {after, yp}, 7.0, 7.0});
    d.rings.push_back({"dc-", "", {after, ym}, 7.0, 7.0});
    d.rings.push_back({"dc", "", {x - run.before_isolator / 2.0 + 1.0, (yp + ym) / 2.0}, 7.0, (ym - yp) / 2.0 + 8.0});
}

// One string in its row: modules from the right, loops under them, ends at the right.
StringDrawing place_string(const Frame& f, std::size_t number, Point right_bottom, double pitch_x, double height,
                           double loop, SiteDrawing& d) {
    const site::String& string = f.site.works.array.strings[number];
    const auto count = string.modules.size();
    const double gap = pitch_x > 12.0 ? 2.0 : 1.0;
    StringDrawing s;
    const double dots_y = right_bottom.y + loop;
    Point before{right_bottom.x + 12.0, dots_y};  // the string's plus end
    for (std::size_t m = 0; m < count; ++m) {
        const site::Module& module = string.modules[m];
        const double x = right_bottom.x - pitch_x * static_cast<double>(m + 1);
        ModuleDrawing drawn{{x + gap / 2, right_bottom.y - height, pitch_x - gap, height}};
        // The first sub-string lies next to the plus lead, at the right.
        for (std::size_t k = 0; k < 3; ++k) drawn.light[k] = module.light[2 - k];
        drawn.reversed = module.reversed;
        s.modules.push_back(drawn);
        const Point plus{x + 0.75 * pitch_x, dots_y}, minus{x + 0.25 * pitch_x, dots_y};
        const std::string joint = m == 0 ? fmt::format("s{}.m1+", number + 1) : fmt::format("s{}.m{}-", number + 1, m);
        s.joints.push_back({joint, before, plus, std::min(loop, 8.0), string.joints[m].open});
        before = minus;
    }
    const Point end{right_bottom.x + 12.0, dots_y + loop + 6.0};
    s.joints.push_back(
        {fmt::format("s{}.m{}-", number + 1, count), before, {before.x, end.y}, 0.0, string.joints.back().open});
    if (count > 0) add(d, Wire::dc_minus, {{before.x, end.y}, end});
    s.fuse = {right_bottom.x + 31.0, dots_y - 4.0, 12.0, 8.0};
    s.fuse_open = string.fuse.open || string.fuse_blown;
    s.covered = f.site.works.array.covered || (!string.modules.empty() && string.modules.front().covered);
    const double left = right_bottom.x - pitch_x * static_cast<double>(count);
    s.label = {left, right_bottom.y - height - 5.0};
    s.current = {right_bottom.x, right_bottom.y - height - 5.0};
    return s;
}

}  // namespace

void place_drive(const Frame& f, SiteDrawing& d) {
    const Box& b = f.box;
    const double margin = std::clamp(0.10 * b.w, 54.0, 130.0);
    const double width = std::clamp(0.225 * b.w, 158.0, 250.0 * f.unit);
    const double height = std::min(f.ground - below_drive - b.y - top_room, 168.0 * f.unit);
    d.drive = {b.right() - margin - width, f.ground - below_drive - height, width, height};
    const double pitch = width >= 190.0 ? 30.0 : 25.0;
    for (std::size_t k = 0; k < 3; ++k) {
        const double x = d.drive.right() - 20.0 - pitch * static_cast<double>(2 - k);
        const bool pulled = f.site.works.phases[k].terminal.open;
        d.terminal[k] = {x, d.drive.bottom() - 14.0};
        d.lead_end[k] = {x + (pulled ? 5.0 : 0.0), d.drive.bottom() + (pulled ? 20.0 : 12.0)};
        d.pulled[k] = pulled;
    }
    const site::Guards& guards = f.site.works.guards;
    if (!f.mains) {
        double y = d.drive.y + 40.0;
        const auto guard = [&](const site::Guard& g, const char* name, double sensor_ohm) {
            if (!g.fitted) return;
            GuardDrawing drawn{
                name, {Point{d.drive.x + 14.0, y}, Point{d.drive.x + 28.0, y}}, g.pulled, g.jumper, false};
            drawn.holds = site::Guards::circuit_ohm(g, sensor_ohm) > site::Guards::limit_ohm;
            d.guards.push_back(drawn);
            d.parts.push_back({Part::Kind::guard, name, {d.drive.x - 2.0, y - 9.0, 76.0, 18.0}, g.pulled});
            y += 19.0;
        };
        guard(guards.dry, "dry", guards.probe_ohm());
        guard(guards.full, "float", guards.float_ohm());
    }
    d.link_plus = {d.drive.x + 46.0, d.drive.bottom() - 46.0};
    d.link_minus = {d.drive.x + 46.0, d.drive.bottom() - 16.0};
    d.gland = {d.terminal[0].x - 8.0, d.drive.bottom(), d.terminal[2].x - d.terminal[0].x + 16.0, below_drive};
    d.earth = {d.drive.x + std::min(30.0, 0.16 * width), f.ground - 7.0};
}

void place_array(const Frame& f, SiteDrawing& d) {
    const auto& strings = f.site.works.array.strings;
    if (strings.empty()) return;
    const DcRun run = dc_run(f);
    std::size_t longest = 1;
    for (const auto& s : strings) longest = std::max(longest, s.modules.size());
    const double right = d.drive.x - run.total();
    const double room = std::max(60.0, right - f.left_end);
    const double bottom = f.ground - 26.0;
    const double top = f.box.y + top_room + 12.0;
    const auto rows = static_cast<double>(strings.size());
    const double pitch_y = std::min((bottom - top) / rows, 112.0 * f.unit);
    const double loop = std::clamp(pitch_y * 0.11, 3.0, 9.0);
    const double label = pitch_y > 44.0 ? 18.0 : 2.0;
    const double height = std::max(5.0, pitch_y - label - 2.0 * loop - 9.0);
    const double widest = 0.68 * height;
    const double pitch_x = std::min(room / static_cast<double>(longest), std::max(widest, 26.0 * f.unit));

    const double x_plus = right + run.gather - 14.0, x_minus = right + run.gather - 2.0;
    d.array = {right - pitch_x * static_cast<double>(longest), bottom - pitch_y * rows + label,
               pitch_x * static_cast<double>(longest), 0.0};
    double first_plus = 0.0, first_minus = 0.0, last_plus = 0.0, last_minus = 0.0;
    for (std::size_t n = 0; n < strings.size(); ++n) {
        const double row_bottom = bottom - pitch_y * (rows - static_cast<double>(n)) + label + height;
        StringDrawing s = place_string(f, n, {right, row_bottom}, pitch_x, height, loop, d);
        const double y_plus = row_bottom + loop, y_minus = y_plus + loop + 6.0;
        const std::string name = fmt::format("s{}", n + 1);
        add(d, Wire::dc_plus, {{right + 12.0, y_plus}, {s.fuse.x, y_plus}});
        add(d, Wire::dc_plus, {{s.fuse.right(), y_plus}, {x_plus, y_plus}});
        add(d, Wire::dc_minus, {{right + 12.0, y_minus}, {x_minus, y_minus}});
        const double ring = std::clamp(loop, 3.5, 6.0);
        d.rings.push_back({name, "", {right + 22.0, y_plus}, ring * 0.8, ring + 1.0});
        d.parts.push_back({Part::Kind::fuse, site::fuse_of(name), s.fuse.inset(-2.0, -6.0), s.fuse_open});
        for (const JointDrawing& j : s.joints) {
            const Point low = lerp(j.a, j.b, 0.5) + Point{0, j.droop};
            d.parts.push_back({Part::Kind::connector, j.place, {low.x - 7.0, low.y - 4.0, 14.0, 13.0}, j.open});
        }
        if (n == 0) first_plus = y_plus, first_minus = y_minus;
        last_plus = y_plus, last_minus = y_minus;
        d.array.h = row_bottom - d.array.y;
        d.strings.push_back(std::move(s));
    }
    // Bus bars: from the uppermost string to the lowest or to the run, whichever is lower.
    if (strings.size() > 1 || last_plus > f.pole_plus_y) {
        add(d, Wire::dc_plus, {{x_plus, first_plus}, {x_plus, std::max(last_plus, f.pole_plus_y)}});
        add(d, Wire::dc_minus, {{x_minus, first_minus}, {x_minus, std::max(last_minus, f.pole_minus_y)}});
    }
    run_to_drive(f, run, {x_plus, first_plus}, {x_minus, first_minus}, d);
    const double inset = std::min(26.0, d.array.w * 0.2);
    for (const double x : {d.array.x + inset, d.array.right() - inset - 4.0})
        d.posts.push_back({x, d.array.y, 4.0, f.ground - d.array.y});
    d.parts.push_back({Part::Kind::array, "array", d.array, f.site.works.array.covered});
}

void place_supply(const Frame& f, SiteDrawing& d) {
    if (f.mains) {
        d.supply = d.drive;  // the terminals are the mains' own
        return;
    }
    const DcRun run = dc_run(f);
    const double right = d.drive.x - run.total() + 34.0;
    const double width = std::min(std::max(96.0, right - f.box.x - 24.0), 176.0 * f.unit);
    d.supply = {right - width, d.drive.y + 14.0, width, d.drive.h - 14.0};
    const double x = d.supply.right() - 16.0;
    run_to_drive(f, run, {x, f.pole_plus_y}, {x, f.pole_minus_y}, d);
    for (const double leg : {d.supply.x + 14.0, d.supply.right() - 18.0})
        d.posts.push_back({leg, d.supply.bottom(), 4.0, f.ground - d.supply.bottom()});
}

void place_sun(const Frame& f, SiteDrawing& d) {
    Sun sun;
    const double left = f.box.x + 0.16 * f.box.w;
    const double right = d.drive.x - 18.0;
    sun.centre = {(left + right) / 2.0, f.ground - 24.0};
    sun.rx = (right - left) / 2.0;
    sun.ry = sun.centre.y - f.box.y - top_room + 2.0;
    sun.hours = hours_of(f.site.scenario.sun.time_of_day);
    sun.at = sun.on_arc(std::clamp(sun.hours, 5.5, 18.5));
    d.sun = sun;
}

}  // namespace sunshaft::view::drawing
